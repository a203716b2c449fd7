"""Fit to start: yes, or no and exactly why."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import LooseEnd, State
from tickover.engine import EngineFile
from tickover.plan.checks import CheckState, check_states
from tickover.tasks.finding import Stage

LOOSE_END = "loose end"


@dataclass(frozen=True, slots=True)
class Blocker:
    """One thing that stops the start, and the way out."""

    check: str
    place: str
    state: str
    text: str
    way_out: str
    id: str = ""
    """Of the entry that opened it, for a loose end."""


@dataclass(frozen=True, slots=True)
class Fitness:
    """The answer over all checks required before a stage."""

    stage: Stage
    yes: bool
    blockers: tuple[Blocker, ...]
    states: tuple[CheckState, ...]
    accepted: tuple[CheckState, ...]
    nothing_required: bool
    """True when no check is required: then the answer proves nothing and is no."""
    left_open: tuple[LooseEnd, ...] = ()
    """Loose ends that a person accepted as open, with a reason."""


def fitness(
    engine: EngineFile,
    state: State,
    stage: Stage = "first start",
    states: tuple[CheckState, ...] | None = None,
) -> Fitness:
    """Whether everything required before a stage is proved or accepted, and nothing is loose.

    `states` are the checks as they stand, if the caller has them already.
    """
    states = check_states(engine, state) if states is None else states
    required = [item for item in states if stage in item.check.required]
    blockers = [_blocker(item) for item in required if not item.settled]
    blockers += [_loose(end) for end in state.open_loose_ends if not _accepted(end, state)]
    return Fitness(
        stage=stage,
        yes=bool(required) and not blockers,
        blockers=tuple(blockers),
        states=states,
        accepted=tuple(item for item in required if item.state == "accepted"),
        nothing_required=not required,
        left_open=tuple(end for end in state.open_loose_ends if _accepted(end, state)),
    )


_MEASURED = {
    "open": "measure it",
    "out": "put it right and measure again",
    "undecided": "measure closer",
    "stale": "measure it again",
}
_TRIED = {
    "open": "try it",
    "out": "put it right and try again",
    "undecided": "look closer",
    "stale": "try it again",
}


def way_out(item: CheckState) -> str:
    """What settles a check as it stands; '' where it is settled."""
    words = _TRIED if item.check.wanted.form == "yes" else _MEASURED
    return words.get(item.state, "")


def _blocker(item: CheckState) -> Blocker:
    text = {
        "open": "not done",
        "stale": f"void: {item.void.why}" if item.void else "void",
    }.get(item.state, item.finding.text if item.finding else "")
    return Blocker(item.check.name, item.check.place, item.state, text, way_out(item))


def _loose(end: LooseEnd) -> Blocker:
    return Blocker(
        LOOSE_END, end.opened.body.place, "open", end.opened.body.label,
        "put it back and close it", end.id,
    )  # fmt: skip


def _accepted(end: LooseEnd, state: State) -> bool:
    acceptance = state.acceptance(LOOSE_END, end.id)
    return acceptance is not None and acceptance.number > end.opened.number
