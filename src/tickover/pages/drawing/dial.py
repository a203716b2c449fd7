"""The crank dial: this crankshaft's marks, and how far forward to turn.

One turn of the dial is one turn of the crank, forward is clockwise. A four-stroke takes two
turns, so cylinders one turn apart share a mark. More than one turn is drawn as a spiral that
passes its own start: nobody must wonder whether the arrow means 60 or 420 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink, picture, text, text_width

_RING = 80.0  # radius of the scale [drawing units]
_ARROW = 56.0  # radius at which the turn ends
_COIL = 9.0  # how much further in each earlier turn runs
_LABEL = 16.0  # size of the labels
_HEAD = 15.0  # length of the arrow head


def _at(angle_deg: float, radius: float) -> tuple[float, float]:
    """Point on the dial; 0 at the top, growing clockwise."""
    angle = math.radians(angle_deg)
    return radius * math.sin(angle), -radius * math.cos(angle)


def _ticks(ink: Ink) -> str:
    """Every 10 degrees, longer every 30."""
    parts = []
    for angle in range(0, 360, 10):
        long = angle % 30 == 0
        x1, y1 = _at(angle, _RING)
        x2, y2 = _at(angle, _RING - (10 if long else 5))
        role = "tick-long" if long else "tick"
        parts.append(f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" {ink(role)}/>')
    return "".join(parts)


@dataclass(frozen=True, slots=True)
class _Mark:
    angle_deg: float
    words: str


def _marks(marks_deg: Sequence[float], labels: Sequence[str]) -> list[_Mark]:
    """Marks in the order of the dial; labels that share an angle share a mark."""
    shared: dict[float, list[str]] = {}
    for angle, label in zip(marks_deg, labels, strict=True):
        shared.setdefault(round(angle % 360, 3) % 360, []).append(label)
    return [_Mark(angle, " ".join(words)) for angle, words in sorted(shared.items())]


def _draw_marks(marks: list[_Mark], ink: Ink) -> str:
    parts = []
    for mark in marks:
        tip = _at(mark.angle_deg, _RING - 1)
        left, right = _at(mark.angle_deg - 4.5, _RING + 11), _at(mark.angle_deg + 4.5, _RING + 11)
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (tip, left, right))
        parts.append(f'<polygon points="{points}" {ink("tdc")}/>')
        x, y = _at(mark.angle_deg, _RING + 16)
        side = math.sin(math.radians(mark.angle_deg))
        anchor = "middle" if abs(side) < 0.2 else ("start" if side > 0 else "end")
        lift = -2.0 if y < 0 else 11.0
        y += lift if abs(side) < 0.2 else 5
        parts.append(text(x, y, mark.words, ink("strong"), size=_LABEL, anchor=anchor))
    return "".join(parts)


def _half_width(marks: list[_Mark]) -> float:
    """How far the labels reach to either side."""
    reach = _RING + 14
    for mark in marks:
        side = abs(math.sin(math.radians(mark.angle_deg)))
        words = text_width(mark.words, _LABEL)
        reach = max(reach, words / 2 if side < 0.2 else side * (_RING + 16) + words)
    return reach + 2


def _spiral(from_deg: float, to_deg: float) -> list[tuple[float, float]]:
    """Points of the turn, creeping outwards with every turn, ending at the arrow radius."""
    steps = max(8, int((to_deg - from_deg) / 4))
    span = to_deg - from_deg
    points = []
    for i in range(steps + 1):
        angle = from_deg + span * i / steps
        radius = _ARROW - _COIL * (to_deg - angle) / 360 if span > 360 else _ARROW
        points.append(_at(angle, radius))
    return points


def _turn(from_deg: float, to_deg: float, ink: Ink) -> str:
    if to_deg == from_deg:
        x, y = _at(to_deg, _ARROW)
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7" {ink("turn-head")}/>'
    back = math.degrees(_HEAD / _ARROW)
    parts = []
    if to_deg - from_deg > back:
        line = " ".join(f"{x:.1f},{y:.1f}" for x, y in _spiral(from_deg, to_deg - back * 0.9))
        parts.append(f'<polyline points="{line}" {ink("turn")}/>')
    tip = _at(to_deg, _ARROW)
    wings = (_at(to_deg - back, _ARROW + 11), _at(to_deg - back, _ARROW - 11))
    head = " ".join(f"{x:.1f},{y:.1f}" for x, y in (tip, *wings))
    parts.append(f'<polygon points="{head}" {ink("turn-head")}/>')
    return "".join(parts)


def turn_in_words(degrees: float) -> str:
    """How far to turn, said as at the bench.

    >>> turn_in_words(240), turn_in_words(360), turn_in_words(480), turn_in_words(0)
    ('240 degrees on', 'one turn on', 'one turn and 120 degrees on', 'stay here')
    """
    if degrees == 0:
        return "stay here"
    whole, rest = divmod(round(degrees, 1), 360)
    turns = {0: "", 1: "one turn"}.get(int(whole), f"{int(whole)} turns")
    rest_words = f"{rest:g} degrees" if rest else ""
    return " and ".join(part for part in (turns, rest_words) if part) + " on"


def crank_dial(
    marks_deg: Sequence[float],
    labels: Sequence[str],
    from_deg: float | None,
    to_deg: float,
    *,
    name: str = "",
    embedded: bool = False,
) -> str:
    """A dial with the TDC marks of one crankshaft and the turn to make.

    Parameters
    ----------
    marks_deg : sequence of float, length n
        Where each mark stands on the crank [degrees, any turn].
    labels : sequence of str, length n
        What is stamped beside each mark: "T1", "T2"; marks at one angle share it.
    from_deg : float or None
        Where the crank stands now [degrees, 0..720]; None: not known yet, first stop.
    to_deg : float
        Where it is to stand [degrees, not before from_deg].
    name : str
        What a screen reader says; made from the turn when left out.
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element, 228 drawing units high and as wide as its labels need.

    Raises
    ------
    InputError
        If the turn would be backwards or there is not one label per mark.
    """
    if len(marks_deg) != len(labels):
        raise InputError(
            "Each mark needs one label",
            given=f"{len(marks_deg)} marks, {len(labels)} labels",
        )
    if from_deg is not None and to_deg < from_deg:
        raise InputError(
            "The crank is only turned forward",
            given=f"from {from_deg:g} to {to_deg:g} degrees",
            allowed="an end at or after the start",
            instead=f"{to_deg + 720:g} degrees as the end",
        )
    ink = Ink(embedded)
    marks = _marks(marks_deg, labels)
    span = 0.0 if from_deg is None else to_deg - from_deg
    if from_deg is None:
        here = [mark.words for mark in marks if abs(mark.angle_deg - to_deg % 360) < 0.01]
        big, small = (here[0] if here else f"{to_deg % 360:g}°"), "start here"
    elif span > 360:
        big, small = f"{span:g}", "degrees on"
    else:
        big, small = f"{span:g}", "degrees on" if span else "stay here"
    name = name or "Crank dial: " + (
        f"start at {to_deg % 360:g} degrees" if from_deg is None else turn_in_words(span)
    )
    start = to_deg if from_deg is None else from_deg
    coils = span > 360
    size = 24 if coils else 30
    body = [
        f'<circle r="{_RING:g}" {ink("seat")}/>',
        _ticks(ink),
        _turn(start, to_deg, ink),
        _draw_marks(marks, ink),
        text(0, -2 if coils else 0, big, ink("strong"), size=size),
        text(0, 17, small, ink("text"), size=12 if coils or text_width(small, 14) > 84 else 14),
    ]
    half = _half_width(marks)
    corner = (-half, -114.0)
    return picture(ink, name, body, width=2 * half, height=228, kind="dial", corner=corner)
