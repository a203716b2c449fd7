"""What a person took responsibility for: the check, what was found, the reason, and who."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.building import states_of
from tickover.pages.record.blocks import Paragraph, RecordPart, Stated, Table
from tickover.pages.wording import count_words, place_words, sentence
from tickover.plan.fit import LOOSE_END


def accepted_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Every acceptance of the book, those that count and those overtaken since."""
    if not state.acceptances:
        return None
    counting = {item.check.key for item in states_of(state) if item.acceptance is not None}
    counting |= {(LOOSE_END, end.id) for end in state.open_loose_ends}
    labels = {end.id: end.opened.body.label for end in state.loose_ends}
    rows = []
    for entry in state.acceptances:
        body = entry.body
        counts = (body.check, body.place) in counting
        loose = body.check == LOOSE_END
        name = labels.get(body.place, "loose end") if loose else body.check
        where = f", {place_words(body.place)}" if body.place and not loose else ""
        rows.append(
            (
                sentence(f"{name}{where}").rstrip("."),
                body.reason,
                f"{entry.by}, {entry.at[:10]}, entry {entry.number}",
                Stated("accepted", "counts") if counts else Stated("stale", "overtaken since"),
            )
        )
    count = sum(isinstance(row[3], Stated) and row[3].state == "accepted" for row in rows)
    said = f"{count_words(count)} {'is' if count == 1 else 'are'} accepted as found" if count else (
        "no acceptance counts any more"
    )  # fmt: skip
    return RecordPart(
        "accepted",
        "Accepted, and why",
        (
            Paragraph(sentence(said), "strong"),
            Table(
                ("what", "why", "who says so", "now"),
                tuple(rows),
                "A person took responsibility for these",
                (1.6, 3.0, 1.8, 1.1),
            ),
        ),
    )
