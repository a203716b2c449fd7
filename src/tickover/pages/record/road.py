"""Speed and noise in the record: gears, the needle against the road, the stationary test."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.noise import noise_page
from tickover.pages.record.blocks import (
    Block,
    Drawing,
    Listing,
    Paragraph,
    RecordPart,
    Stated,
    Table,
)
from tickover.pages.speed import speed_page
from tickover.pages.speed_parts import errors_drawn, gears_drawn
from tickover.pages.wording import STATE_WORDS
from tickover.tasks.speedruns import errors_in_book, errors_that_count


def speed_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Gears drawn, readings of the speedometer; nothing where neither is known."""
    page = speed_page(engine, state)
    if not page.gears and not page.kept:
        return None
    blocks: list[Block] = []
    if page.checks:
        blocks.append(Paragraph(page.verdict, "strong"))
    drawn = gears_drawn(engine, state, width=480.0, embedded=True)
    if drawn:
        top = page.gears[-1]
        blocks.append(Drawing(drawn, f"Road speed over crank speed in {len(page.gears)} gears; "
                              f"top gear {top.per_1000} at 1000 rpm.",
                              "Width of a wedge: what is not known of the wheel.", 0.6)
                      )  # fmt: skip
    rows = tuple(
        (row.shown, f"was {row.true}, void" if row.void else row.true, row.percent, row.how,
         Stated(row.state, STATE_WORDS[row.state]))
        for row in page.kept
    )  # fmt: skip
    if rows:
        heads = ("shown", "true", "shown over true", "how", "state")
        blocks.append(Table(heads, rows, "The needle against the road", (1, 1.4, 1.4, 2, 1)))
        marks = errors_drawn(
            engine, errors_that_count(errors_in_book(state)), width=480.0, embedded=True
        )
        if marks:
            blocks.append(Drawing(marks, f"Shown minus true against the band of UN R39. "
                                  f"{page.verdict}", "Band: UN R39, 5.3, type approval.", 0.6)
                          )  # fmt: skip
    if page.odometer:
        blocks.append(Paragraph(page.odometer))
    return RecordPart("speed", "Speed and gearing", tuple(blocks))


def noise_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The stationary test; nothing where nothing was read."""
    page = noise_page(engine, state)
    if not page.lines:
        return None
    rows = tuple(
        (f"{line.where}, {line.silencers}", line.mean, line.band, "; ".join(line.notes),
         Stated(line.state, STATE_WORDS[line.state]))
        for line in page.lines
    )  # fmt: skip
    heads = ("outlet", "mean", "interval", "notes", "state")
    blocks: list[Block] = [
        Paragraph(page.verdict, "strong"),
        Table(heads, rows, "Stationary noise at 0.5 m", (1.4, 1, 1.4, 2, 1)),
    ]
    if page.compared:
        blocks.append(Listing(page.compared))
    if page.test_speed:
        blocks.append(Paragraph(f"Held at {page.test_speed}.", "quiet"))
    return RecordPart("noise", "Stationary noise", tuple(blocks))
