"""The last pages: cautions for whoever takes over, signatures, and the engine file itself."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.building import fitness_of
from tickover.pages.fitness import fit_page
from tickover.pages.head import head_of
from tickover.pages.record.blocks import (
    Block,
    Caution,
    Paragraph,
    RecordPart,
    Signatures,
    Table,
    Verbatim,
)
from tickover.pages.start import CAUTIONS
from tickover.plan.next import STAGES

_TAKE_OVER = (
    "The engine's own service manual comes first; this record says what was done to one machine.",
    "Brakes, tyres, welding on pressure parts, mains chargers and road legality belong to licensed "
    "people.",
    "Look for oil, fuel and exhaust leaks before and after the first rides; carry the tools for "
    "what this record asks to be done again.",
)
_SAYS = (
    "This record says what was measured, done and accepted, and by whom. What it does not name was "
    "not looked at."
)


def closing_part(engine: EngineFile, state: State) -> RecordPart:
    """Answers that were recorded, cautions, and lines to sign."""
    blocks: list[Block] = [Paragraph(_SAYS)]
    head = head_of("", engine.engine.name, state)
    answers = [
        (page.title, page.recorded.words)
        for stage in STAGES
        for page in (fit_page(engine, fitness_of(state, stage), state, head),)
        if page.recorded is not None
    ]
    if answers:
        table = Table(("question", "recorded"), tuple(answers), "Answers as recorded", (1, 3))
        blocks.append(table)
    blocks += [
        Caution((*_TAKE_OVER, *(line.words for line in CAUTIONS))),
        Signatures(
            (
                "Handed over by, with this record as it stands:",
                "Taken over by, having read the open points, what was accepted, and the cautions:",
            )
        ),
    ]
    return RecordPart("closing", "Hand-over", tuple(blocks))


def engine_file_part(engine: EngineFile, state: State) -> RecordPart:
    """The engine file as it stood: every limit of this record comes from it."""
    kept = state.engine_file
    number = kept.number if kept is not None else 0
    return RecordPart(
        "engine-file",
        "The engine file",
        (
            Paragraph(f"Every limit in this record comes from it. As kept in entry {number}."),
            Verbatim(state.engine_text),
        ),
    )
