"""The assignment optimum against brute force and against HiGHS.

References: complete enumeration, and the HiGHS mixed-integer solver through scipy.optimize.milp,
run level by level with the optimum of each level as a constraint on the next.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array, vstack

from tickover.decide import assignment
from tickover.decide.assignment import AssignmentResult, assign

Case = dict[str, Any]


def random_case(rng: np.random.Generator, n: int, m: int, k: int, groups: int, big: int) -> Case:
    levels = int(rng.integers(1, 6))
    low = -big if rng.random() < 0.3 else 0

    def costs(*shape: int) -> NDArray[np.int64]:
        return rng.integers(low, big, (levels, *shape))

    return {
        "held": costs(n, n),
        "pool": costs(n, m),
        "counts": rng.integers(0, 3, m),
        "private": costs(n, k),
        "groups": [
            [int(i) for i in rng.choice(n, rng.integers(1, n + 1), replace=False)]
            for _ in range(groups)
        ],
        "group_cost": rng.integers(0, big, (levels, groups)),
        "forbid_held": rng.random((n, n)) < 0.25,
        "forbid_pool": rng.random((n, m)) < 0.25,
        "forbid_private": rng.random((n, k)) < 0.25,
    }


def price(case: Case, choice: tuple[tuple[str, int], ...]) -> tuple[int, ...] | None:
    """Totals of one complete choice, or None if it uses a unit twice."""
    held = [j for kind, j in choice if kind == "held"]
    if len(set(held)) < len(held):
        return None
    taken = [j for kind, j in choice if kind == "pool"]
    if any(taken.count(j) > case["counts"][j] for j in set(taken)):
        return None
    changed = {i for i, (kind, j) in enumerate(choice) if (kind, j) != ("held", i)}
    opened = [g for g, items in enumerate(case["groups"]) if changed.intersection(items)]
    totals = []
    for level in range(len(case["held"])):
        total = sum(int(case[kind][level, i, j]) for i, (kind, j) in enumerate(choice))
        totals.append(total + sum(int(case["group_cost"][level, g]) for g in opened))
    return tuple(totals)


def by_enumeration(case: Case) -> tuple[int, ...] | None:
    n = case["held"].shape[1]
    options: list[list[tuple[str, int]]] = [
        [
            (kind, j)
            for kind in ("held", "pool", "private")
            for j in range(case[kind].shape[2])
            if not case[f"forbid_{kind}"][i, j]
        ]
        for i in range(n)
    ]
    totals = (price(case, choice) for choice in itertools.product(*options))
    return min((t for t in totals if t is not None), default=None)


def by_highs(case: Case) -> tuple[int, ...] | None:
    levels, n, _ = case["held"].shape
    kinds = ("held", "pool", "private")
    sizes = [case[kind].shape[2] for kind in kinds]
    wide, number = sum(sizes), len(case["groups"])
    variables = n * wide + number
    costs = np.concatenate([case[kind] for kind in kinds], axis=2).reshape(levels, -1)
    costs = np.concatenate([costs, case["group_cost"]], axis=1).astype(float)
    upper = np.ones(variables)
    upper[: n * wide] = ~np.concatenate([case[f"forbid_{kind}"] for kind in kinds], axis=1).reshape(
        -1
    )
    rows: list[tuple[list[int], list[float], float, float]] = []
    for i in range(n):
        rows.append(([i * wide + j for j in range(wide)], [1.0] * wide, 1.0, 1.0))
    limits = [*([1.0] * n), *(float(c) for c in case["counts"])]
    for j, limit in enumerate(limits):
        rows.append(([i * wide + j for i in range(n)], [1.0] * n, 0.0, limit))
    for g, items in enumerate(case["groups"]):
        for i in items:  # changed = 1 - kept <= opened
            rows.append(([i * wide + i, n * wide + g], [1.0, 1.0], 1.0, np.inf))
    matrix = csr_array(
        coo_array(
            (
                [v for _, values, _, _ in rows for v in values],
                (
                    [r for r, (columns, *_) in enumerate(rows) for _ in columns],
                    [c for columns, *_ in rows for c in columns],
                ),
            ),
            shape=(len(rows), variables),
        )
    )
    least, most = [row[2] for row in rows], [row[3] for row in rows]
    totals: list[int] = []
    for cost in costs:
        solved = milp(
            cost,
            constraints=LinearConstraint(matrix, least, most),
            integrality=np.ones(variables),
            bounds=Bounds(0.0, upper),
            options={"mip_rel_gap": 0.0},
        )
        if solved.status == 2:
            return None
        assert solved.status == 0, solved.message
        totals.append(round(solved.fun))
        matrix = vstack([matrix, csr_array(cost[None, :])], format="csr")
        least, most = [*least, -np.inf], [*most, totals[-1] + 0.5]
    return tuple(totals)


def assert_honest(case: Case, result: AssignmentResult) -> None:
    """The choices returned are allowed and cost what the result says."""
    names = {"kept": "held", "held": "held", "pool": "pool", "bought": "private"}
    choice = tuple((names[c.kind], c.index) for c in result.choices)
    for i, (kind, j) in enumerate(choice):
        assert not case[f"forbid_{kind}"][i, j]
    assert price(case, choice) == result.totals


def small_cases() -> Iterator[Case]:
    rng = np.random.default_rng(11)
    for number in range(400):
        n, m, k = int(rng.integers(1, 5)), int(rng.integers(0, 4)), int(rng.integers(0, 3))
        big = (2, 5, 50, 2**39)[number % 4]
        yield random_case(rng, n, m, k, int(rng.integers(0, 4)), big)


@pytest.mark.parametrize("exact", [assignment._EXACT, 1])
def test_agrees_with_enumeration_packed_and_in_stages(
    exact: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """400 random cases, a good part infeasible; a limit of 1 forces one stage per level."""
    monkeypatch.setattr(assignment, "_EXACT", exact)
    infeasible = 0
    for case in small_cases():
        expected, result = by_enumeration(case), assign(**case)
        if expected is None:
            infeasible += 1
            assert result.status == "infeasible"
        else:
            assert result.totals == expected
            assert_honest(case, result)
    assert 0 < infeasible < 100


def test_agrees_with_lexicographic_highs() -> None:
    """24 random cases of 4 to 12 items, pool up to 40, up to three groups."""
    rng = np.random.default_rng(12)
    for _ in range(24):
        n, m = int(rng.integers(4, 13)), int(rng.integers(0, 41))
        case = random_case(rng, n, m, 3, int(rng.integers(0, 4)), int(rng.choice([3, 30, 1000])))
        expected, result = by_highs(case), assign(**case)
        assert result.status == ("infeasible" if expected is None else "optimal")
        if expected is not None:
            assert result.totals == expected
            assert_honest(case, result)


def test_sixteen_groups_agree_with_highs() -> None:
    rng = np.random.default_rng(13)
    case = random_case(rng, 16, 20, 2, 0, 20)
    case["groups"] = [[i] for i in range(16)]
    case["group_cost"] = rng.integers(0, 10, (len(case["held"]), 16))
    assert assign(**case).totals == by_highs(case)
