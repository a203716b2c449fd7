"""Wiring in the record: fuses, every wire of the loom, branches, what the test found."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing.loom_board import board_svg
from tickover.pages.loom import loom_page, loom_test_page
from tickover.pages.record.blocks import (
    Block,
    Caution,
    Drawing,
    Listing,
    Paragraph,
    RecordPart,
    Stated,
    Subhead,
    Table,
)
from tickover.pages.wiring import WiringPage, wiring_page
from tickover.tasks.wiring.in_book import SHORTS, loom_described


def wiring_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The loom as it is described and as it was read, and the starter's cables; else nothing."""
    page = wiring_page(engine, state, state.engine_text)
    if not loom_described(engine):
        return _starter_alone(page)
    if page.refused:
        return RecordPart("wiring", "Wiring", (Paragraph(page.refused, "strong"),))
    loom, test = loom_page(engine), loom_test_page(engine, state)
    words = {line.number: line for line in test.lines}
    blocks: list[Block] = [Paragraph(page.verdict, "strong"), Paragraph(test.verdict)]
    if page.problems:
        blocks.append(Listing(tuple(str(problem) for problem in page.problems)))
    blocks += [
        Caution((SHORTS,)),
        Table(
            ("circuit", "most at once", "fuse", "weakest wire carries"),
            tuple(
                (c.name, c.current, c.fuse + (" as fitted" if c.given else ""), c.weakest)
                for c in page.circuits
            ),
            "Fuses",
        ),
        Drawing(
            board_svg(loom.board, embedded=True, full_size=False),
            "The loom laid flat: " + "; ".join(f"{b.name} {b.length}" for b in loom.branches),
        ),
        Table(
            ("no.", "from", "to", "size and colour", "length", "end to end", "to earth", "state"),
            tuple(
                (w.number, w.start, w.end, f"{w.size} {w.colour_words}", w.length,
                 words[w.number].end_to_end or "not read",
                 words[w.number].to_earth
                 or ("not read" if words[w.number].asks_earth else "leads there"),
                 Stated(words[w.number].state, words[w.number].state))
                for w in loom.wires
            ),
            "Every wire",
            (0.7, 2.2, 2.2, 1.7, 1.0, 1.2, 1.2, 1.1),
        ),
        Table(
            ("branch", "length", "wires", "thick", "connector"),
            tuple((b.name, b.length, str(b.wires), b.diameter, b.connector) for b in loom.branches),
            "Branches",
        ),
        Listing(page.balance),
    ]  # fmt: skip
    if page.starter:
        blocks += [Subhead("Starter cables"), Listing(page.starter)]
    if test.opens or test.shorts:
        blocks.append(
            Listing(tuple(f"{row.chance} {row.what} ({row.wires})"
                          for row in (*test.opens, *test.shorts)))
        )  # fmt: skip
    return RecordPart("wiring", "Wiring and loom", tuple(blocks))


def _starter_alone(page: WiringPage) -> RecordPart | None:
    """The starter's cables of a machine whose loom nobody described."""
    if not page.starter:
        return None
    blocks: list[Block] = [Subhead("Starter cables"), Listing(page.starter)]
    if page.problems:
        blocks.append(Listing(tuple(str(problem) for problem in page.problems)))
    return RecordPart("wiring", "Wiring", tuple(blocks))
