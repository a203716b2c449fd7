"""Fit to start, to ride, for hand-over: the answer, what is in the way, what was recorded."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.build import CheckLine
from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class RecordedLine:
    """The answer kept last: what it said, by whom and when, and whether it still holds."""

    id: str
    number: int
    answer: str
    by: str
    at: str
    holds: bool
    words: str


@dataclass(frozen=True, slots=True)
class FitPage:
    """Everything the fit-to-start page shows.

    `stage` is 'first start', 'riding' or 'hand-over'. A blocker whose name is 'loose end' has the
    id of the loose end in `loose_ids`, in the same order as `blockers` ('' for checks).
    """

    head: Head
    stage: str
    title: str
    yes: bool
    answer: str
    blockers: tuple[CheckLine, ...]
    loose_ids: tuple[str, ...]
    accepted: tuple[CheckLine, ...]
    proved: str
    recorded: RecordedLine | None
    not_checked: tuple[str, ...]
    stages: tuple[tuple[str, str], ...]
    """Every stage with its title, to choose between."""
    caution: str
