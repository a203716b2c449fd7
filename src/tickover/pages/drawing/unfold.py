"""A tree of lengths laid flat: straight branches of true length that never cross.

The longest way through the tree lies level; what hangs on it goes up and down in turn. If that
crosses itself anywhere, every point gets a cone of directions inside its parent's: cones side by
side cannot meet, so neither can what lies in them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

Point = tuple[float, float]
_WIDEST = math.radians(170.0)


@dataclass(frozen=True, slots=True)
class Flat:
    """A tree laid flat: where each point is [unit of the lengths], y downwards; how it was laid."""

    at: dict[str, Point]
    how: str

    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        xs, ys = [p[0] for p in self.at.values()], [p[1] for p in self.at.values()]
        return min(xs), min(ys), max(xs), max(ys)


def unfold(branches: Sequence[tuple[str, str, float]], clear: float) -> Flat:
    """Lay a tree of branches flat.

    Parameters
    ----------
    branches : sequence of (start, end, length)
        One tree.
    clear : float
        Wanted between branches that do not meet [unit of the lengths]

    Returns
    -------
    Flat

    Notes
    -----
    A point plus a cone narrower than 180 degrees holds every point reached within that cone, so
    nested cones keep subtrees apart.

    Examples
    --------
    >>> flat = unfold([("a", "b", 3.0), ("b", "c", 4.0), ("b", "d", 1.0)], 0.5)
    >>> round(math.dist(flat.at["b"], flat.at["d"]), 6)
    1.0
    """
    near: dict[str, list[tuple[str, float]]] = {}
    for a, b, length in branches:
        near.setdefault(a, []).append((b, length))
        near.setdefault(b, []).append((a, length))
    trunk = _longest(near)
    best: tuple[float, Flat] | None = None
    for lean in (90.0, 60.0, 120.0, 75.0):
        for spread in (50.0, 35.0, 25.0):
            for first in (1, -1):
                flat = Flat(_comb(near, trunk, lean, spread, first), "trunk level")
                if _apart(flat, branches, clear):
                    left, top, right, bottom = flat.box()
                    size = (right - left + 10 * clear) * (bottom - top + 10 * clear)
                    if best is None or size < best[0] * 0.999:
                        best = size, flat
    if best is not None:
        return best[1]
    return Flat(_cones(near, trunk[len(trunk) // 2]), "cones")


def _longest(near: dict[str, list[tuple[str, float]]]) -> list[str]:
    """The points of the longest way through the tree."""

    def far(start: str) -> tuple[dict[str, str], str]:
        reach, back = {start: 0.0}, {start: ""}
        stack = [start]
        while stack:
            here = stack.pop()
            for there, length in near[here]:
                if there not in reach:
                    reach[there] = reach[here] + length
                    back[there] = here
                    stack.append(there)
        return back, max(reach, key=lambda p: reach[p])

    _, one = far(next(iter(near)))
    back, other = far(one)
    way = [other]
    while back[way[-1]]:
        way.append(back[way[-1]])
    return way[::-1]


def _step(at: Point, length: float, degrees: float) -> Point:
    angle = math.radians(degrees)
    return at[0] + length * math.cos(angle), at[1] - length * math.sin(angle)


def _comb(
    near: dict[str, list[tuple[str, float]]],
    trunk: list[str],
    lean: float,
    spread: float,
    first: int,
) -> dict[str, Point]:
    at: dict[str, Point] = {trunk[0]: (0.0, 0.0)}
    on = set(trunk)
    for a, b in pairwise(trunk):
        at[b] = _step(at[a], dict(near[a])[b], 0.0)
    side = first

    def hang(here: str, parent: str, direction: float, spread: float) -> None:
        children = [(p, n) for p, n in near[here] if p != parent]
        for i, (there, length) in enumerate(children):
            turn = (i - (len(children) - 1) / 2.0) * spread
            at[there] = _step(at[here], length, direction + turn)
            hang(there, here, direction + turn, spread * 0.8)

    for here in trunk:
        groups: dict[int, list[tuple[str, float]]] = {1: [], -1: []}
        for child in near[here]:
            if child[0] not in on:
                groups[side].append(child)
                side = -side
        for sign, children in groups.items():
            for i, (there, length) in enumerate(children):
                direction = sign * (lean + (i - (len(children) - 1) / 2.0) * spread)
                at[there] = _step(at[here], length, direction)
                hang(there, here, direction, spread)
    return at


def _cones(near: dict[str, list[tuple[str, float]]], root: str) -> dict[str, Point]:
    leaves: dict[str, int] = {}

    def count(here: str, parent: str) -> int:
        leaves[here] = sum(count(p, here) for p, _ in near[here] if p != parent) or 1
        return leaves[here]

    count(root, "")
    at: dict[str, Point] = {root: (0.0, 0.0)}

    def place(here: str, parent: str, low: float, high: float) -> None:
        children = [(p, n) for p, n in near[here] if p != parent]
        whole = sum(leaves[p] for p, _ in children)
        start = low
        for there, length in children:
            wide = (high - low) * leaves[there] / whole
            middle = start + wide / 2.0
            at[there] = _step(at[here], length, math.degrees(middle))
            half = min(wide, _WIDEST) / 2.0
            place(there, here, middle - half, middle + half)
            start += wide

    place(root, "", 0.0, 2.0 * math.pi)
    return at


def _apart(flat: Flat, branches: Sequence[tuple[str, str, float]], clear: float) -> bool:
    """Whether no two branches meet but at a shared point, and the others keep their distance."""
    lines = [(a, b, flat.at[a], flat.at[b]) for a, b, _ in branches]
    for one, two in combinations(lines, 2):
        shared = {one[0], one[1]} & {two[0], two[1]}
        if shared:
            hinge = flat.at[shared.pop()]
            ends = [p for line in (one, two) for p in line[2:] if p != hinge]
            if len(ends) == 2 and _angle(hinge, ends[0], ends[1]) < math.radians(20.0):
                return False
        elif not _far(one[2:], two[2:], clear) and segment_distance(one[2:], two[2:]) < clear:
            return False
    return True


def _far(one: Sequence[Point], two: Sequence[Point], clear: float) -> bool:
    """Whether the boxes round two stretches are that far apart already."""
    return any(
        min(one[0][k], one[1][k]) - clear > max(two[0][k], two[1][k])
        or min(two[0][k], two[1][k]) - clear > max(one[0][k], one[1][k])
        for k in (0, 1)
    )


def _angle(hinge: Point, a: Point, b: Point) -> float:
    turn = math.atan2(a[1] - hinge[1], a[0] - hinge[0]) - math.atan2(
        b[1] - hinge[1], b[0] - hinge[0]
    )
    return abs((turn + math.pi) % (2.0 * math.pi) - math.pi)


def segment_distance(one: Sequence[Point], two: Sequence[Point]) -> float:
    """Least distance between two straight stretches; 0 where they cross.

    >>> segment_distance(((0, 0), (2, 0)), ((1, -1), (1, 1)))
    0.0
    """
    a, b, c, d = one[0], one[1], two[0], two[1]

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    if side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0:
        return 0.0
    return min(_to_line(a, c, d), _to_line(b, c, d), _to_line(c, a, b), _to_line(d, a, b))


def _to_line(p: Point, a: Point, b: Point) -> float:
    along = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    t = 0.0 if along == 0.0 else (
        ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / along
    )  # fmt: skip
    t = min(1.0, max(0.0, t))
    return math.hypot(p[0] - a[0] - t * (b[0] - a[0]), p[1] - a[1] - t * (b[1] - a[1]))
