"""Valve clearances in the record: what was read against the limits, and the shims fitted."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.building import valves_of
from tickover.pages.drawing import valves_picture
from tickover.pages.record.blocks import Block, Drawing, Paragraph, RecordPart, Stated, Table
from tickover.pages.wording import STATE_WORDS

_KNOWN_BY = {"micrometer": ", measured", "mark": ", by its mark"}


def valves_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The engine with every clearance beside its valve, then the table with the shims."""
    if engine.valves is None:
        return None
    page = valves_of(state)
    read = [line for line in page.valves if line.reading or line.was]
    blocks: list[Block] = [Paragraph(page.verdict, "strong")]
    if read:
        blocks.append(
            Drawing(
                valves_picture(engine, page, embedded=True),
                f"The engine from above with the clearance of every valve. {page.verdict}",
                "Readings beside their valves; the table gives the same with the limits.",
                0.55 if engine.engine.cylinders < 4 else 0.75,
            )
        )
    shims = any(line.shim for line in page.valves)
    heads = ("valve", "reads", "limits", "state", *(("shim",) if shims else ()))
    rows = tuple(
        (
            line.name,
            line.reading or (f"was {line.was}, void" if line.was else "not read"),
            line.limits,
            Stated(line.state, STATE_WORDS[line.state]),
            *((line.shim + _KNOWN_BY.get(line.shim_known_by, ""),) if shims else ()),
        )
        for line in page.valves
    )
    blocks.append(Table(heads, rows, "Clearances, cold, and shims in the engine"
                        if shims else "Clearances, cold"))  # fmt: skip
    blocks += [Paragraph(words, "quiet") for words in page.notes]
    return RecordPart("valves", "Valve clearances", tuple(blocks))
