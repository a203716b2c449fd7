"""Alternator, rectifier and battery on charge: ideal relations to hold readings to."""

from __future__ import annotations

import math

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band
from tickover.physics.battery import state_of_charge

PER_CELL_AND_KELVIN = -0.003
"""Change of the right charging voltage, for each cell and kelvin [V/K]; third party, 10 %."""
REFERENCE_K = 298.15
"""Temperature a charging voltage is stated for where nothing else is said: 25 C [K]."""
_REST_PER_CELL_AND_KELVIN = 0.0004
"""How far a resting cell may move with temperature, either way; from memory, it only widens."""
_TABLES_K = 297.0  # the tables of rest voltage are for 20 to 27 C


def bridge_voltage(line_rms: float, diode_drop: float = 0.0, phases: int = 3) -> float:
    """Mean voltage behind an ideal bridge rectifier with nothing to hold it.

    Parameters
    ----------
    line_rms : float
        Between two wires of the winding [V]
    diode_drop : float
        Of one diode; two carry the current at any time [V]
    phases : int
        3 for six diodes, 1 for four

    Returns
    -------
    float
        Not below zero [V]

    Raises
    ------
    InputError
        If a voltage is negative, or the phases are neither 1 nor 3.

    Notes
    -----
    Mean of the rectified sine: 3 sqrt(2)/pi times the line voltage for three phases, 2 sqrt(2)/pi
    for one. Source: any text on power electronics; the factor 1.3505 is printed (third party).
    Checked in tests/published/test_bridge_rectifier.py.

    Examples
    --------
    >>> print(f"{bridge_voltage(14.0):.2f} V, {bridge_voltage(14.0, phases=1):.2f} V")
    18.91 V, 12.60 V
    """
    guards.not_negative("AC voltage", line_rms, "V")
    guards.not_negative("Drop of a diode", diode_drop, "V")
    return max(0.0, _bridge_factor(phases) * line_rms - 2.0 * diode_drop)


def line_voltage_needed(direct: float, diode_drop: float = 0.7, phases: int = 3) -> float:
    """AC between two wires that an ideal bridge needs for a mean direct voltage.

    Parameters
    ----------
    direct : float
        [V]
    diode_drop : float
        [V]
    phases : int
        3 or 1

    Returns
    -------
    float
        [V]

    Raises
    ------
    InputError
        As `bridge_voltage`.

    Notes
    -----
    `bridge_voltage` turned round. Checked in tests/published/test_bridge_rectifier.py.

    Examples
    --------
    >>> print(f"{line_voltage_needed(14.4):.2f} V")
    11.70 V
    """
    guards.not_negative("Direct voltage", direct, "V")
    guards.not_negative("Drop of a diode", diode_drop, "V")
    return (direct + 2.0 * diode_drop) / _bridge_factor(phases)


def line_current(direct: float) -> float:
    """Effective current in each wire of a three-phase winding for a smooth direct current.

    Parameters
    ----------
    direct : float
        [A]

    Returns
    -------
    float
        [A]

    Raises
    ------
    InputError
        If it is negative.

    Notes
    -----
    sqrt(2/3): each wire carries the whole current two thirds of the time.
    Checked in tests/published/test_bridge_rectifier.py.

    Examples
    --------
    >>> print(f"{line_current(15.0):.2f} A")
    12.25 A
    """
    guards.not_negative("Direct current", direct, "A")
    return math.sqrt(2.0 / 3.0) * direct


def electrical_frequency(speed: float, pole_pairs: int, drive_ratio: float = 1.0) -> float:
    """Frequency of the alternating voltage; a three-phase bridge ripples at six times this.

    Parameters
    ----------
    speed : float
        Of the crank [Hz]
    pole_pairs : int
    drive_ratio : float
        Turns of the rotor for one of the crank [1]

    Returns
    -------
    float
        [Hz]

    Raises
    ------
    InputError
        If a number is not above zero.

    Notes
    -----
    Checked in tests/published/test_bridge_rectifier.py.

    Examples
    --------
    >>> electrical_frequency(50.0, 6)
    300.0
    """
    guards.not_negative("Speed", speed, "Hz")
    guards.positive("Drive ratio", drive_ratio)
    if pole_pairs < 1:
        raise InputError("A rotor has at least one pair of poles", given=str(pole_pairs))
    return speed * drive_ratio * pole_pairs


