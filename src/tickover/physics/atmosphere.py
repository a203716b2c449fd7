"""The air outside: pressure by height, density by weather."""

from __future__ import annotations

import math

from tickover.errors import InputError
from tickover.physics.gas import AIR_GAS_CONSTANT

#: Pressure and temperature of the standard atmosphere at sea level [Pa], [K], ISO 2533:1975.
SEA_LEVEL_PRESSURE = 101325.0
SEA_LEVEL_TEMPERATURE = 288.15

_LAPSE = 0.0065  # K per metre of height, troposphere
_GRAVITY = 9.80665


def _height_checked(height: float) -> float:
    if not -500.0 <= height <= 6000.0:
        raise InputError(
            "The height above the sea is not one for a workshop",
            given=f"{height:g} m",
            allowed="-500 to 6000 m",
            instead="the height in metres, for example 600",
        )
    return height


def temperature_at_altitude(height: float) -> float:
    """Temperature of the standard atmosphere.

    Parameters
    ----------
    height : float
        Above sea level, geopotential [m], -500 to 6000

    Returns
    -------
    float
        [K]

    Raises
    ------
    InputError
        If the height is out of range.

    Notes
    -----
    Source: ISO 2533:1975. Checked in tests/published/test_iso2533.py.

    Examples
    --------
    >>> temperature_at_altitude(1000.0)
    281.65
    """
    return SEA_LEVEL_TEMPERATURE - _LAPSE * _height_checked(height)


def pressure_at_altitude(height: float) -> float:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    height : float
        Above sea level, geopotential [m], -500 to 6000

    Returns
    -------
    float
        Absolute [Pa]

    Raises
    ------
    InputError
        If the height is out of range.

    Notes
    -----
    p = p0 (T / T0)^(g / (R L)). Real weather moves it by some 2 percent either way.
    Source: ISO 2533:1975. Checked in tests/published/test_iso2533.py.

    Examples
    --------
    >>> print(f"{pressure_at_altitude(600.0) / 100:.0f} hPa")
    943 hPa
    """
    relative = temperature_at_altitude(height) / SEA_LEVEL_TEMPERATURE
    return float(SEA_LEVEL_PRESSURE * relative ** (_GRAVITY / (AIR_GAS_CONSTANT * _LAPSE)))


def station_pressure(sea_level_pressure: float, height: float) -> float:
    """Pressure where the engine stands, from the weather report's sea-level pressure.

    Parameters
    ----------
    sea_level_pressure : float
        As reported, reduced to sea level [Pa], 87000 to 108500
    height : float
        Above sea level [m], -500 to 6000

    Returns
    -------
    float
        Absolute [Pa]

    Raises
    ------
    InputError
        If either is out of range.

    Examples
    --------
    >>> print(f"{station_pressure(100000.0, 600.0) / 100:.0f} hPa")
    931 hPa
    """
    if not 87000.0 <= sea_level_pressure <= 108500.0:
        raise InputError(
            "The air pressure is not one that weather makes",
            given=f"{sea_level_pressure / 100:g} hPa",
            allowed="870 to 1085 hPa at sea level",
        )
    return sea_level_pressure * pressure_at_altitude(height) / SEA_LEVEL_PRESSURE


def saturation_vapour_pressure(temperature: float) -> float:
    """Vapour pressure of water in saturated air.

    Parameters
    ----------
    temperature : float
        [K], 233 to 333

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    Source: A. Picard, R. S. Davis, M. Glaser, K. Fujii, "Revised formula for the density of
    moist air (CIPM-2007)", Metrologia 45 (2008) 149-155, equation A1.1.
    Checked in tests/published/test_moist_air.py.

    Examples
    --------
    >>> print(f"{saturation_vapour_pressure(293.15):.0f} Pa")
    2339 Pa
    """
    t = temperature
    return math.exp(1.2378847e-5 * t * t - 1.9121316e-2 * t + 33.93711047 - 6.3431645e3 / t)


def air_density(pressure: float, temperature: float, humidity: float = 0.0) -> float:
    """Density of moist air.

    Parameters
    ----------
    pressure : float
        Absolute [Pa], 30 kPa to 120 kPa
    temperature : float
        [K], 233 to 333
    humidity : float
        Relative humidity [1], 0 to 1

    Returns
    -------
    float
        [kg/m3]

    Raises
    ------
    InputError
        If an input is out of range.

    Notes
    -----
    CIPM-2007, stated for 600 to 1100 hPa and 15 to 27 degrees C; carbon dioxide 400 ppm.
    Outside, within 5e-5 of a reference equation of state at the points tested.
    Source: as saturation_vapour_pressure, equations 1, A1.1 to A1.4.
    Checked in tests/published/test_moist_air.py.

    Examples
    --------
    >>> print(f"{air_density(101325.0, 293.15, 0.5):.4f} kg/m3")
    1.1993 kg/m3
    """
    if not 30e3 <= pressure <= 120e3:
        raise InputError(
            "The air pressure is out of range",
            given=f"{pressure / 100:g} hPa",
            allowed="300 to 1200 hPa absolute",
        )
    if not 233.0 <= temperature <= 333.0:
        raise InputError(
            "The air temperature is out of range",
            given=f"{temperature - 273.15:g} °C",
            allowed="-40 to 60 °C",
        )
    if not 0.0 <= humidity <= 1.0:
        raise InputError(
            "Relative humidity lies between 0 and 1", given=f"{humidity:g}", allowed="0 to 1"
        )
    celsius = temperature - 273.15
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius * celsius
    vapour = humidity * enhancement * saturation_vapour_pressure(temperature) / pressure
    per_kelvin = pressure / temperature
    squeeze = (
        1.58123e-6
        - 2.9331e-8 * celsius
        + 1.1043e-10 * celsius * celsius
        + (5.707e-6 - 2.051e-8 * celsius) * vapour
        + (1.9898e-4 - 2.376e-6 * celsius) * vapour * vapour
    )
    compressibility = 1.0 - per_kelvin * squeeze + per_kelvin**2 * (1.83e-11 - 0.765e-8 * vapour**2)
    molar_mass = 28.96546e-3  # dry air with 400 ppm carbon dioxide [kg/mol]
    water = 18.01528e-3
    dilution = 1.0 - vapour * (1.0 - water / molar_mass)
    return pressure * molar_mass / (compressibility * 8.314472 * temperature) * dilution
