"""Tightening in the record: torque, order, rounds, and when each was last tightened."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.fasteners import FastenerLine, fasteners_page, pattern_of
from tickover.pages.record.blocks import (
    Block,
    Drawing,
    Listing,
    Paragraph,
    RecordPart,
    Stated,
    Subhead,
    Table,
)
from tickover.pages.wording import STATE_WORDS, sentence


def fasteners_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The torque table, then each fastener whose order matters with its drawing."""
    if not engine.fasteners:
        return None
    page = fasteners_page(engine, state)
    rows = tuple(
        (
            sentence(line.name).rstrip("."),
            line.thread or "not given",
            f"{line.torque} ({line.other_units})",
            line.count,
            Stated(line.state, STATE_WORDS[line.state]),
            "; ".join(line.dates) or "not written down",
        )
        for line in page.lines
    )
    blocks: list[Block] = [
        Paragraph(page.verdict, "strong"),
        Table(
            ("fastener", "thread", "torque", "how many", "state", "tightened"),
            rows,
            "Torques and when they were put on",
            (1.3, 1.3, 2.2, 1.0, 1.1, 1.9),
        ),
    ]
    for line in page.lines:
        blocks += _one(line)
    return RecordPart("fasteners", "Tightening", tuple(blocks))


def _one(line: FastenerLine) -> list[Block]:
    """Order, rounds and preload of one fastener; nothing for a plug that stands alone."""
    picture = pattern_of(line.fastener, embedded=True)
    told = [words for words in (
        f"Order: {line.order_words}" if line.order_words else "",
        f"Rounds: {', '.join(line.stages)}" if len(line.stages) > 1 else "",
        f"Preload {line.preload}" if line.preload else "",
        f"Of the bolt's proof load: {line.of_proof}" if line.of_proof else "",
        f"Of what the thread in the hole holds: {line.of_thread}" if line.of_thread else "",
        line.note,
        *line.warnings,
    ) if words]  # fmt: skip
    if not picture and not told:
        return []
    found: list[Block] = [Subhead(sentence(line.name).rstrip("."))]
    if picture:
        found.append(
            Drawing(
                picture,
                f"Tightening order of the {line.name}: {line.order_words or 'as numbered'}.",
                "Seen from above; the first is ringed.",
                0.45,
            )
        )
    if told:
        found.append(Listing(tuple(sentence(words) for words in told)))
    return found
