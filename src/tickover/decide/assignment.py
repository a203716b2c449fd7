"""Exact assignment of units to items under several costs in strict order of importance.

Every item ends with one unit: its own, one given up by another item, one from a pool with
counts, or one bought for it alone. Level 0 of the cost is minimised first, level 1 among the
optima of level 0, and so on. Changing any item of a group costs that group once.

Without groups this is a rectangular assignment, solved by shortest augmenting paths in double
precision. Whole-number costs of several levels are packed into one number while the packed total
stays below 2**51 (whole numbers are exact below 2**53; the factor of four covers the solver's
dual variables). What does not fit is solved next on what is left: by complementary slackness the
optima of a stage are exactly the assignments that use only tight pairs and all columns with a
negative dual, so the next stage keeps those pairs and rewards those columns. Groups are settled
around it by branch and bound: a group not yet decided costs nothing, which is a lower bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

MOST_ITEMS = 24
MOST_GROUPS = 16
LARGEST_COST = 2**40
_EXACT = 2**51

Kind = Literal["kept", "held", "pool", "bought"]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Choice:
    """Where an item's unit comes from.

    Parameters
    ----------
    kind : {'kept', 'held', 'pool', 'bought'}
        Its own unit, the unit another item gives up, one from the pool, one bought for it.
    index : int
        The item that held it (itself when kept), the pool option, or the private option.
    """

    kind: Kind
    index: int


@dataclass(frozen=True, slots=True)
class AssignmentResult:
    """The optimum, or that there is none.

    Parameters
    ----------
    status : {'optimal', 'infeasible'}
    choices : tuple of Choice
        One per item; empty when infeasible.
    totals : tuple of int
        Sum of the chosen costs per level, group costs included; empty when infeasible.
    opened : tuple of int
        Groups with at least one changed item, ascending.
    solved_in : int
        How many plain assignment problems it took.
    """

    status: Literal["optimal", "infeasible"]
    choices: tuple[Choice, ...]
    totals: tuple[int, ...]
    opened: tuple[int, ...]
    solved_in: int


def assign(
    held: ArrayLike,
    pool: ArrayLike | None = None,
    counts: ArrayLike | None = None,
    private: ArrayLike | None = None,
    *,
    groups: Sequence[Sequence[int]] = (),
    group_cost: ArrayLike | None = None,
    forbid_held: ArrayLike | None = None,
    forbid_pool: ArrayLike | None = None,
    forbid_private: ArrayLike | None = None,
) -> AssignmentResult:
    """Assign one unit to every item at the lexicographically least total cost, exactly.

    Parameters
    ----------
    held : int array, shape (levels, n, n)
        Cost of giving item i the unit that item j holds now; the diagonal is keeping. Level 0
        counts first [whole numbers, at most 2**40]
    pool : int array, shape (levels, n, m), optional
        Cost of giving item i a unit of pool option j [as held]
    counts : int array, shape (m,), optional
        How many units of each pool option there are; one each when left out.
    private : int array, shape (levels, n, k), optional
        Cost of options that can always be bought, as often as wanted; the best is taken per item.
    groups : sequence of sequences of int
        Items per group, at most 16 groups. An item in no group is changed without opening any.
    group_cost : int array, shape (levels, groups), optional
        Added once when any item of the group is changed; never negative; nothing when left out.
    forbid_held, forbid_pool, forbid_private : bool array, optional
        Pairs that are not allowed, shapes (n, n), (n, m), (n, k).

    Returns
    -------
    AssignmentResult
        `status` is 'infeasible' when no allowed assignment exists.

    Raises
    ------
    InputError
        If shapes disagree, costs are not whole numbers or beyond 2**40, or there are more than
        24 items or 16 groups.

    Notes
    -----
    Method: H. W. Kuhn, 'The Hungarian method for the assignment problem', Naval Research
    Logistics Quarterly 2 (1955) 83-97, in the rectangular shortest-path form of D. F. Crouse,
    'On implementing 2D rectangular assignment algorithms', IEEE Transactions on Aerospace and
    Electronic Systems 52 (2016) 1679-1696, which scipy.optimize.linear_sum_assignment follows.
    Checked in tests/published/test_assignment_against_solvers.py.

    Examples
    --------
    Two items hold each other's units; exchanging them costs two changes and buys nothing:

    >>> fit, changes = [[9, 0], [0, 9]], [[0, 1], [1, 0]]
    >>> result = assign([fit, changes], private=[[[0], [0]], [[5], [5]]])
    >>> [(choice.kind, choice.index) for choice in result.choices], result.totals
    ([('held', 1), ('held', 0)], (0, 2))
    """
    problem = _problem(
        held, pool, counts, private, groups, group_cost, forbid_held, forbid_pool, forbid_private
    )
    return _Search(problem).run()


@dataclass(frozen=True, slots=True)
class _Problem:
    """Validated costs with one column per unit: held by items, pool copies, bought."""

    cost: Ints  # (levels, n, columns)
    allowed: Bools  # (n, columns)
    kinds: tuple[Choice, ...]  # what each held or pool column is
    bought: Ints  # (n,) best private option, -1 for none
    groups: tuple[tuple[int, ...], ...]  # groups of each item
    group_cost: tuple[tuple[int, ...], ...]  # (groups, levels)


def _integers(value: ArrayLike, name: str, shape: tuple[int | None, ...]) -> Ints:
    array = np.asarray(value)
    if array.size == 0:
        array = array.astype(np.int64)
    if array.dtype.kind not in "iu":
        raise InputError(
            f"The costs in {name} must be whole numbers",
            given=str(array.dtype),
            instead="costs multiplied up and rounded to integers",
        )
    fits = array.ndim == len(shape) and all(
        want is None or want == have for want, have in zip(shape, array.shape, strict=False)
    )
    if not fits:
        raise InputError(
            f"The shape of {name} does not fit",
            given=str(array.shape),
            allowed=str(tuple("any" if want is None else want for want in shape)),
        )
    if array.size and max(int(array.max()), -int(array.min())) > LARGEST_COST:
        raise InputError(f"A number in {name} is too large", allowed="at most 2**40")
    return array.astype(np.int64)


def _allowed(forbidden: ArrayLike | None, name: str, shape: tuple[int, int]) -> Bools:
    if forbidden is None:
        return np.ones(shape, dtype=np.bool_)
    array = np.asarray(forbidden, dtype=np.bool_)
    if array.shape != shape:
        raise InputError(
            f"The shape of {name} does not fit", given=str(array.shape), allowed=str(shape)
        )
    return ~array


def _problem(
    held: ArrayLike,
    pool: ArrayLike | None,
    counts: ArrayLike | None,
    private: ArrayLike | None,
    groups: Sequence[Sequence[int]],
    group_cost: ArrayLike | None,
    forbid_held: ArrayLike | None,
    forbid_pool: ArrayLike | None,
    forbid_private: ArrayLike | None,
) -> _Problem:
    own = _integers(held, "held", (None, None, None))
    levels, n, _ = own.shape
    own = _integers(own, "held", (levels, n, n))
    if n > MOST_ITEMS:
        raise InputError("Too many items", given=str(n), allowed=f"at most {MOST_ITEMS}")
    empty = np.zeros((levels, n, 0), dtype=np.int64)
    stock = _integers(empty if pool is None else pool, "pool", (levels, n, None))
    m = stock.shape[2]
    copies = _integers(np.ones(m, np.int64) if counts is None else counts, "counts", (m,))
    shop = _integers(empty if private is None else private, "private", (levels, n, None))
    may_hold = _allowed(forbid_held, "forbid_held", (n, n))
    may_take = _allowed(forbid_pool, "forbid_pool", (n, m))
    may_buy = _allowed(forbid_private, "forbid_private", (n, shop.shape[2]))

    # The best private option of each item, and what it is worth to it.
    bought, price = _best(shop, may_buy)
    # A unit that is no better than what can always be bought is never needed (keeping may be:
    # it opens no group).
    stays = np.eye(n, dtype=np.bool_)
    may_hold &= stays | _better(own, price, bought)
    may_take &= _better(stock, price, bought)
    useful = np.minimum(copies, may_take.sum(axis=0))
    repeat = np.repeat(np.arange(m), np.maximum(useful, 0))
    own_columns = [Choice("held", j) for j in range(n)]
    return _Problem(
        cost=np.concatenate([own, stock[:, :, repeat], _diagonal(price)], axis=2),
        allowed=np.concatenate([may_hold, may_take[:, repeat], stays & (bought >= 0)], axis=1),
        kinds=(*own_columns, *(Choice("pool", int(j)) for j in repeat)),
        bought=bought,
        **_grouping(groups, group_cost, levels, n),
    )


def _grouping(
    groups: Sequence[Sequence[int]], group_cost: ArrayLike | None, levels: int, n: int
) -> dict[str, Any]:
    number = len(groups)
    if number > MOST_GROUPS:
        raise InputError("Too many groups", given=str(number), allowed=f"at most {MOST_GROUPS}")
    prices = np.zeros((levels, number), np.int64) if group_cost is None else group_cost
    costs = _integers(prices, "group_cost", (levels, number))
    if costs.size and costs.min() < 0:
        raise InputError("A group cost cannot be negative", given=str(int(costs.min())))
    for items in groups:
        if any(not 0 <= item < n for item in items):
            raise InputError(
                "A group names an unknown item", given=str(list(items)), allowed=f"0 to {n - 1}"
            )
    return {
        "groups": tuple(tuple(g for g in range(number) if i in groups[g]) for i in range(n)),
        "group_cost": tuple(tuple(int(c) for c in costs[:, g]) for g in range(number)),
    }


def _best(cost: Ints, allowed: Bools) -> tuple[Ints, Ints]:
    """Lexicographically least allowed column per row (-1 for none) and its costs (levels, n)."""
    levels, n, k = cost.shape
    if k == 0:
        return np.full(n, -1, dtype=np.int64), np.zeros((levels, n), dtype=np.int64)
    left = allowed.copy()
    for level in cost:
        shown = np.where(left, level, 2 * LARGEST_COST)
        left &= shown == shown.min(axis=1, keepdims=True)
    column = np.where(allowed.any(axis=1), left.argmax(axis=1), -1).astype(np.int64)
    return column, np.where(column >= 0, cost[:, np.arange(n), column], 0)


def _better(cost: Ints, price: Ints, bought: Ints) -> Bools:
    """Where a cost vector is lexicographically below the item's best private one."""
    better = np.zeros(cost.shape[1:], dtype=np.bool_)
    equal = np.ones(cost.shape[1:], dtype=np.bool_)
    for level, limit in zip(cost, price, strict=True):
        better |= equal & (level < limit[:, None])
        equal &= level == limit[:, None]
    result: Bools = better | (bought < 0)[:, None]
    return result


