"""What recordings said, in the record: the latest one, what changed, and what became of them."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.hearing import recording_page
from tickover.pages.listen import SYNTHETIC, UNPROVEN, speed_drawing, wheel_drawing
from tickover.pages.record.blocks import Block, Drawing, Paragraph, RecordPart, Table
from tickover.tasks.listen.in_book import recordings


def listen_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The latest recording and the list of all; nothing where none was kept."""
    every = recordings(state)
    if not every:
        return None
    real = [kept for kept in every if not kept.synthetic]
    page = recording_page(state, (real or every)[-1])
    blocks: list[Block] = []
    if page.synthetic:
        blocks.append(Paragraph(SYNTHETIC, "strong"))
    blocks.append(Paragraph(page.verdict, "strong"))
    heads: tuple[str, ...] = ("what", "heard", "beside it")
    blocks.append(Table(heads, page.numbers, "Speed and steadiness", (1.2, 1.1, 3)))
    drawing = speed_drawing(page, width=480.0, embedded=True)
    if drawing:
        blocks.append(
            Drawing(drawing, f"Engine speed over time. {page.verdict}",
                    "A whole line is sure, a dashed one is not.", 0.8)
        )  # fmt: skip
    if page.slots:
        said = ", ".join(f"{line.name} {line.words}" for line in page.slots)
        blocks.append(
            Drawing(wheel_drawing(page, embedded=True), f"Firing slots: {said}.",
                    page.slot_words, 0.5)
        )  # fmt: skip
        heads = ("slot", "strength, with its interval")
        blocks.append(Table(heads, page.slot_rows, "Strength of each firing", (1, 2)))
    elif page.no_slots:
        blocks.append(Paragraph(f"Firing slots are not told. {page.no_slots}"))
    if page.changes:
        done = f" Done between: {', '.join(page.since)}." if page.since else ""
        blocks.append(Paragraph(f"Beside {page.earlier}.{done}"))
        heads = ("what", "before", "then", "change")
        blocks.append(Table(heads, page.changes, "Changes, with their interval",
                            (1.2, 1, 1, 2.4)))  # fmt: skip
    rows = tuple(
        (
            kept.entry.at[:10],
            kept.entry.body.answer,
            f"deleted, entry {kept.deleted.number}" if kept.deleted is not None else "kept",
        )
        for kept in every
    )
    blocks.append(Table(("when", "what it said", "sound"), rows, "Recordings", (1, 3.6, 1.2)))
    blocks.append(Paragraph(UNPROVEN, "quiet"))
    return RecordPart("listen", "Listened to", tuple(blocks))
