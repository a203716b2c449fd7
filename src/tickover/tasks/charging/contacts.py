"""Switches as truth tables: tick them with the meter, and see which wire or contact is wrong.

Every explanation is one fault drawn through the whole table: a wire off, two wires bridged, two
wires exchanged, a contact that does not close or does not open, the lever a position off. What it
would make the meter say is compared with what it said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from tickover.book.state import State
from tickover.decide.troubleshoot import Model, Observation, Question, believe, next_step
from tickover.engine import EngineFile
from tickover.engine.tables.contacts import ContactTable
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.simple import simple_finding

CONTACTS = "switch contacts"
_APART = (
    "Loom plug of the switch apart, battery minus off, meter on its lowest ohm range or buzzer."
)
_SLIP = 0.02  # an answer misread or a probe that slipped: our assumption
_UNLISTED = 0.02
_MINUTES = 0.3

Seen = Mapping[tuple[str, str, str], bool]
"""(position, contact, contact) to whether the meter showed a path."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a switch, and the weight it has before anything is measured."""

    words: str
    weight: float
    paths: frozenset[tuple[str, str, str]]
    """Every (position, contact, contact) with a path under this fault."""


@dataclass(frozen=True, slots=True)
class SwitchDiagnosis:
    """What the ticks of one switch say.

    `causes` are (words, probability), the likeliest first; `alike` those the ticks made so far
    cannot tell from the first; `next_tick` the row that tells most, '' when none does.
    """

    switch: str
    wrong: tuple[str, ...]
    causes: tuple[tuple[str, float], ...]
    alike: tuple[str, ...]
    next_tick: str


def contact_place(switch: ContactTable, position: str, one: str, other: str) -> str:
    """The place of one row: 'light switch, park, battery to tail'."""
    return f"{switch.name}, {position}, {one} to {other}"


def switch_checks(engine: EngineFile) -> tuple[Check, ...]:
    """One check for each row of each truth table."""
    made = []
    for switch in engine.contacts:
        for position, _ in switch.positions:
            for one, other in switch.pairs:
                must = "a path" if switch.joins(position, one, other) else "no path"
                place = contact_place(switch, position, one, other)
                made.append(
                    Check(
                        CONTACTS, place, f"{place}: {must}",
                        "that the switch joins what it should and nothing else",
                        f"{_APART} Switch at {position}, probes on {one} and {other}: {must}.",
                        proving.RIDING, cautions=(proving.GAS,), minutes=_MINUTES,
                        group="switches and senders", wanted=Wanted("yes", prompt=must),
                    )
                )  # fmt: skip
    return tuple(made)


def switch_findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """Each row that was ticked."""
    found = (simple_finding(engine, check, state) for check in switch_checks(engine))
    return tuple(each for each in found if each is not None)


def contact_readings(
    engine: EngineFile, state: State, switch: ContactTable
) -> dict[tuple[str, str, str], bool]:
    """What the meter showed, from the ticks: a yes is what must be, a no the opposite."""
    found = {}
    for position, _ in switch.positions:
        for one, other in switch.pairs:
            entry = state.latest(CONTACTS, contact_place(switch, position, one, other))
            if entry is not None and entry.body.unit == "yes":
                right = entry.body.low == 1.0
                found[(position, one, other)] = switch.joins(position, one, other) is right
    return found


def switch_faults(switch: ContactTable) -> tuple[Fault, ...]:
    """Every single fault this switch can have, and no fault at all, first."""
    right = _paths(switch, dict(switch.positions))
    made = [Fault("nothing wrong", 20.0, right)]
    for contact in switch.terminals:
        made.append(
            Fault(f"the wire of {contact} is off or broken, or its pin is not home", 6.0,
                  frozenset(row for row in right if contact not in row[1:]))
        )  # fmt: skip
    for one, other in switch.pairs:
        joined = {name: _merge(groups, one, other) for name, groups in switch.positions}
        made.append(Fault(f"{one} and {other} are bridged, in the switch or before it", 2.0,
                          _paths(switch, joined)))  # fmt: skip
        turn = {one: other, other: one}
        swapped = {
            name: tuple(tuple(turn.get(c, c) for c in group) for group in groups)
            for name, groups in switch.positions
        }
        made.append(Fault(f"the wires of {one} and {other} are exchanged", 2.0,
                          _paths(switch, swapped)))  # fmt: skip
    names = [name for name, _ in switch.positions]
    for position, groups in switch.positions:
        for contact in sorted({c for group in groups for c in group}):
            lost = {
                name: tuple(tuple(c for c in g if c != contact or name != position) for g in each)
                for name, each in switch.positions
            }
            made.append(Fault(f"at {position} the contact of {contact} does not close: worn, "
                              "burnt or dirty", 3.0, _paths(switch, lost)))  # fmt: skip
        for other in names:
            if other != position:
                held = dict(switch.positions) | {position: dict(switch.positions)[other]}
                made.append(Fault(f"at {position} it stays as at {other}: the lever does not "
                                  "carry the slider along", 1.5, _paths(switch, held)))  # fmt: skip
    for step in (1, -1):
        if len(names) > 2:
            moved = {
                name: switch.positions[(i + step) % len(names)][1] for i, name in enumerate(names)
            }
            made.append(Fault("the lever sits one position off", 1.0, _paths(switch, moved)))
    made.append(Fault("no wire of it makes contact: its plug, or the meter", 3.0, frozenset()))
    kept: dict[frozenset[tuple[str, str, str]], Fault] = {}
    for fault in made:  # faults that no tick could tell apart stand as one
        if fault.paths in kept and kept[fault.paths].words != "nothing wrong":
            first = kept[fault.paths]
            kept[fault.paths] = Fault(f"{first.words}; or {fault.words}",
                                      first.weight + fault.weight, fault.paths)  # fmt: skip
        else:
            kept.setdefault(fault.paths, fault)
    return tuple(kept.values())


