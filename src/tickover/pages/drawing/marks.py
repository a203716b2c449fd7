"""The six state marks: six shapes, so that they read without colour.

good, a filled round with a tick; out, a square with a cross; undecided, a half-filled diamond;
open, a dashed ring; stale, a ring with a gap; accepted, a ring with a signature stroke. The
word stands beside the mark wherever it is used, so the mark itself is silent to a screen reader.
"""

from __future__ import annotations

import math

from tickover.errors import InputError
from tickover.pages.drawing.ink import Ink

STATES = ("good", "out", "undecided", "open", "stale", "accepted")


def _points(cx: float, cy: float, r: float, unit: tuple[tuple[float, float], ...]) -> str:
    return " ".join(f"{cx + r * x:.2f},{cy + r * y:.2f}" for x, y in unit)


def _good(cx: float, cy: float, r: float, ink: Ink) -> str:
    tick = _points(cx, cy, r, ((-0.48, 0.04), (-0.12, 0.42), (0.5, -0.36)))
    return (
        f'<circle cx="{cx:.2f}" cy="{cy:.2f}" r="{r:.2f}" {ink("good")}/>'
        f'<polyline points="{tick}" stroke-width="{0.24 * r:.2f}" stroke-linecap="round" '
        f'stroke-linejoin="round" {ink("cut")}/>'
    )


def _out(cx: float, cy: float, r: float, ink: Ink) -> str:
    side = 0.92 * r
    arm = 0.42 * r
    cross = (
        f"M{cx - arm:.2f} {cy - arm:.2f}L{cx + arm:.2f} {cy + arm:.2f}"
        f"M{cx + arm:.2f} {cy - arm:.2f}L{cx - arm:.2f} {cy + arm:.2f}"
    )
    return (
        f'<rect x="{cx - side:.2f}" y="{cy - side:.2f}" width="{2 * side:.2f}" '
        f'height="{2 * side:.2f}" {ink("out")}/>'
        f'<path d="{cross}" stroke-width="{0.26 * r:.2f}" stroke-linecap="round" {ink("cut")}/>'
    )


def _undecided(cx: float, cy: float, r: float, ink: Ink) -> str:
    reach = 1.12 * r
    half = _points(cx, cy, reach, ((0, -1), (-1, 0), (0, 1)))
    whole = _points(cx, cy, reach, ((0, -1), (1, 0), (0, 1), (-1, 0)))
    return (
        f'<polygon points="{half}" {ink("undecided-half")}/>'
        f'<polygon points="{whole}" stroke-width="{0.2 * r:.2f}" stroke-linejoin="round" '
        f"{ink('undecided')}/>"
    )


def _open(cx: float, cy: float, r: float, ink: Ink) -> str:
    ring = 0.88 * r
    dash = 2 * math.pi * ring / 16
    return (
        f'<circle cx="{cx:.2f}" cy="{cy:.2f}" r="{ring:.2f}" stroke-width="{0.2 * r:.2f}" '
        f'stroke-dasharray="{dash:.3f} {dash:.3f}" {ink("open")}/>'
    )


def _stale(cx: float, cy: float, r: float, ink: Ink) -> str:
    ring = 0.86 * r
    start, end = math.radians(8), math.radians(-82)  # the gap stands at the upper right
    return (
        f'<path d="M{cx + ring * math.cos(start):.2f} {cy + ring * math.sin(start):.2f}'
        f"A{ring:.2f} {ring:.2f} 0 1 1 {cx + ring * math.cos(end):.2f} "
        f'{cy + ring * math.sin(end):.2f}" stroke-width="{0.28 * r:.2f}" {ink("stale")}/>'
    )


def _accepted(cx: float, cy: float, r: float, ink: Ink) -> str:
    ring = 0.9 * r

    def at(x: float, y: float) -> str:
        return f"{cx + r * x:.2f} {cy + r * y:.2f}"

    stroke = (
        f"M{at(-0.62, 0.3)}C{at(-0.5, -0.5)} {at(-0.12, -0.72)} {at(-0.2, -0.1)}"
        f"S{at(-0.2, 0.55)} {at(0.08, 0.02)}S{at(0.3, 0.5)} {at(0.5, 0.02)}"
        f"S{at(0.95, 0.1)} {at(1.3, -0.5)}"
    )
    return (
        f'<circle cx="{cx:.2f}" cy="{cy:.2f}" r="{ring:.2f}" stroke-width="{0.15 * r:.2f}" '
        f"{ink('accepted')}/>"
        f'<path d="{stroke}" stroke-width="{0.2 * r:.2f}" stroke-linecap="round" '
        f"{ink('accepted')}/>"
    )


_SHAPES = {
    "good": _good,
    "out": _out,
    "undecided": _undecided,
    "open": _open,
    "stale": _stale,
    "accepted": _accepted,
}


def mark_shape(state: str, cx: float, cy: float, r: float, ink: Ink) -> str:
    """The mark of one state, to stand inside another drawing.

    Parameters
    ----------
    state : str
        One of STATES.
    cx, cy, r : float
        Centre and half width [drawing units].
    ink : Ink
        How roles get their looks.

    Returns
    -------
    str
        SVG elements.

    Raises
    ------
    InputError
        For a state there is no mark for.
    """
    if state not in _SHAPES:
        raise InputError("There is no such state", given=state, allowed=", ".join(STATES))
    return _SHAPES[state](cx, cy, r, ink)


def state_mark(state: str, size: float = 22.0, *, embedded: bool = False) -> str:
    """One mark as a small picture of its own, for a line of text or a table.

    Parameters
    ----------
    state : str
        One of STATES.
    size : float
        Width and height [px].
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element, hidden from screen readers: the word stands beside it.
    """
    ink = Ink(embedded)
    return (
        f'<svg {ink.root()} class="mark" width="{size:g}" height="{size:g}" '
        f'viewBox="-13 -13 26 26" aria-hidden="true">{mark_shape(state, 0, 0, 10, ink)}</svg>'
    )
