"""All checks of a build, and one of them: what it proves, how, what it needs, what it says now."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class NeedLine:
    """A check that comes first, and how it stands; `place` is '' where there are several."""

    name: str
    place: str
    title: str
    state: str
    state_words: str


@dataclass(frozen=True, slots=True)
class StaleLine:
    """Work that makes a check void: the work, where it reaches to, and why."""

    work: str
    reach: str
    why: str


@dataclass(frozen=True, slots=True)
class WantedLine:
    """What a check asks for.

    `form` is 'yes', 'value' or 'page'. `limits` is in words, '' without any; `unit` the one a
    bare number is taken in; `page` the page the check is entered on ('valves').
    """

    form: str
    prompt: str
    limits: str
    unit: str
    quantity: str
    page: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check in the list of all."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    way_out: str
    required: tuple[str, ...]
    needs: tuple[NeedLine, ...]
    stale_by: tuple[StaleLine, ...]
    effort: str
    risk: str
    wanted: WantedLine
    settled: bool


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """Checks of one kind of work; `line` counts what is settled."""

    title: str
    line: str
    rows: tuple[CheckRow, ...]


@dataclass(frozen=True, slots=True)
class NextLine:
    """One thing to do, in order; `waits_for` is '' when it can be done now."""

    row: CheckRow
    waits_for: str


@dataclass(frozen=True, slots=True)
class ChecksPage:
    """Everything the page of all checks shows."""

    head: Head
    title: str
    sentence: str
    groups: tuple[CheckGroup, ...]
    next_steps: tuple[NextLine, ...]
    work_kinds: tuple[str, ...]
    """Work that makes some check of this machine void, to pick when it is written down."""
    fallen_away: tuple[str, ...]
    conflicts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckReading:
    """A reading of a check. `standing` is 'counts', 'earlier', 'void' or 'struck out'."""

    number: int
    id: str
    at: str
    by: str
    words: str
    typed: str
    instrument: str
    standing: str
    note: str


@dataclass(frozen=True, slots=True)
class AcceptedLine:
    """Who took responsibility, when and why; `counts` is false when something came after it."""

    id: str
    number: int
    by: str
    at: str
    reason: str
    counts: bool


@dataclass(frozen=True, slots=True)
class CheckPage:
    """Everything the page of one check shows."""

    head: Head
    name: str
    place: str
    title: str
    state: str
    state_words: str
    sentence: str
    chance: str
    proves: str
    how: str
    cautions: tuple[str, ...]
    required: tuple[str, ...]
    needs: tuple[NeedLine, ...]
    stale_by: tuple[StaleLine, ...]
    wanted: WantedLine
    effort: str
    risk: str
    readings: tuple[CheckReading, ...]
    accepted: AcceptedLine | None
    can_accept: bool
    others: tuple[NeedLine, ...]
    """The same check at its other places."""
    conflicts: tuple[str, ...]
