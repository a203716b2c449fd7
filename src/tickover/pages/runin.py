"""After the first start: what to do again and when, dated from how the machine is used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class RunInLine:
    """One step. `state` is 'done', 'due' or 'later'; `on` is None when the use never reaches it."""

    key: str
    name: str
    marks: str
    state: str
    state_words: str
    on: date | None
    when: str
    because: str
    source: str
    how: str
    done: str


@dataclass(frozen=True, slots=True)
class RunInPage:
    """Everything the running-in page, its sheet and its calendar file show."""

    head: Head
    title: str
    sentence: str
    started: date | None
    reached: tuple[str, ...]
    use: str
    use_given: bool
    due: tuple[RunInLine, ...]
    later: tuple[RunInLine, ...]
    done: tuple[RunInLine, ...]
    advice: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    conflicts: tuple[str, ...]

    @property
    def lines(self) -> tuple[RunInLine, ...]:
        """Every step: due, later, done."""
        return (*self.due, *self.later, *self.done)
