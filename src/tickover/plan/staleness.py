"""What work makes which proof void: one table, in one place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from tickover.book.bodies import Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.tasks.finding import Check

Scope = Literal["same place", "same cylinder", "everywhere"]


@dataclass(frozen=True, slots=True)
class Rule:
    """Work of this kind makes this check void within this scope, for this reason."""

    work: str
    check: str
    scope: Scope
    why: str


TABLE: tuple[Rule, ...] = (
    Rule("shim fitted", "valve clearance", "same place", "another shim is in"),
    Rule("clearance set", "valve clearance", "same place", "the screw was turned"),
    Rule("valve or seat work", "valve clearance", "same place", "the valve sits elsewhere now"),
    Rule("camshaft out", "valve clearance", "everywhere", "the camshafts were out"),
    Rule("head off", "valve clearance", "everywhere", "the head was off"),
    Rule("engine opened", "valve clearance", "everywhere", "the engine was opened"),
)
"""Every row that makes a proof void. Tasks add rows here and nowhere else."""


@dataclass(frozen=True, slots=True)
class Void:
    """A proof that later work made void: the work's entry and why."""

    entry: Entry[Work]
    why: str


def voided(
    engine: EngineFile, state: State, checks: Iterable[Check], proofs: dict[tuple[str, str], int]
) -> dict[tuple[str, str], Void]:
    """Which proofs are void, and by which entry.

    Parameters
    ----------
    engine : EngineFile
    state : State
    checks : iterable of Check
    proofs : dict
        (check name, place) to the number of the entry that proved it; no entry, no proof.

    Returns
    -------
    dict
        Only the void ones. Order is by entry number, never by the clock.
    """
    latest: dict[tuple[str, str], tuple[Entry[Work], Rule]] = {}
    rules: dict[str, list[Rule]] = {}
    for rule in TABLE:
        rules.setdefault(rule.work, []).append(rule)
    wanted: dict[str, list[Check]] = {}
    for check in checks:
        if check.key in proofs:
            wanted.setdefault(check.name, []).append(check)
    for entry in state.works():
        for rule in rules.get(entry.body.what, ()):
            for check in wanted.get(rule.check, ()):
                if entry.number > proofs[check.key] and _touches(engine, rule, entry, check):
                    latest[check.key] = (entry, rule)
    return {key: Void(entry, rule.why) for key, (entry, rule) in latest.items()}


def _touches(engine: EngineFile, rule: Rule, entry: Entry[Work], check: Check) -> bool:
    places = entry.body.places
    if rule.scope == "everywhere" or not places:
        return True
    if rule.scope == "same place":
        return check.place in places
    return _cylinder(check.place) in {_cylinder(place) for place in places}


def _cylinder(place: str) -> str:
    """The cylinder a place belongs to: '4' for 'in4b', 'cyl4', 'plug4'."""
    return "".join(sign for sign in place if sign.isdigit())
