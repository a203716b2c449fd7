"""Fuel from tank to bowl: what fills it, what leaks, what flows by gravity, what full load needs.

Fuel burns and its vapour is heavier than air: outside or in a draught, no flame, no spark, rag and
extinguisher (class B) at hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band

PETROL_DENSITY = Band(720.0, 775.0)
"""At 15 C [kg/m^3]; EN 228."""

_GRAVITY = 9.80665


def bowl_volume(length: float, width: float, depth: float, displaced: Band | float = 0.0) -> Band:
    """Fuel a float bowl holds.

    Parameters
    ----------
    length, width : float
        Inside, at half depth [m]
    depth : float
        From the bottom to the fuel level [m]
    displaced : Band or float
        By float, jets and posts below the level [m^3]

    Returns
    -------
    Band
        [m^3]

    Raises
    ------
    InputError
        If a length is not above zero, or more is displaced than the bowl holds.

    Notes
    -----
    A box less what stands in it. For a round bowl give pi/4 of the diameter as the width.

    Examples
    --------
    >>> fuel = bowl_volume(0.060, 0.050, 0.030, Band(15e-6, 30e-6))
    >>> print(f"{1e6 * fuel.low:.0f} to {1e6 * fuel.high:.0f} cm3")
    60 to 75 cm3
    """
    for name, value in (("Bowl length", length), ("Bowl width", width), ("Fuel depth", depth)):
        guards.positive(name, value, "m")
    inside = as_band(displaced)
    guards.not_negative("What stands in the bowl", inside.low, "m3")
    left = length * width * depth - inside
    if left.low <= 0.0:
        raise InputError(
            "More stands in the bowl than it holds", given=f"{1e6 * inside.high:g} cm3"
        )
    return left


def fill_volume(
    bowls: int,
    bowl: Band | float,
    lines: Iterable[tuple[float, float]] = (),
    filters: Band | float = 0.0,
) -> Band:
    """Fuel that disappears from the tank before anything is full: expected, not a leak.

    Parameters
    ----------
    bowls : int
    bowl : Band or float
        Volume of one [m^3]
    lines : iterable of (bore, length)
        [m]
    filters : Band or float
        Empty volume of filters and taps together [m^3]

    Returns
    -------
    Band
        [m^3]

    Raises
    ------
    InputError
        If a number is negative.

    Notes
    -----
    Added up. About half a litre for a dry system with four carburettors: common practice, no
    source.

    Examples
    --------
    >>> fill = fill_volume(4, Band(60e-6, 75e-6), [(0.007, 1.2)], Band(20e-6, 60e-6))
    >>> print(f"{1e3 * fill.low:.2f} to {1e3 * fill.high:.2f} l")
    0.31 to 0.41 l
    """
    if bowls < 0:
        raise InputError("There cannot be fewer than no bowls", given=str(bowls))
    one, dirt = as_band(bowl), as_band(filters)
    guards.not_negative("Volume of a bowl", one.low, "m3")
    guards.not_negative("Volume of the filters", dirt.low, "m3")
    pipes = 0.0
    for bore, length in lines:
        guards.not_negative("Bore of a line", bore, "m")
        guards.not_negative("Length of a line", length, "m")
        pipes += 0.25 * math.pi * bore**2 * length
    return one * float(bowls) + dirt + pipes


def head_pressure(height: float, density: float) -> float:
    """Pressure of a column: what needle and seat have to hold.

    Parameters
    ----------
    height : float
        From the seat up to the highest fuel level in the tank [m]
    density : float
        [kg/m^3]

    Returns
    -------
    float
        Gauge [Pa]

    Raises
    ------
    InputError
        If the height is negative or the density not above zero.

    Notes
    -----
    rho*g*h.

    Examples
    --------
    >>> print(f"{head_pressure(0.45, 745.0) / 100:.0f} mbar")
    33 mbar
    """
    guards.not_negative("Height", height, "m")
    guards.positive("Density", density, "kg/m3")
    return density * _GRAVITY * height


def height_of_test_column(height: float, density: float, test_density: float = 998.2) -> float:
    """Height of another liquid that presses on the needle like the fuel in the tank.

    Parameters
    ----------
    height : float
        Of the fuel above the seat [m]
    density : float
        Of the fuel [kg/m^3]
    test_density : float
        Of the test liquid; water at 20 C unless told otherwise [kg/m^3]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If the height is negative or a density not above zero.

    Notes
    -----
    Equal pressure. With air and a manometer use `head_pressure`; air passes where fuel does not.

    Examples
    --------
    >>> print(f"{1e3 * height_of_test_column(0.45, 745.0):.0f} mm")
    336 mm
    """
    guards.positive("Density of the test liquid", test_density, "kg/m3")
    return head_pressure(height, density) / (test_density * _GRAVITY)


def gravity_flow(measured_flow: float, measured_head: float, head: float) -> Band:
    """Flow through tap, filter and line at another fuel height, from one can-and-watch test.

    Parameters
    ----------
    measured_flow : float
        Into a can, with cap and vent as ridden [m^3/s]
    measured_head : float
        Fuel level in the tank above the end of the line then [m]
    head : float
        The least to be expected: tank nearly empty, down to the bowl's fuel level [m]

    Returns
    -------
    Band
        [m^3/s]

    Raises
    ------
    InputError
        If a number is not above zero.

    Notes
    -----
    Between flow that follows the head (fine filters) and flow that follows its root (taps,
    bends): the truth is a mixture. Textbook laminar and turbulent flow.

    Examples
    --------
    >>> flow = gravity_flow(6e-6, 0.40, 0.10)
    >>> print(f"{60e6 * flow.low:.0f} to {60e6 * flow.high:.0f} cm3/min")
    90 to 180 cm3/min
    """
    guards.positive("Measured flow", measured_flow, "m3/s")
    guards.positive("Fuel height in the test", measured_head, "m")
    guards.positive("Fuel height", head, "m")
    ratio = head / measured_head
    slow, fast = sorted((ratio, math.sqrt(ratio)))
    return Band(slow * measured_flow, fast * measured_flow)


def full_load_demand(
    displacement: float,
    crank_turns_per_second: float,
    filling: Band | float,
    air_fuel_ratio: Band | float,
    air_density: Band | float = 1.2,
    fuel_density: Band | float = PETROL_DENSITY,
) -> Band:
    """Fuel a four-stroke drinks at full throttle.

    Parameters
    ----------
    displacement : float
        Of all cylinders on this line [m^3]
    crank_turns_per_second : float
        [1/s]
    filling : Band or float
        Volumetric efficiency at that speed [1]
    air_fuel_ratio : Band or float
        By mass; full load is richer than 14.7 [1]
    air_density : Band or float
        [kg/m^3]
    fuel_density : Band or float
        [kg/m^3]

    Returns
    -------
    Band
        [m^3/s]

    Raises
    ------
    InputError
        If displacement or speed is not above zero.

    Notes
    -----
    Air through half the turns, over the ratio, over the fuel's density. By definition of the
    quantities.

    Examples
    --------
    >>> need = full_load_demand(500e-6, 8000 / 60, Band(0.8, 1.0), Band(12.0, 13.5))
    >>> print(f"{60e6 * need.low:.0f} to {60e6 * need.high:.0f} cm3/min")
    184 to 278 cm3/min
    """
    guards.positive("Displacement", displacement, "m3")
    guards.positive("Crank speed", crank_turns_per_second, "1/s")
    air = as_band(filling) * as_band(air_density) * (0.5 * displacement * crank_turns_per_second)
    return air / as_band(air_fuel_ratio) / as_band(fuel_density)
