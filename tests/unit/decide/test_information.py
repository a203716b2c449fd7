"""Worth of checks against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tickover.decide.information import (
    entropy,
    information,
    rank_checks,
    remedy_gain,
    stack,
)
from tickover.errors import InputError


def h2(p: float) -> float:
    return -p * math.log2(p) - (1 - p) * math.log2(1 - p)


@pytest.mark.parametrize("slip", [0.01, 0.11, 0.3])
def test_two_even_hypotheses_through_a_noisy_check_give_one_minus_h(slip: float) -> None:
    """Binary symmetric channel, Cover and Thomas 2nd ed., section 7.1.4: C = 1 - H(p)."""
    table = [[1 - slip, slip], [slip, 1 - slip]]
    assert information([1, 1], stack([table], 2))[0] == pytest.approx(1 - h2(slip), abs=1e-12)


@pytest.mark.parametrize("lost", [0.1, 0.5])
def test_check_that_sometimes_says_nothing_gives_the_rest(lost: float) -> None:
    """Binary erasure channel, Cover and Thomas 2nd ed., section 7.1.5: C = 1 - alpha."""
    table = [[1 - lost, 0], [lost, lost], [0, 1 - lost]]
    assert information([1, 1], stack([table], 2))[0] == pytest.approx(1 - lost, abs=1e-12)


def test_perfect_check_gives_all_the_entropy() -> None:
    p = [0.5, 0.25, 0.125, 0.125]
    assert entropy(p) == pytest.approx(1.75)
    assert information(p, stack([np.eye(4)], 4))[0] == pytest.approx(1.75)


def test_information_is_entropy_before_minus_expected_entropy_after() -> None:
    rng = np.random.default_rng(2)
    p = rng.dirichlet(np.ones(7))
    table = rng.dirichlet(np.ones(3), 7).T
    outcome = table @ p
    after = sum(outcome[o] * entropy(table[o] * p / outcome[o]) for o in range(3))
    assert information(p, stack([table], 7))[0] == pytest.approx(entropy(p) - after, abs=1e-12)


def test_gain_counts_only_what_changes_the_remedy() -> None:
    # The check is informative, but whatever it says the first remedy stays the best.
    table = [[0.6, 0.4], [0.4, 0.6]]
    stacked = stack([table], 2)
    assert information([0.9, 0.1], stacked)[0] > 0.0
    assert remedy_gain([0.9, 0.1], stacked)[0] == pytest.approx(0.0, abs=1e-12)


def test_gain_uses_the_success_table() -> None:
    # One remedy is right for both hypotheses: nothing left to gain.
    stacked = stack([np.eye(2)], 2)
    assert remedy_gain([0.5, 0.5], stacked, [[1, 1]])[0] == 0.0
    assert remedy_gain([0.5, 0.5], stacked, [[1.0, 0.0], [0.0, 0.5]])[0] == pytest.approx(0.25)


def test_ranking_is_by_what_was_asked_for() -> None:
    poor, perfect = [[0.7, 0.3], [0.3, 0.7]], np.eye(2)
    per_minute = rank_checks([1, 1], [poor, perfect], [1.0, 20.0])
    assert [value.check for value in per_minute] == [0, 1]
    by_gain = rank_checks([1, 1], [poor, perfect], [1.0, 20.0], by="gain")
    assert [value.check for value in by_gain] == [1, 0]
    assert by_gain[0].gain == pytest.approx(0.5)
    assert by_gain[0].outcomes == pytest.approx((0.5, 0.5))


def test_no_checks_give_an_empty_ranking() -> None:
    assert rank_checks([1.0], [], []) == ()


@pytest.mark.parametrize(
    ("p", "table", "minutes"),
    [
        ([0.0, 0.0], np.eye(2), 1.0),
        ([-1.0, 2.0], np.eye(2), 1.0),
        ([1.0, 1.0], [[0.5, 0.5], [0.4, 0.5]], 1.0),
        ([1.0, 1.0], np.eye(3), 1.0),
        ([1.0, 1.0], np.eye(2), 0.0),
    ],
)
def test_bad_numbers_are_refused(p: list[float], table: object, minutes: float) -> None:
    with pytest.raises(InputError):
        rank_checks(p, [table], [minutes])  # type: ignore[list-item]
