"""Pictures of a recording: speed over time, how loud each order is, the wheel of firing slots.

Nothing is told by colour: a sure speed is a whole line and an unsure one is dashed, loudness is
the width of a bar, and a weak slot bears the word.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink, picture, text
from tickover.pages.drawing.scale import round_step

SURE = 0.5
"""Confidence from which the line is drawn whole."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 10.0, 26.0, 40.0
_HIGH = 190.0
_SMALL = 12.0


def speed_picture(
    track: Sequence[tuple[float, float, float]],
    idle_rpm: float | None,
    said: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """Engine speed over the time of a recording.

    Parameters
    ----------
    track : sequence of (time [s], speed [1/min], confidence 0 to 1)
    idle_rpm : float or None
        Named by a line of its own [1/min].
    said : str
        What a person who does not see it must know.
    width : float
        [drawing units]
    embedded : bool
        Colours in the picture itself (paper).

    Returns
    -------
    str
        An svg element.

    Raises
    ------
    InputError
        Fewer than two rows.
    """
    if len(track) < 2:
        raise InputError("A track needs two moments", given=str(len(track)))
    ink = Ink(embedded)
    begin, end = track[0][0], track[-1][0]
    speeds = [rpm for _, rpm, _ in track] + ([idle_rpm] if idle_rpm is not None else [])
    step = round_step(max((max(speeds) - min(speeds)) / 4.0, 50.0))
    low = step * math.floor((min(speeds) - 0.3 * step) / step)
    high = step * math.ceil((max(speeds) + 0.3 * step) / step)

    def x(moment: float) -> float:
        return _LEFT + (width - _LEFT - _RIGHT) * (moment - begin) / max(end - begin, 1e-9)

    def y(rpm: float) -> float:
        return _TOP + _HIGH * (high - rpm) / (high - low)

    parts = [text(4, 14, "rpm", ink("quiet"), size=_SMALL, anchor="start")]
    for i in range(round((high - low) / step) + 1):
        level = low + i * step
        parts.append(
            f'<path d="M{_LEFT - 4:.1f} {y(level):.1f}H{_LEFT:.1f}" {ink("hair")}/>'
            + text(_LEFT - 6, y(level) + 4, f"{level:.0f}", ink("quiet"), size=_SMALL, anchor="end")
        )
    parts.append(f'<path d="M{_LEFT:.1f} {_TOP:.1f}V{_TOP + _HIGH:.1f}H{width - _RIGHT:.1f}" '
                 f"{ink('hair')}/>")  # fmt: skip
    every = round_step(max((end - begin) / 4.0, 1.0))
    for i in range(math.ceil(begin / every), math.floor(end / every) + 1):
        parts.append(text(x(i * every), _TOP + _HIGH + 16, f"{i * every:g}", ink("quiet"),
                          size=_SMALL))  # fmt: skip
    parts.append(text(0.5 * (_LEFT + width), _TOP + _HIGH + 34, "seconds", ink("quiet"),
                      size=_SMALL))  # fmt: skip
    if idle_rpm is not None:
        parts.append(f'<path d="M{_LEFT:.1f} {y(idle_rpm):.1f}H{width - _RIGHT:.1f}" '
                     f"{ink('axis')}/>")  # fmt: skip
    for sure, points in _pieces(track):
        line = " ".join(f"{x(s):.1f},{y(rpm):.1f}" for s, rpm in points)
        parts.append(f'<polyline points="{line}" {ink("frame" if sure else "axis")}/>')
    if idle_rpm is not None:
        # above the picture: on the line it would lie across the wandering of the speed
        parts.append(text(width - _RIGHT, _TOP - 8, f"idle {idle_rpm:.0f}, the level line",
                          ink("strong"), anchor="end"))  # fmt: skip
    return picture(ink, said, parts, width=width, height=_TOP + _HIGH + _BOTTOM)


def _pieces(
    track: Sequence[tuple[float, float, float]],
) -> list[tuple[bool, list[tuple[float, float]]]]:
    """Runs of sure and of unsure speed; each begins where the one before ended."""
    pieces: list[tuple[bool, list[tuple[float, float]]]] = []
    for moment, rpm, confidence in track:
        sure = confidence >= SURE
        if not pieces or pieces[-1][0] != sure:
            joint = pieces[-1][1][-1:] if pieces else []
            pieces.append((sure, list(joint)))
        pieces[-1][1].append((moment, rpm))
    return [piece for piece in pieces if len(piece[1]) > 1]


def waterfall_picture(
    times_s: Sequence[float],
    levels: Sequence[str],
    firing_order: float,
    said: str,
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """How loud each half order is, time running down; a wider bar is louder, 4 dB a step.

    Parameters
    ----------
    times_s : sequence of float
        [s]
    levels : sequence of str
        One digit 0 to 9 for each half order, order 0.5 first.
    firing_order : float
        Firings in one turn of the crank: named below its column.
    said : str
        What a person who does not see it must know.
    width : float
        [drawing units]
    embedded : bool

    Returns
    -------
    str
        An svg element.
    """
    ink = Ink(embedded)
    columns = max((len(row) for row in levels), default=1)
    wide = (width - _LEFT - _RIGHT) / columns
    high = max(4.0, min(9.0, 220.0 / max(len(levels), 1)))
    bars = []
    for row, digits in enumerate(levels):
        for column, digit in enumerate(digits):
            size = 0.94 * wide * int(digit) / 9.0
            if size <= 0.0:
                continue
            left, top = _LEFT + (column + 0.5) * wide - size / 2, _TOP + row * high
            bars.append(f"M{left:.1f} {top:.1f}h{size:.1f}v{high - 1:.1f}h-{size:.1f}z")
    bottom = _TOP + high * len(levels)
    parts = [text(4, 14, "s", ink("quiet"), size=_SMALL, anchor="start")]
    parts.append(f'<path d="{"".join(bars)}" {ink("tdc")}/>')
    for moment, place in _round_moments(times_s):
        parts.append(text(_LEFT - 6, _TOP + (place + 0.5) * high + 4, f"{moment:g}", ink("quiet"),
                          size=_SMALL, anchor="end"))  # fmt: skip
    for order in range(2, columns // 2 + 1, 2):
        parts.append(text(_LEFT + (2 * order - 0.5) * wide, bottom + 15, f"{order}",
                          ink("quiet"), size=_SMALL))  # fmt: skip
    at = _LEFT + (2.0 * firing_order - 0.5) * wide
    parts.append(f'<path d="M{at:.1f} {_TOP - 3:.1f}v-8" {ink("tick-long")}/>')
    parts.append(text(max(at, _LEFT + 44), 12, "firing order", ink("strong"), size=_SMALL))
    parts.append(text(0.5 * (_LEFT + width), bottom + 33, "order: times in one turn of the crank",
                      ink("quiet"), size=_SMALL))  # fmt: skip
    return picture(ink, said, parts, width=width, height=bottom + _BOTTOM)


def _round_moments(times_s: Sequence[float]) -> list[tuple[float, float]]:
    """Round moments [s] between the first row and the last, each with where it lies among them.

    >>> _round_moments([0.5, 1.5, 2.5, 3.5])
    [(1.0, 0.5), (2.0, 1.5), (3.0, 2.5)]
    """
    if len(times_s) < 2:
        return [(moment, 0.0) for moment in times_s]
    first, last = times_s[0], times_s[-1]
    every = round_step(max((last - first) / 5.0, 1.0))
    found = []
    for i in range(math.ceil(first / every), math.floor(last / every) + 1):
        moment = i * every
        row = max(bisect_left(times_s, moment), 1)
        before, after = times_s[row - 1], times_s[row]
        found.append((moment, row - 1 + (moment - before) / (after - before)))
    return found


@dataclass(frozen=True, slots=True)
class WheelSlot:
    """One firing slot as drawn: where in the cycle [deg of 720], strength with interval [1]."""

    name: str
    angle_deg: float
    strength: float
    low: float
    high: float
    weak: bool


def slot_wheel(slots: Sequence[WheelSlot], said: str, *, embedded: bool = False) -> str:
    """The firing slots round one cycle (two turns), each spoke as long as its firing is strong.

    Parameters
    ----------
    slots : sequence of WheelSlot
    said : str
        What a person who does not see it must know.
    embedded : bool

    Returns
    -------
    str
        An svg element 300 by 300 drawing units.
    """
    ink = Ink(embedded)
    full = 82.0
    parts = [f'<circle r="{full:g}" {ink("axis")}/>', f'<circle r="3" {ink("tdc")}/>']
    for slot in slots:
        turn = math.radians(slot.angle_deg / 2.0)

        def at(radius: float, turn: float = turn) -> tuple[float, float]:
            return radius * math.sin(turn), -radius * math.cos(turn)

        half = 9.0
        tip = full * min(max(slot.strength, 0.04), 1.3)
        x, y = at(tip)
        across_x, across_y = half * math.cos(turn), half * math.sin(turn)
        points = " ".join(
            f"{px:.1f},{py:.1f}"
            for px, py in (
                (-across_x, -across_y), (x - across_x, y - across_y),
                (x + across_x, y + across_y), (across_x, across_y),
            )
        )  # fmt: skip
        parts.append(f'<polygon points="{points}" {ink("frame" if slot.weak else "bore")}/>')
        (x1, y1), (x2, y2) = (at(full * min(max(v, 0.0), 1.35)) for v in (slot.low, slot.high))
        parts.append(f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" {ink("tick-long")}/>')
        x, y = at(124.0)
        parts.append(text(x, y - 3, slot.name, ink("strong"), size=14))
        weak = " weak" if slot.weak else ""
        parts.append(text(x, y + 12, f"{100 * slot.strength:.0f} %{weak}", ink("text"), size=13))
    return picture(ink, said, parts, width=328, height=300, kind="dial", corner=(-164, -150))
