"""Running in: which re-check falls due when, from how the machine is used."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from tickover.errors import InputError
from tickover.physics import guards

_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do while running in, due when the first of its marks is reached.

    Parameters
    ----------
    name : str
    distance : float or None
        Since the first start [m]
    engine_time : float or None
        [s]
    heat_cycles : int or None
        Warm and cold again.
    days : int or None

    Raises
    ------
    InputError
        Without any mark, or with a negative one.

    Examples
    --------
    >>> Step("re-torque the head", heat_cycles=2, distance=100e3).heat_cycles
    2
    """

    name: str
    distance: float | None = None
    engine_time: float | None = None
    heat_cycles: int | None = None
    days: int | None = None

    def __post_init__(self) -> None:
        marks = (self.distance, self.engine_time, self.heat_cycles, self.days)
        if all(mark is None for mark in marks):
            raise InputError(
                "A running-in step needs a mark",
                given=self.name,
                allowed="distance, running time, heat cycles or days",
            )
        for mark in marks:
            if mark is not None:
                guards.not_negative("A mark", float(mark))


@dataclass(frozen=True, slots=True)
class Use:
    """How much the machine is ridden in a week, as expected.

    Parameters
    ----------
    distance : float
        [m]
    engine_time : float
        [s]
    heat_cycles : float

    Raises
    ------
    InputError
        If one is negative.
    """

    distance: float = 0.0
    engine_time: float = 0.0
    heat_cycles: float = 0.0

    def __post_init__(self) -> None:
        guards.not_negative("Distance a week", self.distance, "m")
        guards.not_negative("Running time a week", self.engine_time, "s")
        guards.not_negative("Heat cycles a week", self.heat_cycles)


@dataclass(frozen=True, slots=True)
class Due:
    """A step with the day it is expected to fall due.

    Parameters
    ----------
    step : Step
    on : date or None
        None if the expected use never reaches it.
    because : str
        "distance", "running time", "heat cycles" or "days": the mark that comes first.
    """

    step: Step
    on: date | None
    because: str


def plan(steps: Iterable[Step], first_start: date, use: Use) -> tuple[Due, ...]:
    """Put dates to running-in steps.

    Parameters
    ----------
    steps : iterable of Step
    first_start : date
    use : Use

    Returns
    -------
    tuple of Due
        By date, steps of one day in the order given; those never reached come last.

    Raises
    ------
    InputError
        If a date would lie beyond the calendar.

    Notes
    -----
    Mark over weekly use, counted up to the full day on which it is reached; the earliest mark
    decides.

    Examples
    --------
    >>> steps = [Step("valve clearances", distance=800e3), Step("head bolts", heat_cycles=2)]
    >>> for due in plan(steps, date(2024, 4, 1), Use(distance=200e3, heat_cycles=4)):
    ...     print(due.on, due.step.name, "by", due.because)
    2024-04-05 head bolts by heat cycles
    2024-04-29 valve clearances by distance
    """
    dated = [_due(step, first_start, use) for step in steps]
    return tuple(sorted(dated, key=lambda due: due.on or date.max))


@dataclass(frozen=True, slots=True)
class Reached:
    """What the machine has done since its first start.

    Parameters
    ----------
    distance : float
        [m]
    engine_time : float
        [s]
    heat_cycles : int
    days : int
    """

    distance: float = 0.0
    engine_time: float = 0.0
    heat_cycles: int = 0
    days: int = 0


def is_due(step: Step, reached: Reached) -> bool:
    """Whether the first mark of a step has been reached.

    Parameters
    ----------
    step : Step
    reached : Reached

    Returns
    -------
    bool

    Notes
    -----
    Any one mark is enough; a mark counts from the moment it is reached.

    Examples
    --------
    >>> is_due(Step("head bolts", heat_cycles=2, distance=100e3), Reached(distance=120e3))
    True
    """
    pairs = (
        (step.distance, reached.distance),
        (step.engine_time, reached.engine_time),
        (step.heat_cycles, reached.heat_cycles),
        (step.days, reached.days),
    )
    return any(mark is not None and done >= mark for mark, done in pairs)


def _due(step: Step, first_start: date, use: Use) -> Due:
    marks = (
        ("distance", step.distance, use.distance),
        ("running time", step.engine_time, use.engine_time),
        ("heat cycles", step.heat_cycles, use.heat_cycles),
        ("days", step.days, _WEEK),
    )
    waits = [(_days(float(mark), weekly), name) for name, mark, weekly in marks if mark is not None]
    days, because = min(waits, key=lambda wait: wait[0])
    if math.isinf(days):
        return Due(step, None, because)
    try:
        return Due(step, first_start + timedelta(days=days), because)
    except OverflowError:
        raise InputError(
            "This step lies beyond the calendar", given=step.name, allowed="more use in a week"
        ) from None


def _days(mark: float, weekly: float) -> float:
    if mark == 0.0:
        return 0.0
    if weekly == 0.0:
        return math.inf
    wait = mark / weekly * _WEEK
    if math.isinf(wait):
        return wait
    # 9 digits: two weeks must not become fifteen days by the last bit of a division
    return float(math.ceil(round(wait, 9)))
