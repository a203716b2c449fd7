"""Assignment: never worse than leaving everything, and what it says adds up."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.decide.assignment import AssignmentResult, assign

Case = dict[str, Any]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    n, m, k = draw(st.integers(1, 8)), draw(st.integers(0, 10)), draw(st.integers(0, 3))
    levels, groups = draw(st.integers(1, 5)), draw(st.integers(0, 4))
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    big = draw(st.sampled_from([2, 20, 10_000, 2**40]))
    return {
        "held": rng.integers(0, big, (levels, n, n)),
        "pool": rng.integers(0, big, (levels, n, m)),
        "counts": rng.integers(0, 3, m),
        "private": rng.integers(0, big, (levels, n, k)),
        "groups": [[i for i in range(n) if rng.random() < 0.5] for _ in range(groups)],
        "group_cost": rng.integers(0, big, (levels, groups)),
    }


def keeping(case: Case) -> tuple[int, ...]:
    return tuple(int(np.trace(level)) for level in case["held"])


@settings(max_examples=200, deadline=None)
@given(cases())
def test_never_worse_than_keeping_everything(case: Case) -> None:
    result = assign(**case)
    assert result.status == "optimal"
    assert result.totals <= keeping(case)


@settings(max_examples=200, deadline=None)
@given(cases())
def test_no_unit_is_used_twice_and_opened_groups_are_those_touched(case: Case) -> None:
    result: AssignmentResult = assign(**case)
    own = [c.index for c in result.choices if c.kind in ("kept", "held")]
    assert len(set(own)) == len(own)
    for option, count in enumerate(case["counts"]):
        taken = [c for c in result.choices if c.kind == "pool" and c.index == option]
        assert len(taken) <= count
    changed = {i for i, c in enumerate(result.choices) if c.kind != "kept"}
    assert all(c.index == i for i, c in enumerate(result.choices) if c.kind == "kept")
    touched = tuple(g for g, items in enumerate(case["groups"]) if changed.intersection(items))
    assert result.opened == touched


@settings(max_examples=100, deadline=None)
@given(cases())
def test_one_more_unit_in_the_pool_never_makes_it_worse(case: Case) -> None:
    more = case | {"counts": case["counts"] + 1}
    assert assign(**more).totals <= assign(**case).totals


@settings(max_examples=100, deadline=None)
@given(cases(), st.integers(0, 2**32))
def test_the_order_of_the_items_does_not_matter(case: Case, seed: int) -> None:
    n = case["held"].shape[1]
    order = np.random.default_rng(seed).permutation(n)
    place = np.argsort(order)
    shuffled = case | {
        "held": case["held"][:, order][:, :, order],
        "pool": case["pool"][:, order],
        "private": case["private"][:, order],
        "groups": [[int(place[i]) for i in items] for items in case["groups"]],
    }
    assert assign(**shuffled).totals == assign(**case).totals
