"""Running-in steps: first mark, dates, limits."""

from datetime import date

import pytest

from tickover.errors import InputError
from tickover.physics import runningin
from tickover.physics.runningin import Reached, Step, Use

START = date(2024, 2, 26)


def test_first_mark_decides():
    step = Step("head", distance=1000e3, heat_cycles=3, days=30)
    (due,) = runningin.plan([step], START, Use(distance=100e3, heat_cycles=7))
    assert (due.on, due.because) == (date(2024, 2, 29), "heat cycles")


def test_two_weeks_are_fourteen_days():
    (due,) = runningin.plan([Step("oil", distance=0.3e6)], START, Use(distance=0.15e6))
    assert (due.on - START).days == 14


def test_part_of_a_day_counts_to_its_end():
    (due,) = runningin.plan([Step("oil", distance=0.1e6)], START, Use(distance=0.15e6))
    assert (due.on - START).days == 5  # 4.67


def test_unused_machine_only_gets_calendar_checks():
    steps = [Step("valves", distance=800e3), Step("drips", days=1)]
    dues = runningin.plan(steps, START, Use())
    assert [d.step.name for d in dues] == ["drips", "valves"]
    assert dues[0].on == date(2024, 2, 27)
    assert dues[1].on is None


def test_engine_time_counts():
    (due,) = runningin.plan([Step("oil", engine_time=3600.0)], START, Use(engine_time=1800.0))
    assert (due.on, due.because) == (date(2024, 3, 11), "running time")


def test_step_at_once_is_due_on_the_day():
    (due,) = runningin.plan([Step("look for leaks", heat_cycles=0)], START, Use())
    assert due.on == START


def test_beyond_the_calendar_is_refused():
    with pytest.raises(InputError, match="calendar"):
        runningin.plan([Step("valves", distance=1e12)], START, Use(distance=1.0))


@pytest.mark.parametrize(
    ("reached", "due"),
    [
        (Reached(), False),
        (Reached(distance=99e3, heat_cycles=1), False),
        (Reached(distance=100e3), True),
        (Reached(heat_cycles=2), True),
        (Reached(days=999, engine_time=1e9), False),
    ],
)
def test_any_mark_makes_a_step_due(reached, due):
    assert runningin.is_due(Step("head", distance=100e3, heat_cycles=2), reached) is due


def test_step_without_a_mark_or_with_a_negative_one_is_refused():
    with pytest.raises(InputError, match="mark"):
        Step("nothing")
    with pytest.raises(InputError, match="negative"):
        Step("head", days=-1)
    with pytest.raises(InputError):
        Use(distance=-1.0)
