"""Faults of shared parts: held against the sum over every set of faults, own ones included."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tickover.decide.common_faults import Part, common_faults
from tickover.errors import InputError

OWN = [0.1, 0.3, 0.6]
OWN_PRIOR = 0.03
SLIP = 0.01


def _every_set(levels, parts):  # type: ignore[no-untyped-def]
    """Marginals by summing over all 2^(parts + items) sets of faults, one by one."""
    n = len(levels)
    total, per_part, per_item = 0.0, np.zeros(len(parts)), np.zeros(n)
    for faulty in product((0, 1), repeat=len(parts)):
        for broken in product((0, 1), repeat=n):
            weight = 1.0
            for part, bad in zip(parts, faulty, strict=True):
                weight *= part.prior if bad else 1.0 - part.prior
            for i, bad in enumerate(broken):
                weight *= OWN_PRIOR if bad else 1.0 - OWN_PRIOR
                if levels[i] is None:
                    continue
                cumulative = np.ones(3)
                if bad:
                    cumulative = cumulative * np.cumsum(OWN)
                for part, at_work in zip(parts, faulty, strict=True):
                    if at_work and i in part.items:
                        cumulative = cumulative * np.cumsum(part.hurts)
                at = np.diff(np.concatenate([[0.0], cumulative]))[levels[i]]
                weight *= (1.0 - SLIP) * at + SLIP / 3.0
            total += weight
            per_part += weight * np.array(faulty)
            per_item += weight * np.array(broken)
    return per_part / total, per_item / total


@pytest.mark.parametrize("seed", range(6))
def test_marginals_are_those_of_every_set_summed(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = 5
    parts = [
        Part(
            tuple(sorted(rng.choice(n, int(rng.integers(1, 4)), replace=False).tolist())),
            float(rng.uniform(0.005, 0.05)),
            tuple(rng.dirichlet([1.0, 1.0, 2.0]).tolist()),
        )
        for _ in range(3)
    ]
    levels = [None if rng.random() < 0.2 else int(rng.integers(0, 3)) for _ in range(n)]
    found = common_faults(levels, parts, [OWN] * n, [OWN_PRIOR] * n, SLIP)
    wanted_parts, wanted_items = _every_set(levels, parts)
    assert found.parts == pytest.approx(wanted_parts, abs=1e-9)
    assert found.items == pytest.approx(wanted_items, abs=1e-9)


def test_what_is_left_out_is_the_prior_of_four_and_more() -> None:
    parts = [Part((0,), 0.5, (0.0, 1.0))] * 4
    found = common_faults([0], parts, [[0.0, 1.0]], [0.01])
    assert found.left_out == pytest.approx(0.5**4)


def test_nothing_read_leaves_every_prior_as_it_was() -> None:
    found = common_faults(
        [None, None], [Part((0, 1), 0.02, (0.0, 1.0))], [[0.0, 1.0]] * 2, [0.1] * 2
    )
    assert found.items == pytest.approx([0.1, 0.1])
    assert found.parts == pytest.approx([0.02])


def test_levels_and_shapes_that_do_not_fit_are_told() -> None:
    with pytest.raises(InputError, match="no such level"):
        common_faults([2], [], [[0.0, 1.0]], [0.1])
    with pytest.raises(InputError, match="do not match"):
        common_faults([0, 0], [], [[0.0, 1.0]], [0.1])
    with pytest.raises(InputError, match="does not fit"):
        common_faults([0], [Part((0,), 0.0, (0.0, 1.0))], [[0.0, 1.0]], [0.1])
