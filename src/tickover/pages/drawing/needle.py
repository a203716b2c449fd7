"""The needle's climb: what the gauge should show after each stroke, and what it did show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink, picture, text
from tickover.pages.drawing.marks import mark_shape

_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 60.0, 28.0, 40.0  # margins [drawing units]
_SHAPE = 0.72  # height over width of the sheet
_LEAST_GAP = 15.0  # between two labels at the right edge


@dataclass(frozen=True, slots=True)
class NeedleMark:
    """One cylinder's reading.

    Parameters
    ----------
    name : str
        Short, such as "2"
    state : str
        A state word
    last : float
        After the strokes counted, in the unit drawn
    first : float, optional
        After the first stroke
    """

    name: str
    state: str
    last: float
    first: float | None = None


def needle_climb(
    low: Sequence[float],
    middle: Sequence[float],
    high: Sequence[float],
    marks: Sequence[NeedleMark],
    unit: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """The fan of what is expected, stroke by stroke, with the readings at its end.

    Parameters
    ----------
    low, middle, high : sequence of float, length n
        10, 50 and 90 percent points after each stroke, in `unit`
    marks : sequence of NeedleMark
    unit : str
        As it is to be written
    width : float
        Of the sheet [drawing units]
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element.

    Raises
    ------
    InputError
        If the three lines are not of one length, or empty.

    Examples
    --------
    >>> picture = needle_climb([60, 90], [80, 120], [95, 150], [NeedleMark("2", "out", 70)], "psi")
    >>> picture.count("<polygon"), "cylinder 2 70 psi, out" in picture
    (1, True)
    """
    n = len(middle)
    if n == 0 or len(low) != n or len(high) != n:
        raise InputError(
            "The climb needs three lines of one length",
            given=f"{len(low)}, {n} and {len(high)} strokes",
            allowed="at least one stroke",
        )
    ink = Ink(embedded)
    height = _SHAPE * width
    top_value, step = _axis(max([*high, *(m.last for m in marks), *(m.first or 0 for m in marks)]))
    right, bottom = width - _RIGHT, height - _BOTTOM

    def x(stroke: float) -> float:
        return _LEFT + (right - _LEFT) * (stroke - 1) / max(n - 1, 1)

    def y(value: float) -> float:
        return bottom - (bottom - _TOP) * value / top_value

    parts = []
    for k in range(round(top_value / step) + 1):
        value = k * step
        parts.append(f'<path d="M{_LEFT:.1f} {y(value):.1f}H{right:.1f}" {ink("grid")}/>')
        parts.append(text(_LEFT - 6, y(value) + 4, f"{value:g}", ink("quiet"), anchor="end"))
    parts.append(text(_LEFT, _TOP - 12, unit, ink("quiet"), anchor="start"))
    around = [(x(i), y(v)) for i, v in enumerate(high, 1)]
    around += [(x(i), y(v)) for i, v in reversed(list(enumerate(low, 1)))]
    parts.append(f'<polygon points="{_points(around)}" {ink("bore")}/>')
    line = _points([(x(i), y(v)) for i, v in enumerate(middle, 1)])
    parts.append(f'<polyline points="{line}" {ink("hair")}/>')
    every = max(1, math.ceil(n / 8))
    for stroke in range(1, n + 1, every):
        parts.append(text(x(stroke), bottom + 17, str(stroke), ink("quiet")))
    parts.append(text(0.5 * (_LEFT + right), height - 6, "strokes", ink("quiet")))
    for mark, label_y in zip(marks, _apart([y(m.last) for m in marks], _TOP, bottom), strict=True):
        here = y(mark.last)
        parts.append(
            f'<path d="M{x(n):.1f} {here:.1f}L{right + 12:.1f} {label_y:.1f}" {ink("hair")}/>'
        )
        parts.append(mark_shape(mark.state, right + 20, label_y, 7.0, ink))
        parts.append(text(right + 32, label_y + 5, mark.name, ink("strong"), anchor="start"))
        if mark.first is not None:
            parts.append(f'<circle cx="{x(1):.1f}" cy="{y(mark.first):.1f}" r="3" {ink("tdc")}/>')
    said = _said(low, high, marks, unit)
    return picture(ink, said, parts, width=width, height=height)


def _axis(most: float) -> tuple[float, float]:
    """Top of the scale and the step of its lines: 3 to 6 lines of a round step."""
    step = 10.0 ** math.floor(math.log10(max(most, 1e-9)))
    for share in (0.2, 0.25, 0.5, 1.0, 2.0):
        if most / (share * step) <= 6.0:
            step *= share
            break
    return step * math.ceil(most / step * 1.02), step


def _points(pairs: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in pairs)


def _apart(wanted: Sequence[float], top: float, bottom: float) -> list[float]:
    """Heights near those wanted, far enough apart to be read, in the same order."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    placed = [0.0] * len(wanted)
    before = top - _LEAST_GAP
    for i in order:
        placed[i] = before = max(wanted[i], before + _LEAST_GAP)
    over = before - bottom
    if over > 0.0:
        after = bottom + _LEAST_GAP
        for i in reversed(order):
            placed[i] = after = min(placed[i], after - _LEAST_GAP)
    return placed


def _said(
    low: Sequence[float], high: Sequence[float], marks: Sequence[NeedleMark], unit: str
) -> str:
    words = [f"Expected {low[-1]:g} to {high[-1]:g} {unit} after {len(low)} strokes"]
    words += [f"cylinder {m.name} {m.last:g} {unit}, {m.state}" for m in marks]
    return "; ".join(words)
