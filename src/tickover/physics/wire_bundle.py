"""How thick a wire and a bundle of wires is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tickover.physics import guards
from tickover.physics.bands import Band
from tickover.physics.wire import WireSize

STRAND_FILL = 0.76
"""Copper in the circle round a stranded conductor: our assumption for class 5."""

DENSEST = math.pi / (2.0 * math.sqrt(3.0))
"""Equal circles never cover more of the plane than this (Thue)."""

HAND_LAID = 0.65
"""Of a bundle laid and tied by hand: our assumption, measure a piece of yours."""


def wire_diameter(size: WireSize, wall: float) -> float:
    """Outer diameter of an insulated wire.

    Parameters
    ----------
    size : WireSize
    wall : float
        Thickness of the insulation [m]

    Returns
    -------
    float
        [m]

    Notes
    -----
    sqrt(4 A / (pi 0.76)) + 2 wall. The fill of the strands is our assumption.

    Examples
    --------
    >>> from tickover.physics.wire import size_named
    >>> print(f"{wire_diameter(size_named('1', 'metric'), 0.0004) * 1e3:.1f} mm")
    2.1 mm
    """
    guards.not_negative("Wall", wall, "m")
    return math.sqrt(4.0 * size.area / (math.pi * STRAND_FILL)) + 2.0 * wall


def bundle_diameter(diameters: Sequence[float]) -> Band:
    """Diameter of a round bundle: never thinner than the low end, about the high end by hand.

    Parameters
    ----------
    diameters : sequence of float, shape (n,)
        Of the wires [m]

    Returns
    -------
    Band
        [m]

    Notes
    -----
    One wire: itself. Two: their sum. More: sqrt(sum d² / fill), with the fill of the densest
    packing of the plane at the low end and of a hand-laid bundle at the high end; the low end is
    also at least the two thickest side by side. For 3 to 7 equal wires the smallest enclosing
    circle is known exactly. Checked in tests/published/test_circle_packing.py.

    Examples
    --------
    >>> thick = bundle_diameter([0.002] * 7)
    >>> print(f"{thick.low * 1e3:.2f} to {thick.high * 1e3:.2f} mm")
    5.56 to 6.56 mm
    """
    if not diameters:
        return Band(0.0, 0.0)
    for each in diameters:
        guards.positive("Diameter", each, "m")
    ordered = sorted(diameters, reverse=True)
    if len(ordered) == 1:
        return Band(ordered[0], ordered[0])
    side_by_side = ordered[0] + ordered[1]
    if len(ordered) == 2:
        return Band(side_by_side, side_by_side)
    squares = math.fsum(d * d for d in ordered)
    low = max(math.sqrt(squares / DENSEST), side_by_side)
    return Band(low, max(low, math.sqrt(squares / HAND_LAID)))
