"""Pictures of speed: road speed over crank speed for each gear, and the needle's error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.pages.drawing.ink import Ink, picture, text
from tickover.pages.drawing.marks import mark_shape
from tickover.pages.drawing.scale import round_step

_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 30.0, 30.0, 42.0  # margins [drawing units]
_SHAPE = 0.8  # height over width


@dataclass(frozen=True, slots=True)
class GearCurve:
    """One gear: name, speed at the end of the axis low and high, in the unit drawn."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ErrorMark:
    """One reading: true speed, shown minus true low and high, in the unit drawn."""

    name: str
    state: str
    true: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Frame:
    """Axes of one plot."""

    width: float
    height: float
    across: float
    low: float
    high: float

    def x(self, value: float) -> float:
        return _LEFT + (self.width - _LEFT - _RIGHT) * value / self.across

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.height - _BOTTOM - (self.height - _BOTTOM - _TOP) * share


def _axes(frame: _Frame, across: str, up: str, ink: Ink) -> list[str]:
    parts = []
    step = round_step((frame.high - frame.low) / 6.0)
    for k in range(math.ceil(frame.low / step - 1e-9), math.floor(frame.high / step + 1e-9) + 1):
        here = frame.y(k * step)
        parts.append(f'<path d="M{_LEFT:.1f} {here:.1f}H{frame.width - _RIGHT:.1f}" '
                     f"{ink('axis')}/>")  # fmt: skip
        parts.append(text(_LEFT - 6, here + 4, f"{k * step:g}", ink("quiet"), anchor="end"))
    step = round_step(frame.across / 5.0)
    for k in range(math.floor(frame.across / step + 1e-9) + 1):
        here = frame.x(k * step)
        parts.append(f'<path d="M{here:.1f} {frame.height - _BOTTOM:.1f}v5" {ink("tick")}/>')
        parts.append(text(here, frame.height - _BOTTOM + 19, f"{k * step:g}", ink("quiet")))
    parts.append(text(frame.width - _RIGHT, frame.height - 6, across, ink("quiet"), anchor="end"))
    parts.append(text(4, 14, up, ink("quiet"), anchor="start"))
    return parts


def gear_picture(
    curves: Sequence[GearCurve],
    most_rpm: float,
    unit: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """Road speed over crank speed, one wedge for each gear, its width what is not known.

    Parameters
    ----------
    curves : sequence of GearCurve
        First gear first, at least one.
    most_rpm : float
        End of the axis: the red line.
    unit : str
        Of speed, as it is to be written.
    width : float
        [drawing units]
    embedded : bool
        Colours in the picture itself (paper).

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> picture = gear_picture([GearCurve("1", 60, 62), GearCurve("2", 90, 95)], 7000, "km/h")
    >>> picture.count("<polygon"), "gear 2 90 to 95 km/h" in picture
    (2, True)
    """
    ink = Ink(embedded)
    top = max(curve.high for curve in curves)
    frame = _Frame(width, _SHAPE * width, most_rpm, 0.0, 1.04 * top)
    parts = _axes(frame, "rpm", unit, ink)
    for curve in curves:
        ends = [(0.0, 0.0), (most_rpm, curve.low), (most_rpm, curve.high)]
        points = " ".join(f"{frame.x(a):.1f},{frame.y(b):.1f}" for a, b in ends)
        parts.append(f'<polygon points="{points}" {ink("bore")}/>')
    before = math.inf
    for curve in curves:
        here = min(frame.y(0.5 * (curve.low + curve.high)) + 5, before - 14)
        before = here
        parts.append(text(width - _RIGHT + 6, here, curve.name, ink("strong"), anchor="start"))
    said = f"Road speed at {most_rpm:.0f} rpm: " + "; ".join(
        f"gear {c.name} {c.low:.0f} to {c.high:.0f} {unit}" for c in curves
    )
    return picture(ink, said, parts, width=frame.width, height=frame.height)


def error_picture(
    marks: Sequence[ErrorMark],
    allowed: tuple[float, float],
    most: float,
    unit: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """Shown minus true over true speed: the band of the rule, and every reading in it or not.

    Parameters
    ----------
    marks : sequence of ErrorMark
    allowed : (float, float)
        Most it may show above a true speed of 0, and at `most`, in `unit`.
    most : float
        End of the axis.
    unit : str
    width : float
        [drawing units]
    embedded : bool

    Returns
    -------
    str
        An svg element.

    Examples
    --------
    >>> seen = [ErrorMark("80 km/h", "good", 76, 3, 5)]
    >>> "shown 80 km/h: 3 to 5 km/h above true, good" in error_picture(seen, (4, 18), 140, "km/h")
    True
    """
    ink = Ink(embedded)
    low = min([0.0, *(m.low for m in marks)])
    high = max([allowed[1], *(m.high for m in marks)])
    room = 0.08 * (high - low)
    frame = _Frame(width, _SHAPE * width, most, low - room, high + room)
    corners = [(0.0, 0.0), (most, 0.0), (most, allowed[1]), (0.0, allowed[0])]
    points = " ".join(f"{frame.x(a):.1f},{frame.y(b):.1f}" for a, b in corners)
    parts = [f'<polygon points="{points}" {ink("bore")}/>']
    parts += _axes(frame, f"true, {unit}", f"shown above true, {unit}", ink)
    parts.append(text(frame.x(0.97 * most), frame.y(0.0) - 8, "allowed", ink("quiet"),
                      anchor="end"))  # fmt: skip
    for mark in marks:
        x = frame.x(min(mark.true, most))
        parts.append(f'<path d="M{x:.1f} {frame.y(mark.low):.1f}V{frame.y(mark.high):.1f}'
                     f'M{x - 4:.1f} {frame.y(mark.low):.1f}h8M{x - 4:.1f} '
                     f'{frame.y(mark.high):.1f}h8" {ink("tick-long")}/>')  # fmt: skip
        parts.append(mark_shape(mark.state, x, frame.y(0.5 * (mark.low + mark.high)), 7.0, ink))
    said = "; ".join(
        f"shown {m.name}: {m.low:.3g} to {m.high:.3g} {unit} above true, {m.state}" for m in marks
    )
    return picture(
        ink,
        said or "Nothing read yet; the band of the rule",
        parts,
        width=frame.width,
        height=frame.height,
    )
