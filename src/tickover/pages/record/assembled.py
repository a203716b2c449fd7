"""All parts put together: the build record of a build as of its last entry."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from tickover.book.chain import BuildRow
from tickover.book.state import State
from tickover.errors import InputError
from tickover.pages.building import engine_of, fitness_of, head_for
from tickover.pages.drawing import state_mark
from tickover.pages.fitness import answer_sentence
from tickover.pages.head import Head
from tickover.pages.record import PARTS, PartMaker
from tickover.pages.record.blocks import (
    STATES,
    Drawing,
    Paragraph,
    Photograph,
    RecordPart,
    as_data,
)
from tickover.pages.record.machine import cover_drawing

_KEPT = 8
TITLE = "Build record"


@dataclass(frozen=True, slots=True)
class BuildRecord:
    """The whole record.

    Parameters
    ----------
    head : Head
    title : str
    machine : str
        As the engine file names it.
    answer : str
        Whether it is fit for hand-over, in one sentence.
    facts : tuple of (str, str)
        Where this record comes from: days, entries, checksum of the book.
    cover : Drawing
        Of the first page.
    parts : tuple of RecordPart
        In the order they are read.
    """

    head: Head
    title: str
    machine: str
    answer: str
    facts: tuple[tuple[str, str], ...]
    cover: Drawing
    parts: tuple[RecordPart, ...]

    @property
    def pictures(self) -> tuple[str, ...]:
        """The sha256 of every photograph shown, each once."""
        shown = (b.sha256 for p in self.parts for b in p.blocks if isinstance(b, Photograph))
        return tuple(dict.fromkeys(shown))


@lru_cache(maxsize=_KEPT)
def build_record(build: BuildRow, state: State) -> BuildRecord:
    """The record of a build; worked out once for each state of the book.

    Raises
    ------
    InputError
        The build has no engine file.
    """
    engine = engine_of(state)
    made = (_made(part, engine, state) for part in PARTS)
    head = head_for(build, state)
    last = state.entries[-1]
    return BuildRecord(
        head=head,
        title=TITLE,
        machine=engine.engine.name,
        answer=answer_sentence(fitness_of(state, "hand-over")),
        facts=(
            ("machine", engine.engine.name),
            ("stage reached", head.stage),
            ("begun", build.created_at[:10]),
            ("told as of", f"{last.at[:10]}, entry {last.number} of the book"),
            ("written by", ", ".join(dict.fromkeys(entry.by for entry in state.live))),
            ("checksum of the book", build.head),
        ),
        cover=cover_drawing(engine),
        parts=tuple(part for part in made if part is not None),
    )


def _made(part: PartMaker, engine: Any, state: State) -> RecordPart | None:
    """A part, or the sentence that says why it cannot be made: one never takes another with it."""
    try:
        return part(engine, state)
    except InputError as error:
        name = part.__name__.removesuffix("_part")
        title = name.replace("_", " ").capitalize()
        said = Paragraph(f"This part could not be worked out. {error}")
        return RecordPart(name.replace("_", "-"), title, (said,))


def record_data(record: BuildRecord) -> dict[str, Any]:
    """The record as plain data, for both templates and for JSON; `held` are pictures at hand."""
    return {
        "title": record.title,
        "build": record.head.name,
        "machine": record.machine,
        "stage": record.head.stage,
        "answer": record.answer,
        "loose_ends": [f"{end.words} (since {end.since})" for end in record.head.loose_ends],
        "facts": [list(row) for row in record.facts if row[1]],
        "cover": as_data(record.cover),
        "parts": [_side_by_side(part) for part in as_data(record.parts)],
        "held": [],
        "marks": {word: state_mark(word, embedded=True) for word in STATES},
    }


def _side_by_side(part: dict[str, Any]) -> dict[str, Any]:
    """Photographs that follow each other as one block, to stand beside each other."""
    blocks: list[dict[str, Any]] = []
    for block in part["blocks"]:
        if block["kind"] != Photograph.kind:
            blocks.append(block)
        elif blocks and blocks[-1]["kind"] == "photographs":
            blocks[-1]["pictures"].append(block)
        else:
            blocks.append({"kind": "photographs", "pictures": [block]})
    return part | {"blocks": blocks}