def diagnose(switch: ContactTable, seen: Seen) -> SwitchDiagnosis | None:
    """What is wrong with a switch by its ticks; None before the first.

    Parameters
    ----------
    switch : ContactTable
    seen : mapping
        (position, contact, contact) to whether there was a path; rows not ticked left out.

    Returns
    -------
    SwitchDiagnosis or None

    Examples
    --------
    >>> light = ContactTable(
    ...     name="light", terminals=["b", "t", "h"], positions=["off:", "on: b-t-h"])
    >>> found = diagnose(light, {("on", "b", "t"): False, ("on", "b", "h"): False,
    ...     ("on", "t", "h"): True, ("off", "b", "t"): False})
    >>> found.causes[0][0].startswith("the wire of b is off")
    True
    """
    if not seen:
        return None
    faults, rows, model = _model(switch)
    index = {row: i for i, row in enumerate(rows)}
    observed = [Observation(index[row], 0 if path else 1) for row, path in seen.items()]
    belief = believe(model, observed)
    ranked = sorted(zip(faults, belief.probabilities, strict=True), key=lambda each: -each[1])
    first = ranked[0][0]
    alike = tuple(
        fault.words
        for fault, chance in ranked[1:]
        if chance > 0.01 and all((row in fault.paths) == (row in first.paths) for row in seen)
    )
    advice = next_step(model, observed)
    untried = [value for value in advice.questions if value.bits > 0.01]
    best = max(untried, key=lambda value: value.bits, default=None)
    wrong = tuple(
        f"{position}, {one} to {other}: {'a path' if path else 'no path'}, must be "
        f"{'a path' if switch.joins(position, one, other) else 'no path'}"
        for (position, one, other), path in seen.items()
        if path is not switch.joins(position, one, other)
    )
    causes = [(fault.words, chance) for fault, chance in ranked if chance > 0.01]
    if belief.unlisted > 0.01:
        causes.append(("something not listed, or two things at once", belief.unlisted))
    tick = ""
    if best is not None:
        position, one, other = rows[best.question]
        tick = f"{position}, {one} to {other}"
    return SwitchDiagnosis(
        switch.name, wrong, tuple(sorted(causes, key=lambda each: -each[1])[:6]), alike, tick
    )


@lru_cache(maxsize=32)
def _model(
    switch: ContactTable,
) -> tuple[tuple[Fault, ...], tuple[tuple[str, str, str], ...], Model]:
    faults = switch_faults(switch)
    rows = tuple((p, a, b) for p, _ in switch.positions for a, b in switch.pairs)
    questions = tuple(
        Question(", ".join(row), _MINUTES, ("a path", "no path"),
                 [[1.0 if row in f.paths else 0.0 for f in faults],
                  [0.0 if row in f.paths else 1.0 for f in faults]])
        for row in rows
    )  # fmt: skip
    return faults, rows, Model(
        tuple(f.words for f in faults), tuple(f.weight for f in faults), questions, (), 30.0,
        unlisted=_UNLISTED, slip=_SLIP,
    )  # fmt: skip


def _merge(groups: Sequence[tuple[str, ...]], one: str, other: str) -> tuple[tuple[str, ...], ...]:
    touched = [group for group in groups if one in group or other in group]
    rest = [group for group in groups if group not in touched]
    joined = tuple(dict.fromkeys((one, other, *(c for group in touched for c in group))))
    return (*rest, joined)


def _paths(
    switch: ContactTable, positions: Mapping[str, Sequence[Sequence[str]]]
) -> frozenset[tuple[str, str, str]]:
    return frozenset(
        (name, one, other)
        for name, groups in positions.items()
        for one, other in switch.pairs
        if any(one in group and other in group for group in groups)
    )
