"""Every check of the machine with what proves it: the table a next owner looks things up in."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.building import states_of
from tickover.pages.check_line import check_line
from tickover.pages.checks import wanted_of
from tickover.pages.record.blocks import Block, Paragraph, RecordPart, Stated, Table
from tickover.pages.wording import check_words, count_words, listed, sentence
from tickover.plan.checks import CheckState

_TALLY = (
    ("good", "good"), ("accepted", "accepted by a person"), ("out", "out"),
    ("undecided", "not to be told yet"), ("stale", "void by later work"), ("open", "not done"),
)  # fmt: skip


def checks_part(engine: EngineFile, state: State) -> RecordPart | None:
    """All checks in the order of the work, grouped as the page of checks groups them."""
    states = states_of(state)
    if not states:
        return None
    counts = [(sum(item.state == key for item in states), words) for key, words in _TALLY]
    tally = listed([f"{count_words(count)} {words}" for count, words in counts if count])
    blocks: list[Block] = [Paragraph(sentence(f"{len(states)} checks: {tally}"), "strong")]
    grouped: dict[str, list[CheckState]] = {}
    for item in states:
        grouped.setdefault(item.check.group or "other", []).append(item)
    for title, items in grouped.items():
        rows = tuple(_row(engine, state, item) for item in items)
        blocks.append(
            Table(
                ("check", "found", "limits", "state", "proved by"),
                rows,
                sentence(title).rstrip("."),
                (2.4, 2.0, 1.6, 1.8, 2.8),
            )
        )
    return RecordPart("checks", "Every check", tuple(blocks))


def _row(engine: EngineFile, state: State, item: CheckState) -> tuple[str | Stated, ...]:
    check, line = item.check, check_line(item)
    name = check_words(*check.key) if check.place else check.title
    return (
        name[:1].upper() + name[1:],
        line.text,
        wanted_of(engine, check).limits,
        Stated(line.state, line.state_words),
        _proof(state, item),
    )


def _proof(state: State, item: CheckState) -> str:
    """Who, when, and the entry it rests on; '' where nothing is proved."""
    number = item.finding.proof if item.finding is not None else 0
    if item.acceptance is not None:
        number = item.acceptance.number
    if not number:
        return ""
    entry = state.entries[number - 1]
    return f"{entry.by}, {entry.at[:10]}, entry {entry.number}"
