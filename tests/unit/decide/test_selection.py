"""One option for each item at least cost: held against trying every choice."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tickover.decide.selection import Selection, select
from tickover.errors import InputError


def _every(costs, weights, rows, limits):  # type: ignore[no-untyped-def]
    """Least cost over all choices that fit; None where none does."""
    best = None
    for chosen in product(*(range(len(c)) for c in costs)):
        if all(
            sum(weights[i][chosen[i]] for i in row) <= limit
            for row, limit in zip(rows, limits, strict=True)
        ):
            cost = sum(c[j] for c, j in zip(costs, chosen, strict=True))
            best = cost if best is None else min(best, cost)
    return best


@pytest.mark.parametrize("seed", range(25))
def test_least_cost_is_that_of_every_choice_tried(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 6))
    costs = [np.sort(rng.uniform(1, 9, int(rng.integers(2, 5)))) for _ in range(n)]
    weights = [np.sort(rng.uniform(0.1, 3, len(c)))[::-1] for c in costs]
    rows = [sorted(set(rng.integers(0, n, int(rng.integers(1, n + 1))).tolist())) for _ in range(3)]
    limits = [float(rng.uniform(0.3, 1.0) * sum(weights[i][0] for i in row)) for row in rows]
    found = select(costs, weights, rows, limits)
    best = _every(costs, weights, rows, limits)
    if best is None:
        assert found.status == "nothing fits"
        return
    assert found.status == "optimal"
    assert found.cost == pytest.approx(best, rel=1e-6)
    for row, limit in zip(rows, limits, strict=True):
        assert sum(weights[i][found.options[i]] for i in row) <= limit * (1 + 1e-6)


def test_what_fits_already_is_not_searched() -> None:
    one = np.array([1.0, 2.0])
    assert select([one], [np.array([3.0, 1.0])], [[0]], [5.0]) == Selection((0,), 1.0, "optimal", 0)


def test_shapes_that_do_not_match_are_told() -> None:
    with pytest.raises(InputError, match="do not match"):
        select([np.ones(2)], [np.ones(3)], [], [])
    with pytest.raises(InputError, match="needs a limit"):
        select([np.ones(2)], [np.ones(2)], [[0]], [])
