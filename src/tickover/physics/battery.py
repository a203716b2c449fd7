"""Lead-acid battery: state of charge at rest, dip while cranking, drop along cables, gas.

Charging gives off hydrogen, which burns from about 4 percent in air: no flame, no spark, air.
"""

from __future__ import annotations

import math

import numpy as np

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band

# Share of charge against volts of six cells at rest. The first: US Army TM 5-3805-262-20.
# The second: a motor-home table (third party), its lowest step carried on down to empty.
_SERVICE_TABLE = ((11.7, 0.0), (12.0, 0.25), (12.2, 0.50), (12.4, 0.75), (12.6, 1.0))
_OTHER_TABLE = ((12.0, 0.0), (12.15, 0.25), (12.30, 0.50), (12.45, 0.75), (12.66, 1.0))


def state_of_charge(voltage: float, cells: int = 6, meter: float = 0.0) -> Band:
    """Charge left in a battery at rest, from its open-circuit voltage.

    Parameters
    ----------
    voltage : float
        At rest: nothing connected, some hours after charging or its surface charge taken off
        (lights on for 15 s, then 3 min of rest) [V]
    cells : int
        6 for 12 V, 3 for 6 V
    meter : float
        How far off the meter may be, either way [V]

    Returns
    -------
    Band
        0 empty to 1 full [1]

    Raises
    ------
    InputError
        If it is no voltage of a lead-acid battery with so many cells.

    Notes
    -----
    The spread between two published tables, plus the meter's. Sources: US Army TM 5-3805-262-20
    (12.6/12.4/12.2/12.0/11.7 V); a motor-home table, third party (12.66/12.45/12.30/12.15 V),
    continued to empty here. Flooded batteries near 20 to 27 C; sealed ones rest about a tenth
    higher (practice).
    Checked in tests/published/test_battery_voltage.py.

    Examples
    --------
    >>> charge = state_of_charge(12.4)
    >>> print(f"{100 * charge.low:.0f} to {100 * charge.high:.0f} percent")
    67 to 75 percent
    """
    guards.not_negative("Error of the meter", meter, "V")
    if cells < 1:
        raise InputError("A battery has at least one cell", given=str(cells))
    guards.within("Voltage of this battery at rest", voltage, 0.0, 2.6 * cells, "V")
    scale = 6.0 / cells
    ends = (scale * (voltage - meter), scale * (voltage + meter))
    shares = [
        float(np.interp(end, [v for v, _ in table], [s for _, s in table]))
        for table in (_SERVICE_TABLE, _OTHER_TABLE)
        for end in ends
    ]
    return Band(min(shares), max(shares))


def rest_voltage(specific_gravity: float, cells: int = 6, offset: float = 0.845) -> float:
    """Open-circuit voltage from the specific gravity of the acid.

    Parameters
    ----------
    specific_gravity : float
        1.05 to 1.35 [1]
    cells : int
    offset : float
        Volts of a cell above its specific gravity; 0.84 in some texts [V]

    Returns
    -------
    float
        [V]

    Raises
    ------
    InputError
        If the specific gravity is no acid's.

    Notes
    -----
    Source: rule printed in several battery texts. Cells more than 0.025 apart when charged: the
    battery is done (TM 9-6140-200-14). Checked in tests/published/test_battery_voltage.py.

    Examples
    --------
    >>> print(f"{rest_voltage(1.265):.2f} V")
    12.66 V
    """
    guards.within("Specific gravity", specific_gravity, 1.05, 1.35)
    return cells * (specific_gravity + offset)


def internal_resistance(at_rest: float, cranking: float, current: Band | float) -> Band:
    """Resistance inside a battery from its dip under a known current.

    Parameters
    ----------
    at_rest, cranking : float
        Voltages at the posts themselves, not at the clamps [V]
    current : Band or float
        Measured with a clamp meter; a band if it is only guessed from the starter [A]

    Returns
    -------
    Band
        [ohm]

    Raises
    ------
    InputError
        If the voltage does not dip, or the current can be zero.

    Notes
    -----
    Dip over current. It rises as the battery empties, cools and ages, so it compares a battery
    with itself.

    Examples
    --------
    >>> r = internal_resistance(12.5, 10.4, Band(70.0, 110.0))
    >>> print(f"{1e3 * r.low:.0f} to {1e3 * r.high:.0f} mohm")
    19 to 30 mohm
    """
    guards.positive("Voltage while cranking", cranking, "V")
    if not cranking < at_rest:
        raise InputError(
            "The voltage does not dip while cranking",
            given=f"{at_rest:g} V at rest, {cranking:g} V cranking",
            instead="both readings again, at the posts, with the starter turning",
        )
    return (at_rest - cranking) / as_band(current)


