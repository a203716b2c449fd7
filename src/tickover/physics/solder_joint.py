"""Soldered and brazed joints: how long the lap, how wide the gap."""

from __future__ import annotations

import math

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band

USUAL_FILL = 0.8
"""Share of the lap that is really joined.

Source: Handy & Harman, The Brazing Book, section 1, joint integrity factor."""

SILVER_GAP = Band(25e-6, 127e-6)
"""Gap that silver solder fills by itself: 0.001 to 0.005 in, strongest near 0.0015 in [m].

Source: two makers' guides to silver brazing agree; the gap counts at brazing heat."""

THICKNESSES_OF_LAP = Band(3.0, 6.0)
"""Lap in thicknesses of the thinner part; more only wastes solder.

Source: American Welding Society, C3.1-1963, for the lower end; common practice for the upper."""


def lap_length(
    tensile_strength: float, thickness: float, shear_strength: float, fill: float = USUAL_FILL
) -> float:
    """Overlap with which a flat joint is as strong as the thinner sheet.

    Parameters
    ----------
    tensile_strength : float
        Of the weaker part, annealed by the heat [Pa]
    thickness : float
        Of the thinner part [m]
    shear_strength : float
        Of the solder in the joint [Pa]
    fill : float
        Share of the lap that is really joined, above 0 up to 1 [1]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If a number is not above zero, or the fill above 1.

    Notes
    -----
    strength * thickness / (fill * shear): pull of the sheet over pull of the joint, per width.
    Source: Handy & Harman, The Brazing Book, section 1.
    Checked in tests/published/test_brazed_lap.py.

    Examples
    --------
    >>> print(f"{1e3 * lap_length(482.63e6, 1.27e-3, 172.37e6):.2f} mm")
    4.44 mm
    """
    _strengths(tensile_strength, shear_strength, fill)
    guards.positive("Thickness", thickness, "m")
    return tensile_strength * thickness / (fill * shear_strength)


def tube_lap_length(
    tensile_strength: float,
    outer_diameter: float,
    wall: float,
    shear_strength: float,
    fill: float = USUAL_FILL,
) -> float:
    """Depth of socket with which a joint is as strong as the tube in it.

    Parameters
    ----------
    tensile_strength : float
        Of the tube, annealed by the heat [Pa]
    outer_diameter, wall : float
        Of the tube inside [m]
    shear_strength : float
        Of the solder in the joint [Pa]
    fill : float
        Share of the lap that is really joined, above 0 up to 1 [1]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If a number is not above zero, the fill above 1, or the wall too thick for the tube.

    Notes
    -----
    wall*(D - wall)*strength/(fill*shear*D): area of the tube's wall against area of its skin.

    Examples
    --------
    >>> print(f"{1e3 * tube_lap_length(230e6, 0.019, 1.6e-3, 170e6):.2f} mm")
    2.48 mm
    """
    _strengths(tensile_strength, shear_strength, fill)
    guards.positive("Wall", wall, "m")
    if not outer_diameter >= 2.0 * wall:
        raise InputError(
            "The wall is thicker than the tube",
            given=f"{1e3 * outer_diameter:g} mm tube, {1e3 * wall:g} mm wall",
        )
    skin = fill * shear_strength * outer_diameter
    return wall * (outer_diameter - wall) * tensile_strength / skin


def nipple_lap_length(
    cable_strength: float, cable_diameter: float, shear_strength: float, fill: float = USUAL_FILL
) -> float:
    """Length of solder that holds a cable in a nipple as firmly as the cable itself.

    Parameters
    ----------
    cable_strength : float
        Breaking load of the cable, from its maker [N]
    cable_diameter : float
        [m]
    shear_strength : float
        Of the solder, from its data sheet [Pa]
    fill : float
        Share of the skin that is really joined, above 0 up to 1 [1]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If a number is not above zero, or the fill above 1.

    Notes
    -----
    Load over (fill * shear * pi * d). Soft solder creeps: under a load that stays it gives way
    at a small part of this strength, so the strands are spread into a cone in the nipple and
    every home-made cable is proof-pulled before use (common practice, no source).

    Examples
    --------
    >>> print(f"{1e3 * nipple_lap_length(2135.0, 1.59e-3, 37e6):.1f} mm")
    14.4 mm
    """
    guards.positive("Cable strength", cable_strength, "N")
    guards.positive("Cable diameter", cable_diameter, "m")
    _strengths(cable_strength, shear_strength, fill)
    return cable_strength / (fill * shear_strength * math.pi * cable_diameter)


def gap_at_heat(
    hole: float,
    shaft: float,
    hole_expansion: float,
    shaft_expansion: float,
    warming: float,
) -> float:
    """Gap on one side between shaft and hole at soldering heat.

    Parameters
    ----------
    hole, shaft : float
        Diameters, cold [m]
    hole_expansion, shaft_expansion : float
        [1/K]
    warming : float
        From cold to flowing solder [K]

    Returns
    -------
    float
        Half the difference of the diameters; negative when they jam [m]

    Raises
    ------
    InputError
        If a diameter is not above zero.

    Notes
    -----
    Free expansion of both; compare with `SILVER_GAP`. A bronze plug in a steel hole closes up.

    Examples
    --------
    >>> print(f"{1e6 * gap_at_heat(0.0101, 0.0100, 11.7e-6, 18.0e-6, 650.0):.0f} um")
    30 um
    """
    guards.positive("Hole diameter", hole, "m")
    guards.positive("Shaft diameter", shaft, "m")
    hot_hole = hole * (1.0 + hole_expansion * warming)
    hot_shaft = shaft * (1.0 + shaft_expansion * warming)
    return 0.5 * (hot_hole - hot_shaft)


def _strengths(tensile_strength: float, shear_strength: float, fill: float) -> None:
    guards.positive("Strength", tensile_strength)
    guards.positive("Shear strength", shear_strength, "Pa")
    if not 0.0 < fill <= 1.0:
        raise InputError(
            "The joined share of a lap lies between 0 and 1", given=f"{fill:g}", instead="0.8"
        )
