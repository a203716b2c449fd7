"""Interval readings against limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tickover.decide.intervals import (
    judge,
    probability_below,
    probability_bounds,
    probability_inside,
)
from tickover.errors import InputError

INF = math.inf


def test_without_spread_the_share_of_the_interval_counts() -> None:
    assert float(probability_inside(5.0, 7.0, 6.5, 7.5)) == 0.5
    assert float(probability_inside(5.0, 7.0, 5.0, 7.0)) == 1.0
    assert float(probability_inside(5.0, 7.0, 4.0, 8.0)) == 0.5
    assert float(probability_inside(5.0, 7.0, 8.0, 9.0)) == 0.0


def test_a_point_on_a_limit_is_inside() -> None:
    assert float(probability_inside(5.0, 7.0, 5.0, 5.0)) == 1.0
    assert float(probability_inside(5.0, 7.0, 7.0, 7.0)) == 1.0


def test_vanishing_spread_and_width_join_without_a_step() -> None:
    """The series for narrow intervals meets the difference quotient where they change over."""
    for z in (-3.0, -0.4, 0.0, 1.1, 2.7):
        narrow = float(probability_below(z, -0.4999e-4, 0.4999e-4, 1.0))
        wide = float(probability_below(z, -0.5001e-4, 0.5001e-4, 1.0))
        assert narrow == pytest.approx(wide, abs=1e-11)
    tiny = float(probability_below(6.5, 5.0, 7.0, 1e-9))
    assert tiny == pytest.approx(0.75, abs=1e-8)


def test_infinite_limits_give_one_sided_probabilities() -> None:
    one = float(probability_inside(-INF, 6.0, 5.0, 7.0, 0.3))
    assert one == pytest.approx(float(probability_below(6.0, 5.0, 7.0, 0.3)))
    assert float(probability_inside(-INF, INF, 5.0, 7.0, 0.3)) == 1.0
    assert float(probability_below(-INF, 5.0, 7.0, 0.3)) == 0.0


def test_arrays_broadcast() -> None:
    low = np.array([4.0, 5.0, 6.0])
    p = probability_inside(4.0, 6.0, low, low + 1.0, np.array([[0.0], [0.1]]))
    assert p.shape == (2, 3)
    assert p[0].tolist() == [1.0, 1.0, 0.0]


def test_one_sided_reading_needs_a_reach_and_says_so() -> None:
    with pytest.raises(InputError, match="reach"):
        probability_inside(4.0, 6.0, -INF, 5.0)
    assert float(probability_inside(4.0, 6.0, -INF, 5.0, reach=4.0)) == 0.25
    assert float(probability_inside(4.0, 6.0, 5.0, INF, reach=4.0)) == 0.25


def test_bounds_enclose_every_place_in_the_reading() -> None:
    low, high = probability_bounds(4.0, 6.0, 5.0, 7.0, 0.3)
    places = np.linspace(5.0, 7.0, 201)
    inside = probability_inside(4.0, 6.0, places, places, 0.3)
    assert low == pytest.approx(float(inside.min()))
    assert high == pytest.approx(float(inside.max()))


@pytest.mark.parametrize(
    ("lower", "upper", "low", "high", "expected"),
    [
        (4.0, 6.0, -INF, 3.0, (0.0, 0.0)),
        (4.0, 6.0, -INF, INF, (0.0, 1.0)),
        (-INF, 6.0, -INF, 5.0, (1.0, 1.0)),
        (-INF, 6.0, 7.0, INF, (0.0, 0.0)),
        (4.0, INF, -INF, 5.0, (0.0, 1.0)),
        (4.0, INF, 5.0, INF, (1.0, 1.0)),
        (-INF, INF, -INF, INF, (1.0, 1.0)),
    ],
)
def test_bounds_of_readings_that_are_only_bounds(
    lower: float, upper: float, low: float, high: float, expected: tuple[float, float]
) -> None:
    assert probability_bounds(lower, upper, low, high) == expected


@pytest.mark.parametrize(
    ("low", "high", "guard", "verdict"),
    [
        (5.0, 7.0, 0.0, "in"),
        (5.0, 7.0, 0.1, "undecided"),
        (5.2, 6.8, 0.1, "in"),
        (4.0, 5.0, 0.0, "out"),
        (4.0, 5.0, 0.1, "undecided"),
        (4.0, 4.9, 0.1, "out"),
        (7.0, 8.0, 0.0, "out"),
        (6.5, 7.5, 0.0, "undecided"),
        (-INF, 5.0, 0.0, "out"),
        (-INF, 5.5, 0.0, "undecided"),
        (6.0, INF, 0.0, "undecided"),
        (7.0, INF, 0.0, "out"),
    ],
)
def test_verdicts_with_and_without_guard_band(
    low: float, high: float, guard: float, verdict: str
) -> None:
    """ISO 14253-1, the idea: proven only when the whole uncertain range is on one side."""
    assert judge(low, high, 5.0, 7.0, guard) == verdict


@pytest.mark.parametrize(
    "arguments",
    [
        (5.0, 7.0, 6.0, 5.0, 0.0),
        (7.0, 5.0, 5.0, 6.0, 0.0),
        (5.0, 7.0, 5.0, 6.0, -0.1),
        (5.0, math.nan, 5.0, 6.0, 0.1),
    ],
)
def test_impossible_numbers_are_refused(
    arguments: tuple[float, float, float, float, float],
) -> None:
    with pytest.raises(InputError):
        probability_inside(*arguments)