def cable_resistance(
    length: float, copper_area: float, temperature: float = 293.15, strand_factor: float = 1.0
) -> float:
    """Resistance of a copper cable, joints not counted.

    Parameters
    ----------
    length : float
        One way [m]
    copper_area : float
        [m^2]
    temperature : float
        [K]
    strand_factor : float
        1 for solid copper of full purity; stranded cable to IEC 60228 class 5 may have up to 1.16
        times as much [1]

    Returns
    -------
    float
        [ohm]

    Raises
    ------
    InputError
        If length is negative or area not above zero.

    Notes
    -----
    rho*l/A with 0.017241 ohm mm^2/m at 20 C (1/58, IEC 60028) and 0.00393 per kelvin.
    Checked in tests/published/test_copper_temperature.py.

    Examples
    --------
    >>> print(f"{1e3 * cable_resistance(0.6, 16e-6):.2f} mohm")
    0.65 mohm
    """
    guards.not_negative("Cable length", length, "m")
    guards.positive("Copper area", copper_area, "m2")
    guards.positive("Strand factor", strand_factor)
    warm = 1.0 + 0.00393 * (temperature - 293.15)
    return strand_factor * warm * length / (58e6 * copper_area)


def cable_drop(
    current: Band | float,
    length: float,
    copper_area: float,
    joints: Band | float = 0.0,
    strand_factor: float = 1.16,
) -> Band:
    """Voltage lost along a cable and its joints: the earth check while cranking.

    Parameters
    ----------
    current : Band or float
        [A]
    length : float
        One way [m]
    copper_area : float
        [m^2]
    joints : Band or float
        Resistance of the joints together [ohm]
    strand_factor : float
        Most the strands may add, see `cable_resistance` [1]

    Returns
    -------
    Band
        What sound copper explains; a reading above the upper end is a bad joint [V]

    Raises
    ------
    InputError
        If length is negative or area not above zero.

    Notes
    -----
    Current times resistance, from full copper to copper with the strand factor.

    Examples
    --------
    >>> drop = cable_drop(Band(70.0, 110.0), 0.6, 16e-6)
    >>> print(f"{1e3 * drop.low:.0f} to {1e3 * drop.high:.0f} mV")
    45 to 82 mV
    """
    sound = Band(
        cable_resistance(length, copper_area),
        cable_resistance(length, copper_area, strand_factor=max(1.0, strand_factor)),
    )
    return as_band(current) * (sound + joints)


def hydrogen_given_off(
    charge: float, cells: int = 6, temperature: float = 298.15, pressure: float = 101325.0
) -> float:
    """Hydrogen from charging a battery that is already full.

    Parameters
    ----------
    charge : float
        [A s]
    cells : int
    temperature : float
        [K]
    pressure : float
        [Pa]

    Returns
    -------
    float
        [m^3]

    Raises
    ------
    InputError
        If charge is negative or temperature or pressure not above zero.

    Notes
    -----
    Faraday: one molecule for two electrons in each cell, ideal gas.
    Checked in tests/published/test_battery_voltage.py.

    Examples
    --------
    >>> print(f"{1e3 * hydrogen_given_off(3600.0):.2f} l for each ampere hour")
    2.74 l for each ampere hour
    """
    guards.not_negative("Charge", charge, "A s")
    guards.positive("Temperature", temperature, "K")
    guards.positive("Pressure", pressure, "Pa")
    if cells < 1 or not math.isfinite(charge):
        raise InputError("A battery has at least one cell", given=str(cells))
    moles = cells * charge / (2.0 * 96485.33212)
    return moles * 8.314462618 * temperature / pressure
