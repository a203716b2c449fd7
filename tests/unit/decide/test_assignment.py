"""Assignment: small cases worked out by hand; optimality is in tests/published."""

from __future__ import annotations

import numpy as np
import pytest

from tickover.decide import assignment
from tickover.decide.assignment import Choice, assign
from tickover.errors import InputError


def test_all_keep_when_keeping_is_best() -> None:
    result = assign([[[0, 5], [5, 0]]])
    assert result.choices == (Choice("kept", 0), Choice("kept", 1))
    assert result.totals == (0,)
    assert result.opened == ()


def test_unit_of_an_item_is_free_only_when_that_item_gives_it_up() -> None:
    # Item 0 wants the unit of item 1, which has nothing else to take.
    result = assign([[[9, 0], [99, 0]]])
    assert result.choices == (Choice("kept", 0), Choice("kept", 1))


def test_chain_through_the_pool_frees_a_unit() -> None:
    held = [[[9, 0], [99, 4]]]
    result = assign(held, pool=[[[9], [0]]])
    assert result.choices == (Choice("held", 1), Choice("pool", 0))
    assert result.totals == (0,)


def test_pool_option_is_used_no_more_often_than_it_lies_there() -> None:
    held = [[[5, 9, 9], [9, 6, 9], [9, 9, 7]]]
    pool = [[[0], [0], [0]]]
    assert assign(held, pool, counts=[2]).totals == (5,)
    assert assign(held, pool, counts=[0]).totals == (18,)
    assert assign(held, pool, counts=[7]).totals == (0,)


def test_bought_option_may_be_bought_for_several_items() -> None:
    result = assign([[[5, 9], [9, 5]]], private=[[[3, 1], [3, 1]]])
    assert result.choices == (Choice("bought", 1), Choice("bought", 1))


def test_first_level_outweighs_any_amount_of_the_second() -> None:
    held = [[[1]], [[0]]]
    private = [[[0]], [[2**40]]]
    assert assign(held, private=private).totals == (0, 2**40)


def test_group_is_opened_only_when_that_pays() -> None:
    held = [[[3, 9], [9, 3]]]
    private = [[[0], [0]]]
    shut = assign(held, private=private, groups=[[0, 1]], group_cost=[[7]])
    assert (shut.totals, shut.opened) == ((6,), ())
    paid = assign(held, private=private, groups=[[0, 1]], group_cost=[[5]])
    assert (paid.totals, paid.opened) == ((5,), (0,))


def test_item_in_two_groups_opens_both() -> None:
    result = assign([[[9]]], private=[[[0]]], groups=[[0], [0]], group_cost=[[2, 3]])
    assert (result.totals, result.opened) == ((5,), (0, 1))


def test_group_forced_open_by_a_unit_that_may_not_stay() -> None:
    result = assign(
        [[[0]]], private=[[[1]]], groups=[[0]], group_cost=[[100]], forbid_held=[[True]]
    )
    assert result.totals == (101,)


def test_nothing_allowed_is_a_result_not_an_error() -> None:
    result = assign([[[0, 0], [0, 0]]], forbid_held=[[True, True], [False, False]])
    assert result.status == "infeasible"
    assert result.choices == ()


def test_fewer_units_than_items_is_infeasible() -> None:
    held = np.zeros((1, 2, 2), dtype=int)
    assert assign(held, forbid_held=[[False, True], [False, True]]).status == "infeasible"


def test_no_items_cost_nothing() -> None:
    result = assign(np.zeros((2, 0, 0), dtype=int))
    assert (result.status, result.totals) == ("optimal", (0, 0))


def test_levels_too_wide_for_one_number_are_solved_in_stages(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The same optimum whether packed into one stage or split into one stage per level."""
    rng = np.random.default_rng(4)
    for _ in range(60):
        costs = rng.integers(0, 3, (4, 6, 6)), rng.integers(0, 3, (4, 6, 5))
        together = assign(*costs)
        with monkeypatch.context() as patch:
            patch.setattr(assignment, "_EXACT", 1)
            apart = assign(*costs)
        assert apart.solved_in == 4
        assert together.solved_in == 1
        assert apart.totals == together.totals


def test_differences_of_one_in_huge_costs_are_not_lost() -> None:
    """Four levels near 2**40 pack to far more than a double holds."""
    big = 2**40
    held = np.full((4, 2, 2), big)
    held[:, 0, 1] = held[:, 1, 0] = [0, big, big, big - 1]
    held[0] = [[0, 0], [0, 0]]
    result = assign(held)
    assert result.totals == (0, 2 * big, 2 * big, 2 * big - 2)
    assert result.choices == (Choice("held", 1), Choice("held", 0))


@pytest.mark.parametrize(
    ("held", "extra", "says"),
    [
        ([[[0.5]]], {}, "whole numbers"),
        ([[[2**41]]], {}, "too large"),
        ([[[0, 1]]], {}, "shape"),
        (np.zeros((1, 25, 25), dtype=int), {}, "24"),
        ([[[0]]], {"groups": [[1]]}, "unknown item"),
        ([[[0]]], {"groups": [[0]], "group_cost": [[-1]]}, "negative"),
        ([[[0]]], {"groups": [[0]] * 17}, "16"),
        ([[[0]]], {"pool": [[[0, 0]]], "counts": [1]}, "counts"),
        ([[[0]]], {"forbid_held": [[True, True]]}, "forbid_held"),
    ],
)
def test_bad_input_says_what_is_allowed(held: object, extra: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        assign(held, **extra)  # type: ignore[arg-type]
