"""Dry air as an ideal gas whose heat capacity rises with temperature.

A constant ratio of heats of 1.4 makes an engine of 9.5 to 1 compress 3 percent too hot and
2.8 percent too high; the four-term curve below costs nothing and is within 0.01 percent of the
reference tables between 200 and 1000 K.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Scalars = TypeVar("Scalars", float, NDArray[np.float64])

#: Gas constant of dry air [J/(kg K)], ISO 2533:1975.
AIR_GAS_CONSTANT = 287.05287

#: Mole fractions of dry air (nitrogen, oxygen, argon).
AIR_FRACTIONS = (0.78084, 0.20946, 0.0097)

# NASA polynomials, 200 to 1000 K, c_p/R = sum of a_k T^k: McBride, Gordon, Reno, "Coefficients
# for Calculating Thermodynamic and Transport Properties of Individual Species", NASA TM-4513
# (1993): N2 (TPIS78), O2 (TPIS89), Ar (L 6/88).
_NITROGEN = (3.53100528, -1.23660987e-4, -5.02999437e-7, 2.43530612e-9, -1.40881235e-12)
_OXYGEN = (3.78245636, -2.99673415e-3, 9.847302e-6, -9.68129508e-9, 3.24372836e-12)
_ARGON = (2.5, 0.0, 0.0, 0.0, 0.0)

#: c_p/R of dry air, coefficients of T^0..T^4.
HEAT_POLYNOMIAL: tuple[float, ...] = tuple(
    (AIR_FRACTIONS[0] * n + AIR_FRACTIONS[1] * o + AIR_FRACTIONS[2] * a) / sum(AIR_FRACTIONS)
    for n, o, a in zip(_NITROGEN, _OXYGEN, _ARGON, strict=True)
)


def heat_capacity(temperature: Scalars) -> Scalars:
    """Heat capacity of dry air at constant pressure.

    Parameters
    ----------
    temperature : float or array
        [K], 200 to 1000

    Returns
    -------
    float or array
        [J/(kg K)]

    Notes
    -----
    Source: NASA TM-4513 (1993), mixed by mole.
    Checked in tests/published/test_isentropic_compression.py.

    Examples
    --------
    >>> print(f"{heat_capacity(300.0):.1f} J/(kg K)")
    1004.6 J/(kg K)
    """
    a = HEAT_POLYNOMIAL
    t = temperature
    return AIR_GAS_CONSTANT * (a[0] + t * (a[1] + t * (a[2] + t * (a[3] + t * a[4]))))


def heat_ratio(temperature: Scalars) -> Scalars:
    """Ratio of heats c_p/c_v of dry air.

    Parameters
    ----------
    temperature : float or array
        [K], 200 to 1000

    Returns
    -------
    float or array
        [1]

    Examples
    --------
    >>> print(f"{heat_ratio(600.0):.4f}")
    1.3762
    """
    cp = heat_capacity(temperature)
    return cp / (cp - AIR_GAS_CONSTANT)


def enthalpy(temperature: Scalars) -> Scalars:
    """Enthalpy of dry air above its value at 0 K of the polynomial.

    Parameters
    ----------
    temperature : float or array
        [K], 200 to 1000

    Returns
    -------
    float or array
        [J/kg]; only differences mean something
    """
    a = HEAT_POLYNOMIAL
    t = temperature
    terms = a[0] + t * (a[1] / 2 + t * (a[2] / 3 + t * (a[3] / 4 + t * a[4] / 5)))
    return AIR_GAS_CONSTANT * t * terms


def internal_energy(temperature: Scalars) -> Scalars:
    """Internal energy of dry air, enthalpy less R T.

    Parameters
    ----------
    temperature : float or array
        [K], 200 to 1000

    Returns
    -------
    float or array
        [J/kg]; only differences mean something
    """
    return enthalpy(temperature) - AIR_GAS_CONSTANT * temperature


def _entropy_over_r(temperature: float) -> float:
    a = HEAT_POLYNOMIAL
    t = temperature
    return a[0] * float(np.log(t)) + t * (a[1] + t * (a[2] / 2 + t * (a[3] / 3 + t * a[4] / 4)))


def compress_isentropic(start_temperature: float, volume_ratio: float) -> tuple[float, float]:
    """Squeeze air without heat loss or leak: end temperature and pressure ratio.

    Parameters
    ----------
    start_temperature : float
        [K], 200 to 500
    volume_ratio : float
        Start volume over end volume [1], 0.2 to 30

    Returns
    -------
    tuple of float
        End temperature [K], end pressure over start pressure [1].

    Raises
    ------
    InputError
        If the start is not air as we know it, or the end leaves the polynomial's range.

    Notes
    -----
    Constant entropy: s0(T2) - s0(T1) = R ln(T2 / T1 * ratio); Newton on T2.
    Source: any thermodynamics textbook, ideal gas with variable heats.
    Checked in tests/published/test_isentropic_compression.py.

    Examples
    --------
    >>> t, p = compress_isentropic(300.0, 9.5)
    >>> print(f"{t:.1f} K, {p:.2f} times")
    716.5 K, 22.69 times
    """
    if not 200.0 <= start_temperature <= 500.0:
        raise InputError(
            "The start temperature is outside what the air data cover",
            given=f"{start_temperature:g} K",
            allowed="200 to 500 K",
        )
    if not 0.2 <= volume_ratio <= 30.0:
        raise InputError(
            "The ratio of volumes is not an engine's",
            given=f"{volume_ratio:g}",
            allowed="0.2 to 30",
        )
    # At constant entropy: phi(T) = s0(T)/R - ln T rises by ln(ratio); its slope is (c_p/R - 1)/T.
    start = _entropy_over_r(start_temperature) - float(np.log(start_temperature))
    target = start + float(np.log(volume_ratio))
    temperature = start_temperature * volume_ratio**0.38
    for _ in range(20):
        miss = _entropy_over_r(temperature) - float(np.log(temperature)) - target
        slope = (heat_capacity(temperature) / AIR_GAS_CONSTANT - 1.0) / temperature
        step = miss / slope
        temperature -= step
        if abs(step) < 1e-9 * temperature:
            break
    if not 190.0 <= temperature <= 1010.0:
        raise InputError(
            "The end temperature leaves the range of the air data",
            given=f"{temperature:.0f} K",
            allowed="200 to 1000 K",
        )
    return temperature, volume_ratio * temperature / start_temperature
