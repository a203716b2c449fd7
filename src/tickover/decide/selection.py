"""One option for each item, at least cost, so that sums of weights along rows stay under limits.

The multiple-choice knapsack with several rows: state it, give it to a mixed-integer solver, read
the answer. 'Nothing fits' and 'time ran out' are results, with the gap that is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
Status = Literal["optimal", "nothing fits", "time ran out"]
_SURE = 1e-9  # relative: a limit met to the last digit is met


@dataclass(frozen=True, slots=True)
class Selection:
    """What was chosen.

    Parameters
    ----------
    options : tuple of int, length n
        For each item; the first of each where nothing fits.
    cost : float
        Of the choice [any]
    status : str
    gap : float
        Relative distance to the best that could still exist; 0 when optimal [1]
    """

    options: tuple[int, ...]
    cost: float
    status: Status
    gap: float


def select(
    costs: Sequence[Floats],
    weights: Sequence[Floats],
    rows: Sequence[Sequence[int]],
    limits: Sequence[float],
    seconds: float = 5.0,
) -> Selection:
    """Choose one option for each item at least cost within every row's limit.

    Parameters
    ----------
    costs : sequence of arrays, n of shape (options of the item,)
        [any]
    weights : sequence of arrays, shaped as `costs`
        What each option adds to a row its item stands in [any]
    rows : sequence of sequences of int
        Items in each row.
    limits : sequence of float, one to a row
        [unit of weights]
    seconds : float
        Longest search [s]

    Returns
    -------
    Selection

    Raises
    ------
    InputError
        If shapes do not match.

    Notes
    -----
    minimise sum c_ij x_ij with sum_j x_ij = 1 and sum_i,j w_ij x_ij <= limit in each row, x binary;
    solved by HiGHS through scipy.optimize.milp. Rows already met by everybody's heaviest option
    are left out. Held against exhaustive search in tests/unit/decide/test_selection.py.

    Examples
    --------
    >>> thin, thick = np.array([1.0, 2.0]), np.array([4.0, 1.0])
    >>> select([thin, thin], [thick, thick], [[0, 1]], [5.0]).options
    (0, 1)
    """
    if len(costs) != len(weights) or any(
        c.shape != w.shape or c.ndim != 1 or c.size == 0
        for c, w in zip(costs, weights, strict=False)
    ):
        raise InputError("Costs and weights do not match", given=f"{len(costs)}, {len(weights)}")
    if len(rows) != len(limits):
        raise InputError("Every row needs a limit", given=f"{len(rows)}, {len(limits)}")
    cheapest = [int(np.argmin(c)) for c in costs]
    tight = [
        k for k, row in enumerate(rows)
        if sum(weights[i][cheapest[i]] for i in row) > limits[k] * (1.0 + _SURE)
    ]  # fmt: skip
    if not tight:
        return _read(costs, cheapest, "optimal", 0.0)
    if any(sum(weights[i].min() for i in rows[k]) > limits[k] * (1.0 + _SURE) for k in tight):
        return _read(costs, [0] * len(costs), "nothing fits", 0.0)
    return _solved(costs, weights, rows, limits, cheapest, seconds)


def _solved(
    costs: Sequence[Floats],
    weights: Sequence[Floats],
    rows: Sequence[Sequence[int]],
    limits: Sequence[float],
    cheapest: list[int],
    seconds: float,
) -> Selection:
    from scipy.optimize import Bounds, LinearConstraint, milp  # only when there is a choice
    from scipy.sparse import csr_array

    kept = [k for k, row in enumerate(rows)
            if sum(weights[i].max() for i in row) > limits[k]]  # fmt: skip
    items = sorted({i for k in kept for i in rows[k]})
    start = dict(zip(items, np.cumsum([0, *(costs[i].size for i in items)])[:-1], strict=True))
    size = sum(costs[i].size for i in items)
    values: list[float] = []
    across: list[int] = []
    down: list[int] = []
    for r, i in enumerate(items):
        n = costs[i].size
        values += [1.0] * n
        across += range(start[i], start[i] + n)
        down += [r] * n
    for r, k in enumerate(kept, start=len(items)):
        for i in rows[k]:
            values += (weights[i] / limits[k]).tolist()
            across += range(start[i], start[i] + costs[i].size)
            down += [r] * costs[i].size
    matrix = csr_array((values, (down, across)), shape=(len(items) + len(kept), size))
    low = np.concatenate([np.ones(len(items)), np.full(len(kept), -np.inf)])
    high = np.ones(len(items) + len(kept))
    scale = max(float(np.max(costs[i])) for i in items) or 1.0
    found = milp(
        np.concatenate([costs[i] for i in items]) / scale,
        integrality=np.ones(size, dtype=np.int64), bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, low, high),
        options={"time_limit": seconds, "mip_rel_gap": 1e-7},
    )  # fmt: skip
    if found.x is None:
        status: Status = "nothing fits" if found.status == 2 else "time ran out"
        return _read(costs, [0] * len(costs), status, 1.0)
    chosen = list(cheapest)
    for i in items:
        chosen[i] = int(np.argmax(found.x[start[i] : start[i] + costs[i].size]))
    gap = float(found.mip_gap or 0.0)
    return _read(costs, chosen, "optimal" if found.status == 0 else "time ran out", gap)


def _read(
    costs: Sequence[Floats], chosen: Sequence[int], status: Status, gap: float
) -> Selection:  # fmt: skip
    total = float(sum(c[j] for c, j in zip(costs, chosen, strict=True)))
    return Selection(tuple(chosen), total, status, gap)
