"""A picture for the phone and, where it differs, one for wide screens; the style sheet chooses."""

from __future__ import annotations

from collections.abc import Callable

from tickover.pages.drawing import NARROW, WIDE


def both_widths(draw: Callable[[float], str]) -> tuple[tuple[str, str], ...]:
    """Class and picture for each width.

    Parameters
    ----------
    draw : callable
        Makes the picture for a width [drawing units].

    Returns
    -------
    tuple of (class, svg)
    """
    return (("only-narrow", draw(NARROW)), ("only-wide", draw(WIDE)))
