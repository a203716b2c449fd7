"""Repair orders: hand-worked cases; brute force is in tests/published."""

from __future__ import annotations

import pytest

from tickover.decide.ordering import expected_minutes, repair_order
from tickover.errors import InputError


def test_cheap_and_likely_come_first() -> None:
    assert repair_order([0.2, 0.2, 0.6], [1.0, 10.0, 10.0]) == (0, 2, 1)


def test_independent_faults_go_by_odds_not_by_probability() -> None:
    """q/C is 0.100 and 0.091, odds/C is 0.143 and 0.182."""
    assert repair_order([0.3, 0.5], [3.0, 5.5]) == (0, 1)
    assert repair_order([0.3, 0.5], [3.0, 5.5], "independent") == (1, 0)


def test_expected_time_of_one_fault_by_hand() -> None:
    assert expected_minutes([0, 1], [0.6, 0.3], [10.0, 20.0], service_minutes=100.0) == (
        pytest.approx(10.0 + 0.4 * 20.0 + 0.1 * 100.0)
    )


def test_expected_time_of_independent_faults_by_hand() -> None:
    # States with a fault: a .25, b .25, both .25 -> thirds; b is tried unless only a was faulty.
    assert expected_minutes([0, 1], [0.5, 0.5], [10.0, 20.0], "independent") == (
        pytest.approx(10.0 + (2 / 3) * 20.0)
    )


def test_untried_independent_faults_leave_service() -> None:
    assert expected_minutes(
        [0], [0.5, 0.5], [10.0, 20.0], "independent", service_minutes=90.0
    ) == pytest.approx(10.0 + (2 / 3) * 90.0)


@pytest.mark.parametrize(
    ("p", "minutes", "faults"),
    [
        ([0.5, 0.6], [1.0, 1.0], "single"),
        ([1.5], [1.0], "independent"),
        ([0.5], [0.0], "single"),
        ([0.5], [1.0, 2.0], "single"),
        ([0.0], [1.0], "independent"),
    ],
)
def test_bad_numbers_are_refused(p: list[float], minutes: list[float], faults: str) -> None:
    with pytest.raises(InputError):
        repair_order(p, minutes, faults)  # type: ignore[arg-type]


def test_order_that_repeats_is_refused() -> None:
    with pytest.raises(InputError, match="once"):
        expected_minutes([0, 0], [0.5, 0.5], [1.0, 1.0])
