"""Engine speed, gears, wheel and what a speedometer makes of them."""

from __future__ import annotations

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band

MILE = 1609.344
"""The statute mile, exactly [m]."""


def road_speed(engine_speed: float, overall: float, circumference: float) -> float:
    """Speed on the road in a gear, chain and tyre not slipping.

    Parameters
    ----------
    engine_speed : float
        Of the crank [1/s]
    overall : float
        Crank turns for one turn of the rear wheel: primary x gear x final [1]
    circumference : float
        Rolling, of the rear wheel [m]

    Returns
    -------
    float
        [m/s]

    Raises
    ------
    InputError
        If ratio or circumference is not above zero.

    Notes
    -----
    v = n C / overall. Checked in tests/published/test_gearing.py.

    Examples
    --------
    >>> print(f"{3.6 * road_speed(5000 / 60, 58 / 28 * 46 / 19, 1.975):.2f} km/h")
    118.14 km/h
    """
    guards.positive("Overall ratio", overall)
    guards.positive("Rolling circumference", circumference, "m")
    return engine_speed * circumference / overall


def engine_speed(speed: float, overall: float, circumference: float) -> float:
    """Crank speed that goes with a road speed.

    Parameters
    ----------
    speed : float
        [m/s]
    overall : float
        As `road_speed` [1]
    circumference : float
        [m]

    Returns
    -------
    float
        [1/s]

    Raises
    ------
    InputError
        As `road_speed`.

    Notes
    -----
    n = v overall / C. Checked in tests/published/test_gearing.py.

    Examples
    --------
    >>> print(f"{60 * engine_speed(100 / 3.6, 58 / 28 * 46 / 19, 1.975):.0f} rpm")
    4232 rpm
    """
    guards.positive("Overall ratio", overall)
    guards.positive("Rolling circumference", circumference, "m")
    return speed * overall / circumference


def turns_per_metre(circumference: Band | float, ratio: float = 1.0) -> Band:
    """Turns of a cable, or pulses of a sensor, on each metre of road.

    Parameters
    ----------
    circumference : Band or float
        Rolling, of the wheel that drives it [m]
    ratio : float
        Cable turns or pulses for each turn of that wheel [1]

    Returns
    -------
    Band
        [1/m]

    Raises
    ------
    InputError
        If one is not above zero.

    Notes
    -----
    ratio / C. Checked in tests/published/test_gearing.py.

    Examples
    --------
    >>> print(f"{1e3 * turns_per_metre(1.975).low:.1f} turns per km")
    506.3 turns per km
    """
    around = as_band(circumference)
    guards.positive("Rolling circumference", around.low, "m")
    guards.positive("Turns for each turn of the wheel", ratio)
    return Band(ratio / around.high, ratio / around.low)


def shown_over_true(turns: Band | float, dial_turns: float) -> Band:
    """How much an instrument shows for what is true.

    Parameters
    ----------
    turns : Band or float
        Turns or pulses it gets on each metre [1/m]
    dial_turns : float
        What it is made, or set, for [1/m]

    Returns
    -------
    Band
        Above 1 it shows too much [1]

    Raises
    ------
    InputError
        If one is not above zero.

    Notes
    -----
    Ratio of the two; a magnetic drag instrument also has an error of its own.

    Examples
    --------
    >>> print(f"{shown_over_true(1.05, 1.0).low:.2f}")
    1.05
    """
    got = as_band(turns)
    guards.positive("Turns it gets", got.low)
    guards.positive("Turns the dial is made for", dial_turns)
    return Band(got.low / dial_turns, got.high / dial_turns)


def roll_out(distance: float, turns: float, reading: float = 0.005) -> Band:
    """Rolling circumference from a walk on the flat: so many turns, so far.

    Parameters
    ----------
    distance : float
        Covered, rider on, tyre at its pressure [m]
    turns : float
        Whole turns of the wheel [1]
    reading : float
        How far off the tape may be at the two marks together [m]

    Returns
    -------
    Band
        [m]

    Raises
    ------
    InputError
        If it is no wheel's circumference.

    Notes
    -----
    (distance -+ reading) / turns; five turns or more make it good to a few parts in a thousand.

    Examples
    --------
    >>> around = roll_out(9.98, 5)
    >>> print(f"{around.low:.3f} to {around.high:.3f} m")
    1.995 to 1.997 m
    """
    guards.positive("Turns", turns)
    guards.not_negative("Error of the tape", reading, "m")
    each = distance / turns
    if not 0.8 <= each <= 2.8:
        raise InputError(
            "That is no wheel's circumference", given=f"{distance:g} m in {turns:g} turns",
            allowed="0.8 to 2.8 m for each turn",
        )  # fmt: skip
    return Band((distance - reading) / turns, (distance + reading) / turns)


def measured_distance(
    length: float, seconds: float, shown: float, timing: float = 0.4, reading: float = 0.0
) -> Band:
    """Shown over true speed from a measured mile or kilometre at a steady needle.

    Parameters
    ----------
    length : float
        Between the two posts [m]
    seconds : float
        By a watch [s]
    shown : float
        Held on the dial [m/s]
    timing : float
        How far off the two presses may be together: our assumption [s]
    reading : float
        How far off the needle may be read, either way [m/s]

    Returns
    -------
    Band
        [1]

    Raises
    ------
    InputError
        If time or length is not above zero, or the time shorter than its own error.

    Notes
    -----
    shown x time / length. Checked in tests/published/test_gearing.py.

    Examples
    --------
    >>> factor = measured_distance(MILE, 60.0, 65 * MILE / 3600, timing=0.0)
    >>> print(f"{factor.low:.4f}")
    1.0833
    """
    guards.positive("Distance", length, "m")
    guards.positive("Shown speed", shown, "m/s")
    if not seconds > timing >= 0.0:
        raise InputError("The time is too short to tell", given=f"{seconds:g} s")
    return Band(
        max(0.0, shown - reading) * (seconds - timing) / length,
        (shown + reading) * (seconds + timing) / length,
    )
