"""The screws of a joint from above, each with its number in the tightening order."""

from __future__ import annotations

from collections.abc import Sequence

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink, picture, text

_WIDTH = 300.0  # longest side of the pattern [drawing units]
_MARGIN = 44.0
_LARGEST = 21.0  # radius of a screw head [drawing units]
_SMALLEST = 10.0
_SLIM = 0.3  # a row of screws is drawn with at least this share of its length as height


def bolt_pattern(
    positions_m: Sequence[tuple[float, float]],
    order: Sequence[int],
    *,
    name: str = "",
    embedded: bool = False,
) -> str:
    """A joint seen from above; the number in each screw says when its turn comes.

    Parameters
    ----------
    positions_m : sequence of (x, y), length n
        Screw centres, x to the right, y away from you [m]
    order : sequence of int, length n
        Numbers of the positions, from 1, in the order of tightening.
    name : str
        What a screen reader says; the order in words when left out.
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element.

    Raises
    ------
    InputError
        If the order does not name each position once.

    Examples
    --------
    >>> picture = bolt_pattern([(0, 0), (0.08, 0)], [2, 1])
    >>> picture.count("<circle"), 'aria-label="Tightening order: right 1, left 2"' in picture
    (2, True)
    """
    if sorted(order) != list(range(1, len(positions_m) + 1)) or not order:
        raise InputError(
            "The order does not name each screw once", given=", ".join(map(str, order)),
            allowed=f"1 to {len(positions_m)}",
        )  # fmt: skip
    ink = Ink(embedded)
    xs = [x for x, _ in positions_m]
    ys = [y for _, y in positions_m]
    span = max(max(xs) - min(xs), max(ys) - min(ys)) or 1.0
    scale = _WIDTH / span
    wide = (max(xs) - min(xs)) * scale
    high = (max(ys) - min(ys)) * scale
    extra_x = max(0.0, _SLIM * _WIDTH - wide) / 2
    extra_y = max(0.0, _SLIM * _WIDTH - high) / 2
    points = [
        (
            (x - min(xs)) * scale + extra_x + _MARGIN,
            (max(ys) - y) * scale + extra_y + _MARGIN,  # away from you is up on the picture
        )
        for x, y in positions_m
    ]
    radius = _radius(points)
    turn = {position: number for number, position in enumerate(order, 1)}
    size = radius * (1.05 if len(order) < 10 else 0.9)
    width, height = wide + 2 * (extra_x + _MARGIN), high + 2 * (extra_y + _MARGIN)
    parts = [
        f'<rect x="6" y="6" width="{width - 12:.1f}" height="{height - 12:.1f}" rx="16" '
        f"{ink('case')}/>"
    ]
    for position, (x, y) in enumerate(points, 1):
        number = turn[position]
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {ink("seat")}/>')
        if number == 1:  # ringed, so that the eye finds where to begin
            parts.append(f'<path d="{_ring(x, y, radius + 5)}" {ink("turn")}/>')
        parts.append(text(x, y + 0.36 * size, str(number), ink("strong"), size=size))
    said = name or "Tightening order: " + _in_words(positions_m, order)
    return picture(ink, said, parts, width=width, height=height, kind="bolts")


def _radius(points: Sequence[tuple[float, float]]) -> float:
    """As large as the nearest two screws allow."""
    nearest = min(
        (
            ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5
            for i, (ax, ay) in enumerate(points)
            for bx, by in points[:i]
        ),
        default=_WIDTH,
    )
    return max(_SMALLEST, min(_LARGEST, 0.36 * nearest))


def _ring(x: float, y: float, r: float) -> str:
    return (
        f"M{x - r:.1f} {y:.1f}A{r:.1f} {r:.1f} 0 1 1 {x + r:.1f} {y:.1f}"
        f"A{r:.1f} {r:.1f} 0 1 1 {x - r:.1f} {y:.1f}"
    )


def _in_words(positions_m: Sequence[tuple[float, float]], order: Sequence[int]) -> str:
    """'right 1, left 2': where each screw stands, said in thirds of the joint."""
    xs = [x for x, _ in positions_m]
    ys = [y for _, y in positions_m]

    def third(value: float, values: Sequence[float], low: str, high: str) -> str:
        span = max(values) - min(values)
        if span == 0.0:
            return ""
        share = (value - min(values)) / span
        return low if share < 1 / 3 else (high if share > 2 / 3 else "middle")

    said = []
    for number, position in enumerate(order, 1):
        x, y = positions_m[position - 1]
        where = f"{third(y, ys, 'near', 'far')} {third(x, xs, 'left', 'right')}".strip()
        said.append(f"{'middle' if where == 'middle middle' else where} {number}")
    return ", ".join(said)
