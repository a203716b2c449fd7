"""Charging voltage against engine speed, in the window where it should be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink, picture, text
from tickover.pages.drawing.marks import mark_shape

_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 18.0, 30.0, 42.0  # margins [drawing units]
_SHAPE = 0.72


@dataclass(frozen=True, slots=True)
class ChargePoint:
    """One reading: speed [rpm], voltage [V], its state word."""

    rpm: float
    volts: float
    state: str


def charge_plot(
    points: Sequence[ChargePoint],
    window: tuple[float, float],
    charges_from_rpm: float,
    rest: float | None = None,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """The readings over speed, the window as a band from the speed it must charge at.

    Parameters
    ----------
    points : sequence of ChargePoint
        Speeds rising.
    window : (float, float)
        [V]
    charges_from_rpm : float
        [rpm]
    rest : float, optional
        Battery at rest [V]
    width : float
        [drawing units]
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element.

    Raises
    ------
    InputError
        If there is no point.

    Examples
    --------
    >>> picture = charge_plot([ChargePoint(3000, 14.2, "good")], (13.8, 14.6), 2500, 12.6)
    >>> "14.2 V at 3000 rpm, good" in picture
    True
    """
    if not points:
        raise InputError("There is no charging voltage to draw", allowed="one reading or more")
    ink = Ink(embedded)
    height = _SHAPE * width
    right, bottom = width - _RIGHT, height - _BOTTOM
    values = [p.volts for p in points] + [*window] + ([rest] if rest is not None else [])
    low = math.floor(2.0 * (min(values) - 0.2)) / 2.0
    high = math.ceil(2.0 * (max(values) + 0.2)) / 2.0
    most = 1000.0 * math.ceil((max(p.rpm for p in points) + 300.0) / 1000.0)

    def x(rpm: float) -> float:
        return _LEFT + (right - _LEFT) * rpm / most

    def y(volts: float) -> float:
        return bottom - (bottom - _TOP) * (volts - low) / (high - low)

    parts = []
    start = x(min(charges_from_rpm, most))
    top, base = y(window[1]), y(window[0])
    parts.append(
        f'<polygon points="{start:.1f},{top:.1f} {right:.1f},{top:.1f} {right:.1f},{base:.1f} '
        f'{start:.1f},{base:.1f}" {ink("bore")}/>'
    )
    step = 0.5 if high - low <= 3.0 else 1.0 if high - low <= 6.0 else 2.0
    for k in range(math.ceil(low / step), math.floor(high / step) + 1):
        volts = k * step
        parts.append(f'<path d="M{_LEFT:.1f} {y(volts):.1f}H{right:.1f}" {ink("grid")}/>')
        parts.append(text(_LEFT - 6, y(volts) + 4, f"{volts:g}", ink("quiet"), anchor="end"))
    parts.append(text(_LEFT, _TOP - 14, "V at the battery", ink("quiet"), anchor="start"))
    every = 1000.0 * max(1, math.ceil(most / 6000.0))
    for k in range(int(most // every) + 1):
        parts.append(text(x(k * every), bottom + 18, f"{k * every:g}", ink("quiet")))
    parts.append(text(0.5 * (_LEFT + right), height - 6, "rpm", ink("quiet")))
    if rest is not None:
        parts.append(f'<path d="M{_LEFT:.1f} {y(rest):.1f}H{right:.1f}" {ink("hair")}/>')
        parts.append(text(right - 4, y(rest) + 15, f"at rest {rest:g}", ink("text"), anchor="end"))
    parts.append(
        text(right - 4, 0.5 * (top + base) + 5, "should be here", ink("text"), anchor="end")
    )
    line = " ".join(f"{x(p.rpm):.1f},{y(p.volts):.1f}" for p in points)
    parts.append(f'<polyline points="{line}" {ink("tick-long")}/>')
    for point in points:
        here_x, here_y = x(point.rpm), y(point.volts)
        parts.append(mark_shape(point.state, here_x, here_y, 8.0, ink))
        above = here_y - 14 if here_y - 14 > _TOP - 6 else here_y + 24
        parts.append(text(here_x, above, f"{point.volts:g}", ink("strong")))
    said = (
        f"Should be {window[0]:g} to {window[1]:g} V from {charges_from_rpm:.0f} rpm; "
        + "; ".join(f"{p.volts:g} V at {p.rpm:.0f} rpm, {p.state}" for p in points)
    )
    return picture(ink, said, parts, width=width, height=height)
