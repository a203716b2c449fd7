"""How oil thins with heat: the chart line of an oil, and its viscosity index."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards

MM2_PER_S = 1e-6
"""One mm^2/s (centistoke) [m^2/s]."""


@dataclass(frozen=True, slots=True)
class Walther:
    """The straight line of an oil on a viscosity chart: log log (v + 0.7) = a - b log T.

    Parameters
    ----------
    a, b : float
        [1], for v in mm^2/s and T in K
    """

    a: float
    b: float


def walther_line(
    temperature_1: float, viscosity_1: float, temperature_2: float, viscosity_2: float
) -> Walther:
    """Lay the chart line through two known viscosities.

    Parameters
    ----------
    temperature_1, temperature_2 : float
        Two different temperatures [K]
    viscosity_1, viscosity_2 : float
        Kinematic viscosities there [m^2/s]

    Returns
    -------
    Walther

    Raises
    ------
    InputError
        If the temperatures agree, or the thicker oil is not at the colder one.

    Notes
    -----
    Source: ASTM D341, the simple form with 0.7, valid from 2 mm^2/s up.
    Checked in tests/published/test_lubricant_astm_d341.py.

    Examples
    --------
    >>> line = walther_line(313.15, 32e-6, 373.15, 5.4e-6)
    >>> print(f"{line.a:.4f} {line.b:.4f}")
    9.5308 3.7466
    """
    guards.positive("Temperature", temperature_1, "K")
    guards.positive("Temperature", temperature_2, "K")
    guards.positive("Viscosity", viscosity_1, "m2/s")
    guards.positive("Viscosity", viscosity_2, "m2/s")
    if temperature_1 == temperature_2:
        raise InputError("Two viscosities at the same temperature make no line")
    if (viscosity_1 > viscosity_2) != (temperature_1 < temperature_2):
        raise InputError(
            "Oil is thicker cold than hot; these two viscosities say otherwise",
            given=f"{viscosity_1 / MM2_PER_S:g} and {viscosity_2 / MM2_PER_S:g} mm2/s",
        )
    w1, w2 = _loglog(viscosity_1), _loglog(viscosity_2)
    t1, t2 = math.log10(temperature_1), math.log10(temperature_2)
    b = (w1 - w2) / (t2 - t1)
    return Walther(a=w1 + b * t1, b=b)


def kinematic_viscosity(temperature: float, line: Walther) -> float:
    """Kinematic viscosity of an oil at a temperature.

    Parameters
    ----------
    temperature : float
        [K]
    line : Walther
        From `walther_line`.

    Returns
    -------
    float
        [m^2/s]

    Raises
    ------
    InputError
        If the temperature is not above zero.

    Notes
    -----
    Source: ASTM D341. Below 0 C a multigrade oil leaves the line; below 2 mm^2/s so does any.
    Checked in tests/published/test_lubricant_astm_d341.py.

    Examples
    --------
    >>> line = walther_line(313.15, 32e-6, 373.15, 5.4e-6)
    >>> print(f"{kinematic_viscosity(353.15, line) / MM2_PER_S:.4f} mm2/s")
    8.5332 mm2/s
    """
    guards.positive("Temperature", temperature, "K")
    exponent = 10.0 ** (line.a - line.b * math.log10(temperature))
    return float((10.0**exponent - 0.7) * MM2_PER_S)


def temperature_of_viscosity(viscosity: float, line: Walther) -> float:
    """Temperature at which an oil has this kinematic viscosity.

    Parameters
    ----------
    viscosity : float
        [m^2/s]
    line : Walther

    Returns
    -------
    float
        [K]

    Raises
    ------
    InputError
        If the viscosity is not above zero.

    Notes
    -----
    The inverse of `kinematic_viscosity`.

    Examples
    --------
    >>> line = walther_line(313.15, 32e-6, 373.15, 5.4e-6)
    >>> print(f"{temperature_of_viscosity(10e-6, line) - 273.15:.1f} C")
    74.0 C
    """
    guards.positive("Viscosity", viscosity, "m2/s")
    return float(10.0 ** ((line.a - _loglog(viscosity)) / line.b))


def viscosity_index(at_40c: float, at_100c: float) -> float:
    """Viscosity index: how little the oil thins with heat.

    Parameters
    ----------
    at_40c, at_100c : float
        Kinematic viscosities [m^2/s]

    Returns
    -------
    float
        Unrounded [1]

    Raises
    ------
    InputError
        If the oil is thinner than 2 mm^2/s at 100 C, where the index is not defined, or not
        thicker at 40 C.

    Notes
    -----
    Source: ASTM D2270, procedures A and B. The reference oils L and H are read from the
    standard's fitted parabolas (typed from memory; they meet at their joints and reproduce the
    published worked examples) instead of its table.
    Checked in tests/published/test_lubricant_astm_d2270.py.

    Examples
    --------
    >>> print(f"{viscosity_index(73.30e-6, 8.86e-6):.0f} {viscosity_index(22.83e-6, 5.05e-6):.0f}")
    92 156
    """
    u, y = at_40c / MM2_PER_S, at_100c / MM2_PER_S
    low, high = _reference_oils(y)
    if not u > y:
        raise InputError("Oil is thicker at 40 C than at 100 C", given=f"{u:g} and {y:g} mm2/s")
    if u >= high:
        return 100.0 * (low - u) / (low - high)
    spread = math.log10(high / u) / math.log10(y)
    return float((10.0**spread - 1.0) / 0.00715 + 100.0)


def viscosity_at_40c(at_100c: float, index: float) -> float:
    """Kinematic viscosity at 40 C of an oil known by its viscosity at 100 C and its index.

    Parameters
    ----------
    at_100c : float
        [m^2/s]
    index : float
        Viscosity index [1]

    Returns
    -------
    float
        [m^2/s]

    Raises
    ------
    InputError
        If the oil is thinner than 2 mm^2/s at 100 C or the index below 0.

    Notes
    -----
    ASTM D2270 turned round; the inverse of `viscosity_index`.

    Examples
    --------
    >>> print(f"{viscosity_at_40c(14e-6, 150.0) / MM2_PER_S:.0f} mm2/s")
    95 mm2/s
    """
    guards.not_negative("Viscosity index", index)
    y = at_100c / MM2_PER_S
    low, high = _reference_oils(y)
    if index <= 100.0:
        return (low - 0.01 * index * (low - high)) * MM2_PER_S
    spread = math.log10(1.0 + 0.00715 * (index - 100.0))
    return float(high / y**spread * MM2_PER_S)


def dynamic_viscosity(kinematic: float, density: float) -> float:
    """Dynamic viscosity from kinematic viscosity and density.

    Parameters
    ----------
    kinematic : float
        [m^2/s]
    density : float
        [kg/m^3]

    Returns
    -------
    float
        [Pa s]

    Raises
    ------
    InputError
        If either is not above zero.

    Notes
    -----
    By definition.

    Examples
    --------
    >>> print(f"{1e3 * dynamic_viscosity(12e-6, 840.0):.2f} mPa s")
    10.08 mPa s
    """
    guards.positive("Viscosity", kinematic, "m2/s")
    guards.positive("Density", density, "kg/m3")
    return kinematic * density


def _loglog(viscosity: float) -> float:
    v = viscosity / MM2_PER_S + 0.7
    if v <= 1.0:
        raise InputError(
            "Too thin for an oil", given=f"{viscosity / MM2_PER_S:g} mm2/s", allowed="2 and more"
        )
    return math.log10(math.log10(v))


# ASTM D2270: upper end of each piece [mm2/s], then a, b, c of L and of H = a Y^2 + b Y + c.
_PIECES = (
    (3.8, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077),
    (4.4, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183),
    (5.0, 2.5000, -7.2143, 13.812, 0.82143, 1.5679, 0.119),
    (6.4, 0.10100, 16.6350, -45.469, 0.04985, 9.1613, -18.557),
    (7.0, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656),
    (7.7, 0.01191, 21.4750, -72.870, 0.79762, -0.7321, 14.610),
    (9.0, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240),
    (12.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810),
    (15.0, 0.76720, 10.7972, -38.180, 0.20073, 8.4658, -22.490),
    (18.0, 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930),
    (22.0, 0.97256, 5.2500, -0.980, 0.24504, 7.4160, -16.730),
    (28.0, 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230),
    (40.0, 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750),
    (55.0, 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620),
    (70.0, 0.85921, 11.1009, -83.190, 0.17130, 11.3680, -76.940),
    (math.inf, 0.83530, 14.6700, -216.000, 0.16840, 11.8500, -97.000),
)


def _reference_oils(y: float) -> tuple[float, float]:
    """Viscosity at 40 C of the reference oils of index 0 and 100 that share Y at 100 C."""
    if not y >= 2.0:
        raise InputError(
            "The viscosity index is not defined for so thin an oil",
            given=f"{y:g} mm2/s at 100 C",
            allowed="2 mm2/s and more",
        )
    piece = next(p for p in _PIECES if y <= p[0])
    _, la, lb, lc, ha, hb, hc = piece
    return (la * y + lb) * y + lc, (ha * y + hb) * y + hc
