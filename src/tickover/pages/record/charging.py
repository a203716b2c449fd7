"""Charging in the record: the voltage over speed, every reading, switches and senders."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.charging import charging_page, page_plot
from tickover.pages.proving import ProvingLine
from tickover.pages.record.blocks import Block, Drawing, Paragraph, RecordPart, Stated, Table
from tickover.pages.wording import sentence
from tickover.tasks.charging.names import NAMES

_HEADS = ("check", "found", "limits", "state")
_WIDE = (2.2, 2.6, 1.8, 1.3)


def charging_part(engine: EngineFile, state: State) -> RecordPart | None:
    """What was read of charging, switches and senders; nothing where none of it was."""
    if engine.charging is None and not engine.contacts and not engine.senders:
        return None
    page = charging_page(engine, state)
    lines = [line for line in page.checks if line.name in NAMES]
    ticked = [(s, [row for row in s.rows if row.state != "open"]) for s in page.switches]
    marks = [line for sender in page.senders for line in sender.rows]
    every = [*lines, *marks]
    if all(line.state == "open" for line in every) and not any(rows for _, rows in ticked):
        return None
    blocks: list[Block] = []
    if engine.charging is not None:
        blocks.append(Paragraph(page.verdict, "strong"))
    if page.points:
        blocks.append(
            Drawing(
                page_plot(page, width=480.0, embedded=True),
                "Voltage at the battery: "
                + "; ".join(f"{p.volts:g} V at {p.rpm:.0f} rpm, {p.state}" for p in page.points),
                f"Box: {page.window[0]:g} to {page.window[1]:g} V, where it should be from "
                f"{page.charges_from_rpm:.0f} rpm on.",
                0.6,
            )
        )
    if lines:
        blocks.append(Table(_HEADS, tuple(_row(line) for line in lines), "Charging", _WIDE))
    for switch, rows in ticked:
        if rows:
            blocks.append(
                Table(
                    ("tried", "must", "state"),
                    tuple((r.tried, r.must, Stated(r.state, r.state_words)) for r in rows),
                    f"{sentence(switch.name)} {switch.verdict}",
                )
            )
    if any(line.state != "open" for line in marks):
        blocks.append(Table(_HEADS, tuple(_row(line) for line in marks), "Senders", _WIDE))
    return RecordPart("charging", "Charging", tuple(blocks))


def _row(line: ProvingLine) -> tuple[str | Stated, ...]:
    words = sentence(line.title).rstrip(".")
    return words, line.text, line.limits, Stated(line.state, line.state_words)
