"""A check, or a thing in the way, in words: what a list of them shows."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.wording import STATE_WORDS, check_words
from tickover.plan.checks import CheckState
from tickover.plan.fit import LOOSE_END, Blocker


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check as shown, with what was found and why it does not count any more."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    way_out: str


def check_line(item: CheckState) -> CheckLine:
    """A check state in words."""
    title = check_words(*item.check.key) if item.check.place else (
        item.check.title
    )  # fmt: skip
    text = item.finding.text if item.finding else ""
    if item.void is not None:
        text = f"was {text}, void since {item.void.why} (entry {item.void.entry.number})"
    if item.acceptance is not None:
        text = f"{text or 'not done'}; accepted by {item.acceptance.by}: "
        text += item.acceptance.body.reason
    return CheckLine(
        item.check.name, item.check.place, title, item.state, STATE_WORDS[item.state], text, ""
    )


def blocker_line(blocker: Blocker) -> CheckLine:
    """One thing in the way, in words."""
    b = blocker
    title = check_words(b.check, b.place) if b.place else b.check
    words = "still open" if b.check == LOOSE_END else STATE_WORDS[b.state]
    return CheckLine(b.check, b.place, title, b.state, words, b.text, b.way_out)