def charging_window(
    low: float,
    high: float,
    temperature: float | None = None,
    cells: int = 6,
    coefficient: float = PER_CELL_AND_KELVIN,
) -> Band:
    """Voltage that is right on charge at the battery's temperature.

    Parameters
    ----------
    low, high : float
        Right at 25 C [V]
    temperature : float, optional
        Of the battery; without it the window for 25 C [K]
    cells : int
    coefficient : float
        Change of the voltage of each cell; colder batteries want more. 0 for a regulator that
        knows no temperature [V/K]

    Returns
    -------
    Band
        [V]

    Raises
    ------
    InputError
        If the window runs backwards, or the temperature is no battery's.

    Notes
    -----
    -3 mV for each cell and kelvin from 25 C (third party; -3 to -5 from memory).
    Checked in tests/published/test_battery_voltage.py.

    Examples
    --------
    >>> print(f"{charging_window(14.1, 14.1, 278.15).low:.2f} V at 5 C")
    14.46 V at 5 C
    """
    if temperature is None:
        return Band(low, high)
    guards.within("Temperature of a battery", temperature, 233.15, 353.15, "K")
    shift = coefficient * cells * (temperature - REFERENCE_K)
    return Band(low + shift, high + shift)


def charge_left(
    voltage: float, cells: int = 6, meter: float = 0.0, temperature: float | None = None
) -> Band:
    """Charge left in a rested battery, wider where it is colder or warmer than the tables.

    Parameters
    ----------
    voltage : float
        At rest [V]
    cells : int
    meter : float
        How far off the meter may be, either way [V]
    temperature : float, optional
        Of the battery [K]

    Returns
    -------
    Band
        0 empty to 1 full [1]

    Raises
    ------
    InputError
        As `state_of_charge`; or if the temperature is no battery's.

    Notes
    -----
    `battery.state_of_charge` with the meter's error widened by 0.4 mV for each cell and kelvin
    away from 24 C (from memory: the tables give no other temperature, so it only widens).

    Examples
    --------
    >>> warm, cold = charge_left(12.4), charge_left(12.4, temperature=273.15)
    >>> cold.low < warm.low and cold.high > warm.high
    True
    """
    if temperature is not None:
        guards.within("Temperature of a battery", temperature, 233.15, 353.15, "K")
        meter += cells * _REST_PER_CELL_AND_KELVIN * abs(temperature - _TABLES_K)
    return state_of_charge(voltage, cells, meter)


def standing_time(
    capacity: Band | float, drain: Band | float, from_share: Band | float = 1.0, to: float = 0.5
) -> Band:
    """How long a machine may stand before its battery is down to a share of its charge.

    Parameters
    ----------
    capacity : Band or float
        Of the battery when full [A s]
    drain : Band or float
        Drawn all the time with everything switched off [A]
    from_share : Band or float
        Charge at the start [1]
    to : float
        Charge at the end [1]

    Returns
    -------
    Band
        Zero where it is there already; infinite without drain [s]

    Raises
    ------
    InputError
        If a number is negative.

    Notes
    -----
    (from - to) * capacity / drain. The battery's own discharge, about a thousandth of the acid's
    gravity a day when warm (TM 9-6140-200-14), comes on top.
    Checked in tests/unit/physics/test_charging.py.

    Examples
    --------
    >>> days = standing_time(14.0 * 3600.0, 0.005)
    >>> print(f"{days.low / 86400:.0f} days")
    58 days
    """
    full, draw, start = as_band(capacity), as_band(drain), as_band(from_share)
    for name, value in (("Capacity", full.low), ("Drain", draw.low), ("Charge", start.low)):
        guards.not_negative(name, value)
    guards.within("Charge at the end", to, 0.0, 1.0)
    spare = Band(max(0.0, start.low - to), max(0.0, start.high - to)) * full
    return Band(_over(spare.low, draw.high), _over(spare.high, draw.low))


def output_current(current: float, cut_in: float, speed: float) -> float:
    """Current an alternator of fixed field can give into a battery at a speed.

    Parameters
    ----------
    current : float
        What it tends to at high speed [A]
    cut_in : float
        Speed at which it starts to charge [Hz]
    speed : float
        [Hz]

    Returns
    -------
    float
        [A]

    Raises
    ------
    InputError
        If a number is negative, or the cut-in speed zero.

    Notes
    -----
    I sqrt(1 - (n0/n)^2): voltage and reactance both grow with speed, and the battery holds the
    voltage. A textbook first harmonic; resistance left out.

    Examples
    --------
    >>> [round(output_current(20.0, 20.0, n), 1) for n in (15.0, 25.0, 100.0)]
    [0.0, 12.0, 19.6]
    """
    guards.not_negative("Current", current, "A")
    guards.positive("Cut-in speed", cut_in, "Hz")
    guards.not_negative("Speed", speed, "Hz")
    if speed <= cut_in:
        return 0.0
    return current * math.sqrt(1.0 - (cut_in / speed) ** 2)


def _over(charge: float, drain: float) -> float:
    if drain > 0.0:
        return charge / drain
    return math.inf if charge > 0.0 else 0.0


def _bridge_factor(phases: int) -> float:
    if phases not in (1, 3):
        raise InputError("A winding has one phase or three here", given=str(phases),
                         allowed="1 or 3")  # fmt: skip
    return (3.0 if phases == 3 else 2.0) * math.sqrt(2.0) / math.pi