def _diagonal(price: Ints) -> Ints:
    levels, n = price.shape
    wide = np.zeros((levels, n, n), dtype=np.int64)
    wide[:, np.arange(n), np.arange(n)] = price
    return wide


class _Search:
    """Branch and bound over the groups, one plain (staged) assignment per node."""

    def __init__(self, problem: _Problem) -> None:
        self.problem = problem
        self.levels, self.n, self.columns = problem.cost.shape
        self.solved = 0
        self.best: tuple[int, ...] | None = None
        self.columns_of_best: list[int] = []
        self.stages = self._stages() if self.n else []

    def _stages(self) -> list[tuple[slice, Floats, int]]:
        """Consecutive levels packed into exact numbers: (levels, packed cost, largest total)."""
        allowed = self.problem.allowed
        shifted: list[Ints] = []
        spans: list[int] = []
        for level in self.problem.cost:
            floor = np.where(allowed, level, 2 * LARGEST_COST).min(axis=1, keepdims=True)
            # One constant per row is paid by every assignment, so it changes no comparison.
            relative = np.where(allowed, level - floor, 0)
            step = int(np.gcd.reduce(relative, axis=None)) if relative.size else 0
            relative = relative // max(step, 1)
            shifted.append(relative)
            spans.append(int(relative.max(axis=1).sum()) if relative.size else 0)
        stages: list[tuple[slice, Floats, int]] = []
        first = 0
        while first < self.levels:
            packed, total, last = shifted[first], spans[first], first + 1
            while last < self.levels:
                wider = (total + 1) * (spans[last] + 1)
                if wider * (self.n + 2) > _EXACT:  # room for the rewards of the stage before
                    break
                packed = packed * (spans[last] + 1) + shifted[last]
                total, last = wider - 1, last + 1
            cost = np.where(allowed, packed.astype(np.float64), np.inf)
            stages.append((slice(first, last), cost, total))
            first = last
        return stages

    def run(self) -> AssignmentResult:
        if self.n:
            self._branch(frozenset(), frozenset())
        else:
            self.best = (0,) * self.levels
        if self.best is None:
            return AssignmentResult("infeasible", (), (), (), self.solved)
        choices = tuple(self._choice(i, c) for i, c in enumerate(self.columns_of_best))
        opened = tuple(sorted(self._touched(self.columns_of_best)))
        return AssignmentResult("optimal", choices, self.best, opened, self.solved)

    def _choice(self, item: int, column: int) -> Choice:
        if column == item:
            return Choice("kept", item)
        if column < len(self.problem.kinds):
            return self.problem.kinds[column]
        return Choice("bought", int(self.problem.bought[item]))

    def _touched(self, columns: Sequence[int]) -> set[int]:
        return {g for i, c in enumerate(columns) if c != i for g in self.problem.groups[i]}

    def _with_groups(self, totals: Sequence[int], groups: frozenset[int]) -> tuple[int, ...]:
        costs = [self.problem.group_cost[g] for g in groups]
        return tuple(t + sum(c[level] for c in costs) for level, t in enumerate(totals))

    def _branch(self, opened: frozenset[int], closed: frozenset[int]) -> None:
        columns = self._relaxed(opened, closed)
        if columns is None:
            return
        items = np.arange(self.n)
        totals = [int(level[items, columns].sum()) for level in self.problem.cost]
        if self.best is not None and self._with_groups(totals, opened) >= self.best:
            return
        touched = self._touched(columns)
        actual = self._with_groups(totals, frozenset(touched))
        if self.best is None or actual < self.best:
            self.best, self.columns_of_best = actual, columns
        undecided = sorted(touched - opened)
        if undecided and self._with_groups(totals, opened) < actual:
            group = undecided[0]
            self._branch(opened | {group}, closed)
            self._branch(opened, closed | {group})

    def _relaxed(self, opened: frozenset[int], closed: frozenset[int]) -> list[int] | None:
        """Optimum with undecided groups free of charge, or None if there is nothing better."""
        from scipy.optimize import linear_sum_assignment

        still = np.array([bool(closed.intersection(g)) for g in self.problem.groups])
        fixed, moving = np.flatnonzero(still), np.flatnonzero(~still)
        if not self.problem.allowed[fixed, fixed].all():
            return None
        keep = np.ones(self.columns, dtype=np.bool_)
        keep[fixed] = False
        usable = np.flatnonzero(keep & self.problem.allowed[moving].any(axis=0))
        if len(usable) < len(moving):
            return None
        columns = np.arange(self.n)
        tight, must = np.ones((len(moving), len(usable)), dtype=np.bool_), None
        for number, (which, packed, total) in enumerate(self.stages):
            if not len(moving):
                break
            cost = np.where(tight, packed[np.ix_(moving, usable)], np.inf)
            if must is not None:
                cost = cost - (total + 1) * must
            self.solved += 1
            try:
                _, found = linear_sum_assignment(cost)
            except ValueError:  # scipy's way to say that no allowed assignment exists
                return None
            columns[moving] = usable[found]
            if number + 1 < len(self.stages):
                if self._hopeless(columns, which.stop, opened):
                    return None
                tight, must = _optima(cost, found)
        return [int(c) for c in columns]

    def _hopeless(self, columns: Ints, levels: int, opened: frozenset[int]) -> bool:
        if self.best is None:
            return False
        items = np.arange(self.n)
        totals = [int(level[items, columns].sum()) for level in self.problem.cost[:levels]]
        return self._with_groups(totals, opened) > self.best[:levels]


def _optima(cost: Floats, found: NDArray[np.intp]) -> tuple[Bools, Bools]:
    """All optima of an assignment, given one: the tight pairs, and the columns all of them use.

    Longest dual prices by relaxation: u_i <= u_k + c[i, f(k)] - c[k, f(k)] along the matching and
    u_i <= c[i, j] for free columns j; then v_f(k) = c[k, f(k)] - u_k <= 0, and v = 0 elsewhere.
    """
    rows = np.arange(len(found))
    paid = cost[rows, found]
    free = np.ones(cost.shape[1], dtype=np.bool_)
    free[found] = False
    finite = cost[np.isfinite(cost)]
    beyond = (float(finite.max()) - float(finite.min())) * (len(found) + 1) + float(finite.max())
    u = np.minimum(cost[:, free].min(axis=1, initial=np.inf), beyond)
    steps = cost[:, found] - paid  # [i, k]
    for _ in rows:
        better = np.minimum(u, (u + steps).min(axis=1))
        if (better == u).all():
            break
        u = better
    v = np.zeros(cost.shape[1])
    v[found] = paid - u
    return cost == u[:, None] + v, v < 0.0
