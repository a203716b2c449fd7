"""Mixture, balance and timing in the record: what is in, how it was read, what was left."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.balance import balance_page, balance_picture
from tickover.pages.building import mixture_of
from tickover.pages.mixture_map import map_pictures
from tickover.pages.record.blocks import (
    Block,
    Drawing,
    Listing,
    Paragraph,
    RecordPart,
    Subhead,
    Table,
)
from tickover.pages.strobe import readings_in_book, strobe_page, strobe_picture
from tickover.tasks.balance_book import balance_book, has_balance
from tickover.tasks.mixture.from_file import has_mixture


def dialled_in_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Jets and mixture, balance, and the spark under the strobe, each where it was read."""
    blocks = [*_mixture(engine, state), *_balance(engine, state), *_strobe(engine, state)]
    if not blocks:
        return None
    return RecordPart("dialled-in", "Mixture, balance and timing", tuple(blocks))


def _mixture(engine: EngineFile, state: State) -> list[Block]:
    if not has_mixture(engine):
        return []
    page = mixture_of(state)
    if not page.rounds:  # the next owner wants to know the jets, read or not
        told = f"In now: {page.in_now} It breathes: {page.breathes}"
        return [Subhead("Mixture"), Paragraph(told), Paragraph("No mixture reading was kept.")]
    blocks: list[Block] = [
        Subhead("Mixture"),
        Paragraph(page.verdict, "strong"),
        Paragraph(f"In now: {page.in_now} It breathes: {page.breathes}"),
    ]
    if page.advice is not None:
        blocks.append(
            Drawing(
                map_pictures(page, width=480.0, embedded=True),
                f"Lambda over opening and speed. {page.verdict}",
                "Figures: lambda expected. Wedge up: leaner than it should be, down: richer."
                + (" As it would be after the change." if page.steps else ""),
                0.6,
            )
        )
        blocks.append(Paragraph(page.lean_words))
    if page.road:
        rows = tuple((line.opening, line.target, line.before) for line in page.road)
        heads = ("at", "should be", "lambda, nine times in ten within")
        blocks.append(Table(heads, rows, "Mixture along the road", (2, 1, 2)))
    for one in page.rounds:
        blocks.append(Paragraph(f"{one.title}: {one.setting} {one.air}"))
        blocks.append(Listing(tuple(f"{line.words} (entry {line.entry})" for line in one.readings)))
    blocks.append(Paragraph(page.masked, "quiet"))
    return blocks


def _balance(engine: EngineFile, state: State) -> list[Block]:
    if not has_balance(engine):
        return []
    page = balance_page(engine, balance_book(engine, state))
    if not page.history:
        return []
    blocks: list[Block] = [Subhead("Balance"), Paragraph(page.verdict, "strong")]
    blocks.append(
        Drawing(
            balance_picture(page, width=480.0, embedded=True),
            f"Vacuum of each carburettor. {page.verdict}",
            "Bars: vacuum at idle; the screws between what they set against each other.",
            0.6,
        )
    )
    blocks.append(Listing((*page.history, *page.suspicions)))
    return blocks


def _strobe(engine: EngineFile, state: State) -> list[Block]:
    readings = readings_in_book(engine, state)
    if not readings or engine.ignition is None or not engine.ignition.advance:
        return []
    page = strobe_page(engine, readings)
    heads = ("rpm", "read", "the book", "off", "after moving")
    blocks: list[Block] = [Subhead("Timing under the strobe"), Paragraph(page.verdict, "strong")]
    if page.move:
        blocks.append(Paragraph(page.move))
    blocks.append(
        Drawing(
            strobe_picture(page, width=480.0, embedded=True),
            f"The book's advance curve and what the lamp showed. {page.verdict}",
            "Line: the book. Filled: as read. Open: once the plate is moved.",
            0.6,
        )
    )
    blocks.append(Table(heads, page.lines, "Degrees before the top", (1, 1, 1, 1, 1.4)))
    blocks += [Paragraph(words, "quiet") for words in page.says]
    return blocks
