"""Exact minimum set cover by branch and bound on bit masks, for a few dozen columns.

Rows that share no column each need one of their own: counting such rows greedily is the lower
bound; branching is on the row with the fewest columns.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def smallest_cover(usable: NDArray[np.bool_], size: int | None = None) -> list[int]:
    """A smallest set of columns that meets every row.

    Parameters
    ----------
    usable : bool array, shape (rows, columns)
        True where the column serves the row.
    size : int, optional
        Look only for a set of at most this many columns.

    Returns
    -------
    list of int
        Column numbers, ascending; empty when a row has no column or `size` is too small.

    Examples
    --------
    >>> smallest_cover(np.array([[True, True, False], [False, True, False], [False, True, True]]))
    [1]
    """
    options = sorted(set(_masks(usable)), key=int.bit_count)  # equal rows are one row
    if not options or not options[0]:
        return []
    # A row whose options include all those of another row is served with that row.
    rows: list[int] = []
    for mask in options:
        if not any(kept & mask == kept for kept in rows):
            rows.append(mask)

    def search(left: list[int], budget: int, chosen: int) -> int:
        if not left:
            return chosen
        # Rows without a common option each need a stop of their own: a lower bound.
        taken, needed = 0, 0
        for mask in left:
            if not mask & taken:
                taken |= mask
                needed += 1
        if needed > budget:
            return -1
        hardest = left[0]
        while hardest:
            column = hardest & -hardest
            hardest ^= column
            found = search([m for m in left if not m & column], budget - 1, chosen | column)
            if found >= 0:
                return found
        return -1

    budgets = range(1, len(rows) + 1) if size is None else (size,)
    for budget in budgets:
        found = search(rows, budget, 0)
        if found >= 0:
            return [c for c in range(usable.shape[1]) if found >> c & 1]
    return []


def _masks(table: NDArray[np.bool_]) -> list[int]:
    """Each row of a table as the bits of an integer."""
    packed = np.packbits(table, axis=1, bitorder="little")
    return [int.from_bytes(row.tobytes(), "little") for row in packed]
