"""The user's own checks, from the [[checks]] of the engine file."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.own import YES, OwnCheck
from tickover.tasks.finding import Check, Finding, Stage, Wanted
from tickover.tasks.simple import simple_finding

_FROM: dict[str, frozenset[Stage]] = {
    "first start": frozenset({"first start", "riding", "hand-over"}),
    "riding": frozenset({"riding", "hand-over"}),
    "hand-over": frozenset({"hand-over"}),
    "never": frozenset(),
}


def own_name(check: OwnCheck) -> str:
    """The name a check of the user's own goes by, in small letters."""
    return " ".join(check.name.casefold().split())


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check for each place of each own check."""
    return tuple(_check(own, place) for own in engine.checks for place in own.places or ("",))


def _check(own: OwnCheck, place: str) -> Check:
    low, high = own.limits_si
    wanted = (
        Wanted("yes", prompt=own.name)
        if own.kind == YES
        else Wanted("value", own.kind, low, high, prompt=own.name)
    )
    return Check(
        own_name(own), place, f"{own.name} {place}".strip(), "what you wanted proved",
        own.how or own.name, _FROM[own.required], needs=own.needs,
        cautions=(own.caution,) if own.caution else (), minutes=float(own.minutes),
        risk=round(own.can_wreck), group="your own", wanted=wanted,
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the user's own checks."""
    made = (simple_finding(engine, check, state) for check in checks(engine, state))
    return tuple(finding for finding in made if finding is not None)
