"""Fewest stops on a circle: which angles to visit so that every arc is met.

Each item can be dealt with anywhere on its own arc of a circle that is only ever turned
forward. Free stops: once the last stop is fixed at an offset T from the start, every arc that
is left is a plain interval before T, and earliest-end-first is optimal for intervals; T itself
can always be drawn back to the start of some arc, so trying those few T is exact. Allowed
stops only (candidates): exact minimum set cover by branch and bound on bit masks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.cover import smallest_cover
from tickover.errors import InputError

MOST_CANDIDATES = 24
_CLOSE = 1e-9  # of the period: rounding of angle arithmetic, not a physical margin


@dataclass(frozen=True, slots=True)
class Stop:
    """One angle to stop at, and the items to deal with there.

    Parameters
    ----------
    angle : float
        Where to stop, in [0, period) [unit of the period]
    items : tuple of int
        Indices of the arcs dealt with at this stop, ascending.
    """

    angle: float
    items: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Stops:
    """Stops in the order of forward travel; reads like a tuple of `Stop`.

    Parameters
    ----------
    stops : tuple of Stop
        In the order in which they are met going forward from the start.
    uncovered : tuple of int
        Items that no allowed angle can serve (a result: tell the user, measure them otherwise).
    travel : float
        Forward travel from the start to the last stop [unit of the period]
    """

    stops: tuple[Stop, ...]
    uncovered: tuple[int, ...]
    travel: float

    def __iter__(self) -> Iterator[Stop]:
        return iter(self.stops)

    def __len__(self) -> int:
        return len(self.stops)

    def __getitem__(self, index: int) -> Stop:
        return self.stops[index]


def depth(arc: tuple[float, float], angle: float, period: float = 720.0) -> float:
    """How deep an angle sits inside an arc: the distance to the nearer end.

    Parameters
    ----------
    arc : tuple of float
        (start, length) [unit of the period]
    angle : float
        [unit of the period]
    period : float
        Full circle [the same unit]

    Returns
    -------
    float
        Negative outside the arc; `inf` on an arc that is the full circle [unit of the period]

    Examples
    --------
    >>> depth((700.0, 100.0), 10.0)
    30.0
    """
    start, length = arc
    if length >= period:
        return math.inf
    offset = (angle - start) % period
    if offset > period * (1.0 - _CLOSE):
        offset -= period
    if length < 0.0:
        return -min(offset, period - offset) + length
    if offset <= length + _CLOSE * period:
        return max(0.0, min(offset, length - offset))
    return -min(offset - length, period - offset)


def stab(
    arcs: Sequence[tuple[float, float]],
    period: float = 720.0,
    candidates: Sequence[float] | None = None,
    start: float = 0.0,
) -> Stops:
    """Fewest angles that meet every arc, then least forward travel, then the deepest stops.

    Parameters
    ----------
    arcs : sequence of (start, length)
        One per item. A length of a full period or more is met anywhere; a negative length is an
        empty arc that nothing can meet [unit of the period]
    period : float
        Full circle; 720 for a four-stroke cycle in crank degrees [any angle unit]
    candidates : sequence of float, optional
        The only allowed angles, at most 24; any angle when left out [unit of the period]
    start : float
        Where travel begins; a stop at the start costs no travel [unit of the period]

    Returns
    -------
    Stops
        Exactly optimal in number, then travel. With candidates the smallest depth over all items
        is then made as large as it can be, and no single stop but the last could be exchanged for
        one that seats the items deeper; free stops are moved to the middle of what they must
        meet as far as that costs no travel (the last stop therefore sits on the first edge of an
        arc: shorten the arcs beforehand by the margin that is wanted). An item met by several
        stops is given to the one where it sits deepest, to the earliest if equal.

    Raises
    ------
    InputError
        If the period or an arc is not a finite number, or there are more than 24 candidates.

    Notes
    -----
    Checked against brute force in tests/properties/test_decide_arcs.py.

    Examples
    --------
    >>> [(s.angle, s.items) for s in stab([(0, 100), (50, 100), (400, 90)])]
    [(75.0, (0, 1)), (400.0, (2,))]
    """
    _check(arcs, period, start)
    if candidates is None:
        reachable = [i for i, (_, length) in enumerate(arcs) if length >= 0.0]
        offsets = _free_offsets([arcs[i] for i in reachable], period, start)
        angles = [(start + offset) % period for offset in offsets]
    else:
        angles = _chosen(arcs, period, candidates, start)
    return _assigned(arcs, period, start, angles)


def tour(points: Sequence[float], period: float = 720.0, start: float = 0.0) -> Stops:
    """Visit one angle per item going forward; items at the same angle share a stop.

    Parameters
    ----------
    points : sequence of float
        One angle per item [unit of the period]
    period : float
        Full circle [any angle unit]
    start : float
        Where travel begins [unit of the period]

    Returns
    -------
    Stops
        One stop per distinct angle, in the order of forward travel.

    Raises
    ------
    InputError
        If an angle is not a finite number.

    Examples
    --------
    >>> [(s.angle, s.items) for s in tour([350.0, 10.0, 370.0], period=360.0)]
    [(10.0, (1, 2)), (350.0, (0,))]
    """
    _check([(point, 0.0) for point in points], period, start)
    order = sorted((_offset(point, start, period), i) for i, point in enumerate(points))
    groups: list[tuple[float, list[int]]] = []
    for offset, item in order:
        if groups and offset - groups[-1][0] <= _CLOSE * period:
            groups[-1][1].append(item)
        else:
            groups.append((offset, [item]))
    stops = tuple(Stop((start + offset) % period, tuple(sorted(who))) for offset, who in groups)
    return Stops(stops, (), groups[-1][0] if groups else 0.0)


def _check(arcs: Sequence[tuple[float, float]], period: float, start: float) -> None:
    if not (math.isfinite(period) and period > 0.0):
        raise InputError("The period must be a positive angle", given=str(period))
    if not math.isfinite(start):
        raise InputError("The start must be an angle", given=str(start))
    for number, (begin, length) in enumerate(arcs):
        if not math.isfinite(begin) or math.isnan(length):
            raise InputError(f"Arc {number} is not an angle and a length", given=f"{begin, length}")


def _offset(angle: float, start: float, period: float) -> float:
    """Forward travel from start to angle in [0, period), rounding just below a turn to 0."""
    offset = (angle - start) % period
    return 0.0 if offset > period * (1.0 - _CLOSE) else offset


def _free_offsets(arcs: Sequence[tuple[float, float]], period: float, start: float) -> list[float]:
    """Travel offsets of an optimal set of free stops, ascending."""
    if not arcs:
        return []
    spans = [(_offset(begin, start, period), length) for begin, length in arcs]
    slack = _CLOSE * period
    # What an arc still offers before the last stop T, if it does not contain T itself.
    parts = [(begin, length) for begin, length in spans if length < period]
    lasts = sorted({0.0, *(begin for begin, _ in parts)})
    by_end: list[tuple[float, float, float, bool]] = []
    for begin, length in parts:
        if begin + length >= period:
            by_end.append((begin + length - period, 0.0, begin, True))
        else:
            by_end.append((begin + length, begin, begin, False))
    by_end.sort()
    best: list[float] | None = None
    for last in lasts:
        points = _before(last, by_end, slack, None if best is None else len(best) - 1)
        if points is not None and (best is None or len(points) < len(best)):
            best = points
    assert best is not None  # the largest start meets or follows every arc
    return _centred(spans, best, period)


def _before(
    last: float,
    by_end: list[tuple[float, float, float, bool]],
    slack: float,
    most: int | None,
) -> list[float] | None:
    """Earliest-end-first points in [0, last] that meet all arcs not met at `last` itself."""
    points: list[float] = []
    point = -math.inf
    for end, begin, beyond, wraps in by_end:
        if wraps:  # on [0, end] and on [beyond, period)
            if last <= end + slack or last >= beyond - slack:
                continue
        elif begin > last + slack:
            return None
        elif last <= end + slack:
            continue
        if begin <= point + slack:
            continue
        point = end
        points.append(end)
        if most is not None and len(points) + 1 > most:
            return None
    return [*points, last]


def _centred(
    spans: Sequence[tuple[float, float]], points: list[float], period: float
) -> list[float]:
    """Move all stops but the last to the middle of what they must meet, keeping the travel."""
    last = points[-1]
    current = list(points)
    movable = len(current) - 1
    for _ in range(4 if movable else 0):  # every round is a valid cover; it settles in two or three
        low, high = [-math.inf] * len(current), [math.inf] * len(current)
        for begin, length in spans:
            if length >= period:
                continue
            deepest, where, behind = -math.inf, -1, 0.0
            for k, point in enumerate(current):
                offset = (point - begin) % period
                if offset > period * (1.0 - _CLOSE):
                    offset -= period
                if min(offset, length - offset) > deepest:
                    deepest, where, behind = min(offset, length - offset), k, offset
            begins = current[where] - behind
            low[where] = max(low[where], begins)
            high[where] = min(high[where], begins + length)
        moved = [
            min(max(0.5 * (a + b), 0.0), last) if math.isfinite(a + b) else point
            for point, a, b in zip(current[:movable], low, high, strict=False)
        ]
        if moved == current[:movable]:
            break
        current[:movable] = moved
    return sorted(current)


def _chosen(
    arcs: Sequence[tuple[float, float]],
    period: float,
    candidates: Sequence[float],
    start: float,
) -> list[float]:
    """Optimal subset of the candidates: fewest, then least travel, then deepest."""
    offsets = sorted({_offset(angle, start, period) for angle in candidates})
    if len(offsets) > MOST_CANDIDATES:
        raise InputError(
            "Too many allowed angles",
            given=str(len(offsets)),
            allowed=f"at most {MOST_CANDIDATES} different angles",
        )
    angles = [(start + offset) % period for offset in offsets]
    depths = _depths(arcs, angles, period)
    served = depths[(depths >= 0.0).any(axis=1)]
    if not len(served):
        return []
    columns = smallest_cover(served >= 0.0, None)
    count = len(columns)
    # Travel is the offset of the last stop, so the shortest prefix that needs no more stops wins.
    prefix = max(count, int((served >= 0.0).argmax(axis=1).max()) + 1)
    while prefix <= max(columns):
        found = smallest_cover(served[:, :prefix] >= 0.0, count)
        if found:
            columns = found
            break
        prefix += 1
    # Deepest: the largest smallest depth for which a cover of this size still exists.
    inside = served[:, : max(columns) + 1]
    below = min(float(row.max()) for row in inside[:, columns])
    bound = float(inside.max(axis=1).min())
    levels = [x for x in np.unique(inside).tolist() if below < x <= bound and math.isfinite(x)]
    low, high = -1, len(levels)
    while high - low > 1:
        middle = (low + high) // 2
        found = smallest_cover(inside >= levels[middle], count)
        if found:
            columns, low = found, middle
        else:
            high = middle
    return [angles[column] for column in _deepened(inside, columns)]


def _deepened(depths: NDArray[np.float64], columns: list[int]) -> list[int]:
    """Exchange stops but the last, one at a time, where that seats the items deeper."""
    chosen = list(columns)
    for k in range(len(chosen) - 1):
        others = depths[:, chosen[:k] + chosen[k + 1 :]].max(axis=1, keepdims=True)
        seats = np.sort(np.maximum(others, depths), axis=0)  # shallowest item first
        best = int(np.lexsort(seats[::-1])[-1])
        if tuple(seats[:, best]) > tuple(seats[:, chosen[k]]):
            chosen[k] = best
    return chosen


def _depths(
    arcs: Sequence[tuple[float, float]], angles: Sequence[float], period: float
) -> NDArray[np.float64]:
    """`depth` of every angle in every arc at once; shape (arcs, angles)."""
    begin = np.array([arc[0] for arc in arcs], dtype=float).reshape(-1, 1)
    length = np.array([arc[1] for arc in arcs], dtype=float).reshape(-1, 1)
    offset = (np.asarray(angles, dtype=float) - begin) % period
    offset = np.where(offset > period * (1.0 - _CLOSE), offset - period, offset)
    inside = (offset <= length + _CLOSE * period) & (length >= 0.0)
    deep = np.where(inside, np.maximum(0.0, np.minimum(offset, length - offset)), -1.0)
    return np.where(length >= period, np.inf, deep)


def _assigned(
    arcs: Sequence[tuple[float, float]], period: float, start: float, angles: list[float]
) -> Stops:
    """Give every item to the stop where it sits deepest, the earliest if equal."""
    ordered = sorted(angles, key=lambda angle: _offset(angle, start, period))
    items: list[list[int]] = [[] for _ in ordered]
    uncovered: list[int] = []
    for i, row in enumerate(_depths(arcs, ordered, period).tolist()):
        deepest = max(row, default=-1.0)
        if deepest < 0.0:
            uncovered.append(i)
        else:
            first = next(k for k, d in enumerate(row) if d >= deepest - _CLOSE * period)
            items[first].append(i)
    stops = tuple(Stop(a, tuple(who)) for a, who in zip(ordered, items, strict=True))
    travel = _offset(ordered[-1], start, period) if ordered else 0.0
    return Stops(stops, tuple(uncovered), travel)
