"""In which order to tighten several screws, and in which stages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from tickover.errors import InputError

USUAL_STAGES = (0.5, 0.75, 1.0)
"""Shares of the final torque (common practice, no source)."""


def tightening_order(
    positions: Sequence[tuple[float, float]], ring_width: float = 0.12
) -> tuple[int, ...]:
    """Order for tightening screws from the centre out, crosswise.

    Parameters
    ----------
    positions : sequence of (x, y), length n
        Screw centres in the plane of the joint [m]
    ring_width : float
        Screws whose distance from the middle differs by no more than this share of the largest
        distance count as one ring [1]

    Returns
    -------
    tuple of int, length n
        Indices into positions. Loosen in the reverse order.

    Raises
    ------
    InputError
        Without positions, with two screws in one place, or with a position that is not a number.

    Notes
    -----
    Rings from the inside out; in each ring the next screw is the one farthest from the last,
    among equals the one farthest from the last but one, then the first named: always the same
    answer for the same screws. 'From the centre out, crosswise' is common practice, no source; a
    sequence printed by the maker comes first.

    Examples
    --------
    >>> tightening_order([(0, 0), (40, 0), (80, 0), (0, 60), (40, 60), (80, 60)])
    (1, 4, 0, 5, 3, 2)
    """
    points = [(float(x), float(y)) for x, y in positions]
    if not points:
        raise InputError("There are no screws to tighten")
    if not all(math.isfinite(value) for point in points for value in point):
        raise InputError("A screw position is not a number")
    if len(set(points)) != len(points):
        twice = next(point for point in points if points.count(point) > 1)
        raise InputError("Two screws stand in the same place", given=f"{twice[0]:g}, {twice[1]:g}")
    centre = (
        math.fsum(x for x, _ in points) / len(points),
        math.fsum(y for _, y in points) / len(points),
    )
    order: list[int] = []
    for ring in _rings([math.dist(point, centre) for point in points], ring_width):
        left = list(ring)
        while left:
            chosen = min(left, key=lambda i: _rank(points, order, i))
            left.remove(chosen)
            order.append(chosen)
    return tuple(order)


def torque_stages(final: float, shares: Sequence[float] = USUAL_STAGES) -> tuple[float, ...]:
    """Torque for each round over all screws.

    Parameters
    ----------
    final : float
        [N m]
    shares : sequence of float
        Rising shares of the final torque, the last one 1 [1]

    Returns
    -------
    tuple of float
        [N m]

    Raises
    ------
    InputError
        If the shares do not rise to 1, or the torque is not above zero.

    Notes
    -----
    Shares times final torque; the usual shares are common practice, no source.

    Examples
    --------
    >>> torque_stages(24.0)
    (12.0, 18.0, 24.0)
    """
    if not (math.isfinite(final) and final > 0.0):
        raise InputError("Torque must be above zero", given=f"{final:g} N m")
    rising = all(a < b for a, b in pairwise(shares))
    if not shares or not rising or shares[0] <= 0.0 or shares[-1] != 1.0:
        raise InputError(
            "Stages must rise from above 0 to 1",
            given=", ".join(f"{share:g}" for share in shares),
            instead="0.5, 0.75, 1",
        )
    return tuple(final * share for share in shares)


def _rings(distances: Sequence[float], ring_width: float) -> list[list[int]]:
    """Group indices into rings; a ring starts anew when its innermost screw is too far behind."""
    allowed = ring_width * max(distances) + 1e-12
    rings: list[list[int]] = []
    start = -math.inf
    for index in sorted(range(len(distances)), key=lambda i: (distances[i], i)):
        if distances[index] - start > allowed:
            rings.append([])
            start = distances[index]
        rings[-1].append(index)
    return [sorted(ring) for ring in rings]


def _rank(
    points: Sequence[tuple[float, float]], order: Sequence[int], index: int
) -> tuple[float, float, int]:
    """Smallest comes next: farthest from the last, then from the one before, then by number."""
    # rounding keeps mirror images equal that differ only in the last bit
    last = -round(math.dist(points[index], points[order[-1]]), 9) if order else 0.0
    before = -round(math.dist(points[index], points[order[-2]]), 9) if len(order) > 1 else 0.0
    return last, before, index
