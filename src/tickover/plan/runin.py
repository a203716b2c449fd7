"""After the first start: steps with their marks, what the machine has done, what is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.runningin import Reached, Step, Use, is_due, plan
from tickover.tasks.valves.in_book import CLEARANCE, valve_drifts

DISTANCE = "distance run"
DISTANCE_AT_START = "distance at the first start"
RUNNING = "running time"
HEAT_CYCLE = "heat cycle"
USE = "use in a week"
DONE = "run-in step done"

PRACTICE = "common practice, no source"
FROM_FILE = "engine file"
FROM_DRIFT = "drift of the readings"

USUAL_USE = Use(150e3, 3 * 3600.0, 4.0)
"""A machine ridden on weekends: our assumption, used until somebody says otherwise."""


@dataclass(frozen=True, slots=True)
class KnownStep:
    """A step, where it comes from, and how it is done."""

    step: Step
    source: str
    how: str


USUAL_STEPS: tuple[KnownStep, ...] = (
    KnownStep(
        Step("leaks and fasteners after the first heat cycle", heat_cycles=1), PRACTICE,
        "Quite cold again: look for oil, fuel and exhaust leaks; feel every nut you can see.",
    ),
    KnownStep(
        Step("oil level again", heat_cycles=2), PRACTICE,
        "Level on level ground, as the manual asks; oil hides in a new filter and its lines.",
    ),
    KnownStep(
        Step("head and exhaust fasteners again", heat_cycles=3, distance=100e3), PRACTICE,
        "Cold, in the tightening order; only where the gasket or the manual asks for it again.",
    ),
    KnownStep(
        Step("intake clamps and cables again", heat_cycles=3, distance=100e3), PRACTICE,
        "New rubbers and new cables settle: clamps tight, free play as in the manual.",
    ),
    KnownStep(
        Step("first oil and filter change", distance=100e3, engine_time=3 * 3600.0), PRACTICE,
        "Warm; look at what the filter holds, cut it open if you can.",
    ),
    KnownStep(
        Step("valve clearances for the first time", distance=500e3, engine_time=15 * 3600.0),
        PRACTICE, "Cold. New seats settle most in the first hours.",
    ),
    KnownStep(
        Step("mixture, balance, timing and idle again", distance=500e3), PRACTICE,
        "Once the friction of new parts has gone, idle rises and the mixture can be read.",
    ),
    KnownStep(
        Step("second oil and filter change", distance=1000e3), PRACTICE, "Warm, with the filter.",
    ),
)  # fmt: skip
"""What is usually done again on any rebuilt engine; the manual of the engine comes first."""

StepState = Literal["done", "due", "later"]


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """A step as it stands.

    `on` is the day it falls due, None when the use never reaches it; `because` names the mark
    that comes first. `done` are the entries that say it was done, more than one if two did.
    """

    known: KnownStep
    state: StepState
    on: date | None
    because: str
    done: tuple[Entry[Work], ...] = ()


@dataclass(frozen=True, slots=True)
class RunInPlan:
    """Everything after the first start.

    `started` is None before the engine ran: then nothing is dated and nothing is due.
    """

    today: date
    started: date | None
    reached: Reached
    use: Use
    use_given: bool
    steps: tuple[PlannedStep, ...]
    notes: tuple[str, ...]
    conflicts: tuple[str, ...]

    @property
    def all_done(self) -> bool:
        """Whether the engine has run and every step is done."""
        return self.started is not None and all(item.state == "done" for item in self.steps)


def run_in_plan(engine: EngineFile, state: State, today: date, use: Use | None = None) -> RunInPlan:
    """What is to be done after the first start, what of it is due, and when the rest will be.

    Parameters
    ----------
    engine : EngineFile
    state : State
    today : date
    use : Use, optional
        Use in a week; what the book says otherwise, else `USUAL_USE`.

    Returns
    -------
    RunInPlan
        Due first, then by date, then what is done.

    Notes
    -----
    Days are reckoned from the last reading of distance, running time or heat cycles, so that
    looking again on another day changes nothing.
    """
    said = _use(state)
    weekly = use or said or USUAL_USE
    first = _first_run(state)
    progress = _progress(state, first, today)
    steps = _steps(engine, state, progress.baseline)
    done: dict[str, list[Entry[Work]]] = {}
    for entry in state.works(DONE):
        done.setdefault(str(entry.body.detail.get("step", "")).casefold(), []).append(entry)
    if first is None:
        planned = [
            PlannedStep(k, "done" if _done(k, done) else "later", None, "", _done(k, done))
            for k in steps
        ]
        return RunInPlan(
            today, None, Reached(), weekly, use is not None or said is not None, tuple(planned),
            progress.notes, progress.conflicts,
        )  # fmt: skip
    planned = _dated(steps, done, progress, weekly)
    return RunInPlan(
        today, _day(first), progress.reached, weekly, use is not None or said is not None,
        tuple(planned), progress.notes, (*progress.conflicts, *_twice(planned)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Progress:
    reached: Reached
    started: date
    since: date
    baseline: float
    notes: tuple[str, ...]
    conflicts: tuple[str, ...]


def _done(known: KnownStep, done: Mapping[str, list[Entry[Work]]]) -> tuple[Entry[Work], ...]:
    return tuple(done.get(known.step.name.casefold(), ()))


def _dated(
    steps: Sequence[KnownStep],
    done: Mapping[str, list[Entry[Work]]],
    progress: _Progress,
    weekly: Use,
) -> list[PlannedStep]:
    finished, waiting = [], []
    for known in steps:
        entries = _done(known, done)
        if entries:
            finished.append(PlannedStep(known, "done", _day(entries[0]), "", entries))
        else:
            waiting.append(known)
    reached = progress.reached
    at_since = replace(reached, days=(progress.since - progress.started).days)
    by_name = {known.step.name: known for known in waiting}
    dated = plan([_remaining(known.step, at_since) for known in waiting], progress.since, weekly)
    due: list[PlannedStep] = []
    later: list[PlannedStep] = []
    for item in dated:
        known = by_name[item.step.name]
        now = is_due(known.step, reached)
        row = PlannedStep(known, "due" if now else "later", item.on, item.because)
        (due if now else later).append(row)
    return [*due, *later, *finished]


def _remaining(step: Step, reached: Reached) -> Step:
    """The step with its marks counted from what is reached."""

    def left(mark: float | None, done: float) -> float | None:
        return None if mark is None else max(mark - done, 0.0)

    return Step(
        step.name,
        left(step.distance, reached.distance),
        left(step.engine_time, reached.engine_time),
        None if step.heat_cycles is None else max(step.heat_cycles - reached.heat_cycles, 0),
        None if step.days is None else max(step.days - reached.days, 0),
    )


def _steps(engine: EngineFile, state: State, baseline: float) -> tuple[KnownStep, ...]:
    own = [
        KnownStep(
            Step(row.name, row.distance_m, row.running_s, row.heat_cycles, row.days), FROM_FILE, ""
        )
        for row in engine.run_in
    ]
    taken = {known.step.name.casefold() for known in own}
    usual = [known for known in USUAL_STEPS if known.step.name.casefold() not in taken]
    drifting = [
        KnownStep(
            Step(f"clearance of {place}, by its drift", distance=max(item.due_m - baseline, 0.0)),
            FROM_DRIFT, "Risk of being out of its limits passes 10 % there.",
        )
        for place, item in valve_drifts(engine, state).items()
        if item.due_m is not None
    ]  # fmt: skip
    return (*usual, *own, *drifting)


def _first_run(state: State) -> Entry[Any] | None:
    ran = (entry for entry in state.start_attempts() if entry.body.outcome == "ran")
    return next(ran, None)


def _progress(state: State, first: Entry[Any] | None, today: date) -> _Progress:
    number = first.number if first is not None else state.last_number
    run = _odometer(state)
    notes, conflicts = [], list(_went_back(run))
    after = [row for row in run if row[0] > number]
    said = state.latest(DISTANCE_AT_START, "")
    before = [row for row in run if row[0] <= number]
    baseline = 0.0
    if said is not None and said.body.low is not None:
        baseline = said.body.low
    elif before:
        baseline = before[-1][1]
    elif after:
        notes.append(
            "The distance is counted from zero, because none was kept before the first start; "
            "keep the distance at the first start if it was not zero."
        )
    hours = [e for e in state.readings(RUNNING) if e.number > number and e.body.low is not None]
    cycles = [e for e in state.works(HEAT_CYCLE) if e.number > number]
    latest: list[Entry[Any]] = [*hours[-1:], *cycles[-1:]]
    last_run = next(
        (e for e in reversed(state.entries) if after and e.number == after[-1][0]), None
    )
    if last_run is not None:
        latest.append(last_run)
    started = _day(first) if first is not None else today
    # A clock set forward must not move the plan beyond today, nor one set back before the start.
    since = max([started, *(min(_day(entry), today) for entry in latest)])
    reached = Reached(
        max(max((row[1] for row in after), default=baseline) - baseline, 0.0),
        max((float(e.body.low or 0.0) for e in hours), default=0.0),
        len(cycles),
        max((today - started).days, 0),
    )
    return _Progress(reached, started, since, baseline, tuple(notes), tuple(conflicts))


def _odometer(state: State) -> list[tuple[int, float]]:
    """(entry number, distance) of every reading that tells how far the machine has run [m]."""
    rows = [(e.number, e.body.low) for e in state.readings(DISTANCE) if e.body.low is not None]
    for entry in state.readings(CLEARANCE):
        said = entry.body.conditions.get("distance_m")
        if isinstance(said, (int, float)):
            rows.append((entry.number, float(said)))
    return sorted(rows)


def _went_back(rows: Sequence[tuple[int, float]]) -> list[str]:
    found, most = [], (0, 0.0)
    for number, distance in rows:
        if distance < most[1]:
            found.append(
                f"Entry {number} says {distance / 1e3:.0f} km, less than the {most[1] / 1e3:.0f} km"
                f" of entry {most[0]}; the larger counts until one is struck out."
            )
        else:
            most = (number, distance)
    return found


def _twice(planned: Sequence[PlannedStep]) -> list[str]:
    return [
        f"'{item.known.step.name}' was marked done by {item.done[0].by} (entry "
        f"{item.done[0].number}) and again by {again.by} (entry {again.number})."
        for item in planned
        for again in item.done[1:]
    ]


def _use(state: State) -> Use | None:
    said = state.works(USE)
    if not said:
        return None
    detail = said[-1].body.detail

    def number(name: str) -> float:
        value = detail.get(name, 0.0)
        return float(value) if isinstance(value, (int, float)) and value >= 0 else 0.0

    return Use(number("distance_m"), number("running_s"), number("heat_cycles"))


def _day(entry: Entry[Any]) -> date:
    return date.fromisoformat(entry.at[:10])


def use_entry(use: Use) -> Work:
    """The entry that says how much the machine is ridden in a week."""
    return Work(
        USE, (),
        {"distance_m": use.distance, "running_s": use.engine_time, "heat_cycles": use.heat_cycles},
    )  # fmt: skip


def done_entry(found: RunInPlan, name: str) -> Work:
    """The entry that a step was done.

    Raises
    ------
    InputError
        There is no such step.
    """
    names = [item.known.step.name for item in found.steps]
    wanted = name.strip().casefold()
    fits = [n for n in names if n.casefold() == wanted]
    fits = fits or [n for n in names if wanted and n.casefold().startswith(wanted)]
    if len(fits) != 1:
        raise InputError(
            "No single running-in step is called like this", given=name, allowed="; ".join(names)
        )
    return Work(DONE, (), {"step": fits[0]})


def progress_reading(what: str, value_si: float, typed: str) -> Reading:
    """A reading of the distance run or the running time [m, s].

    Raises
    ------
    InputError
        Negative, or another thing than these.
    """
    units = {DISTANCE: "m", DISTANCE_AT_START: "m", RUNNING: "s"}
    if what not in units:
        raise InputError("This says nothing about running in", given=what,
                         allowed=", ".join(units))  # fmt: skip
    if value_si < 0:
        raise InputError(f"The {what} cannot be negative", given=typed)
    return Reading(what, "", value_si, value_si, units[what], typed)
