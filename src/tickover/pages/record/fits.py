"""Build measurements in the record: every reading, what it comes to, and the limits."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.fits import FitLine, fits_page
from tickover.pages.record.blocks import Block, Paragraph, RecordPart, Stated, Table
from tickover.pages.wording import STATE_WORDS, sentence


def fits_part(engine: EngineFile, state: State) -> RecordPart | None:
    """One table over all fits, and every single reading behind them."""
    if not engine.fits:
        return None
    page = fits_page(engine, state)
    rows = tuple(
        (
            sentence(line.title).rstrip("."),
            _reading(line),
            line.limits,
            Stated(line.state, STATE_WORDS[line.state]),
        )
        for line in page.lines
    )
    blocks: list[Block] = [
        Paragraph(page.verdict, "strong"),
        Table(
            ("measurement", "found", "limits", "state"),
            rows,
            "What the readings come to",
            (2.0, 2.4, 2.0, 1.2),
        ),
    ]
    single = tuple(
        (sentence(line.title).rstrip("."), "; ".join(line.single))
        for line in page.lines
        if line.single and not line.result.fit.between
    )
    if single:
        blocks.append(
            Table(("measurement", "readings"), single, "Every reading as it was taken", (1.0, 3.0))
        )
    return RecordPart("fits", "Build measurements", tuple(blocks))


def _reading(line: FitLine) -> str:
    if line.was:
        return f"was {line.was}, void"
    return line.reading or "not measured"
