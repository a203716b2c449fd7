"""Oil: what a grade promises, and how thick the oil is at a temperature."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, over_corners

MM2_PER_S = 1e-6
"""One mm^2/s (centistoke) [m^2/s]."""

_ZERO_C = 273.15


@dataclass(frozen=True, slots=True)
class Grade:
    """What an SAE J300 grade promises.

    Parameters
    ----------
    name : str
        "10W-40" or "40".
    at_100c : Band
        Kinematic viscosity at 100 C; the upper end itself is already the next grade. A grade
        with nothing but a W has no upper end [m^2/s]
    cranking_max : float or None
        Dynamic viscosity at cranking_temperature [Pa s]
    cranking_temperature : float or None
        [K]
    pumping_max : float or None
        Dynamic viscosity at pumping_temperature [Pa s]
    pumping_temperature : float or None
        Coldest at which the oil is promised to reach the pump [K]
    hot_shear_min : float or None
        Dynamic viscosity at 150 C and high shear [Pa s]
    """

    name: str
    at_100c: Band
    cranking_max: float | None
    cranking_temperature: float | None
    pumping_max: float | None
    pumping_temperature: float | None
    hot_shear_min: float | None


# SAE J300, January 2015. W grades: cranking [mPa s, C], pumping [mPa s, C], KV100 min [mm2/s].
_WINTER = {
    0: (6200.0, -35.0, 60000.0, -40.0, 3.8),
    5: (6600.0, -30.0, 60000.0, -35.0, 3.8),
    10: (7000.0, -25.0, 60000.0, -30.0, 4.1),
    15: (7000.0, -20.0, 60000.0, -25.0, 5.6),
    20: (9500.0, -15.0, 60000.0, -20.0, 5.6),
    25: (13000.0, -10.0, 60000.0, -15.0, 9.3),
}
# Hot grades: KV100 min, KV100 upper end [mm2/s], viscosity at 150 C and high shear [mPa s].
_SUMMER = {
    8: (4.0, 6.1, 1.7),
    12: (5.0, 7.1, 2.0),
    16: (6.1, 8.2, 2.3),
    20: (6.9, 9.3, 2.6),
    30: (9.3, 12.5, 2.9),
    40: (12.5, 16.3, 3.7),
    50: (16.3, 21.9, 3.7),
    60: (21.9, 26.1, 3.7),
}
_THIN_BASE_40 = 3.5  # 0W-40, 5W-40 and 10W-40 only
_VG_MIDDLES = (10, 15, 22, 32, 46, 68, 100, 150)


def grade(text: str) -> Grade:
    """Read an SAE grade: "10W-40", "20w50", "SAE 40", "5W".

    Parameters
    ----------
    text : str

    Returns
    -------
    Grade

    Raises
    ------
    InputError
        If it is not a grade of the table.

    Notes
    -----
    Source: SAE J300, January 2015, from published copies of its table; the editions of 2021 and
    2024 were not seen. Before that edition grade 20 began at 5.6 mm^2/s, and by the edition of
    December 1999 a 10W-40 needed only 2.9 mPa s hot.
    Checked in tests/published/test_sae_j300.py.

    Examples
    --------
    >>> oil = grade("20W-50")
    >>> print(f"{oil.at_100c.low / MM2_PER_S:.1f} to {oil.at_100c.high / MM2_PER_S:.1f} mm2/s")
    16.3 to 21.9 mm2/s
    """
    found = re.fullmatch(r"\s*(?:SAE)?\s*(?:(\d{1,2})\s*W)?\s*[-/ ]?\s*(\d{1,2})?\s*", text, re.I)
    winter = int(found[1]) if found and found[1] else None
    summer = int(found[2]) if found and found[2] else None
    if (
        (winter is None and summer is None)
        or (winter is not None and winter not in _WINTER)
        or (summer is not None and summer not in _SUMMER)
    ):
        raise InputError(
            "Not an SAE engine oil grade",
            given=text,
            allowed="0W to 25W, 8 to 60, or both",
            instead="20W-50, or 40",
        )
    cold = _WINTER[winter] if winter is not None else None
    hot = _SUMMER[summer] if summer is not None else None
    low = max(cold[4] if cold else 0.0, hot[0] if hot else 0.0)
    shear = hot[2] if hot else None
    if summer == 40 and winter is not None and winter <= 10:
        shear = _THIN_BASE_40
    name = "-".join(
        part
        for part in (f"{winter}W" if winter is not None else "", str(summer) if summer else "")
        if part
    )
    return Grade(
        name=name,
        at_100c=Band(low * MM2_PER_S, hot[1] * MM2_PER_S if hot else math.inf),
        cranking_max=1e-3 * cold[0] if cold else None,
        cranking_temperature=cold[1] + _ZERO_C if cold else None,
        pumping_max=1e-3 * cold[2] if cold else None,
        pumping_temperature=cold[3] + _ZERO_C if cold else None,
        hot_shear_min=1e-3 * shear if shear is not None else None,
    )


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


TYPICAL_INDEX = {"single": Band(90.0, 110.0), "multi": Band(120.0, 170.0)}
"""Viscosity index of plain and of multigrade engine oils (common practice, no source)."""


def viscosity_of_grade(oil: Grade, temperature: float, index: Band | None = None) -> Band:
    """Everything the kinematic viscosity of a grade can be at a temperature.

    Parameters
    ----------
    oil : Grade
    temperature : float
        0 to 150 C [K]
    index : Band or None
        Viscosity index from the oil's data sheet; without it `TYPICAL_INDEX` [1]

    Returns
    -------
    Band
        [m^2/s]

    Raises
    ------
    InputError
        Outside 0 to 150 C, where the chart line cannot be trusted for a multigrade, or for a
        grade with nothing but a W, which has no upper limit.

    Notes
    -----
    SAE J300 fixes the viscosity at 100 C between two values and says nothing at 40 C; the index
    supplies the slope, ASTM D341 the curve. A data sheet with both viscosities is far narrower:
    use `walther_line`.

    Examples
    --------
    >>> band = viscosity_of_grade(grade("20W-50"), 353.15)
    >>> print(f"{band.low / MM2_PER_S:.0f} to {band.high / MM2_PER_S:.0f} mm2/s")
    27 to 40 mm2/s
    """
    guards.within("Oil temperature", temperature, _ZERO_C, _ZERO_C + 150.0, "K")
    if math.isinf(oil.at_100c.high):
        raise InputError(
            "A grade with nothing but a W has no upper limit hot",
            given=oil.name,
            instead=f"{oil.name}-40, or the viscosities from the data sheet",
        )

    def corner(at_100c: float, slope: float) -> float:
        return kinematic_viscosity(temperature, _line_of_index(at_100c, slope))

    return over_corners(corner, oil.at_100c, _index_of(oil, index))


def viscosity_ratio_of_grade(
    oil: Grade, temperature: float, reference_temperature: float, index: Band | None = None
) -> Band:
    """Kinematic viscosity at one temperature over that at another, same oil in the engine.

    Parameters
    ----------
    oil : Grade
    temperature, reference_temperature : float
        0 to 150 C [K]
    index : Band or None
        Viscosity index; without it `TYPICAL_INDEX` [1]

    Returns
    -------
    Band
        [1]

    Raises
    ------
    InputError
        As `viscosity_of_grade`.

    Notes
    -----
    One oil is used for both temperatures at each corner, so the width of the grade mostly
    cancels.

    Examples
    --------
    >>> ratio = viscosity_ratio_of_grade(grade("20W-50"), 333.15, 363.15)
    >>> print(f"{ratio.low:.1f} to {ratio.high:.1f} times as thick at 60 C as at 90 C")
    2.4 to 2.9 times as thick at 60 C as at 90 C
    """
    viscosity_of_grade(oil, temperature, index)  # refuses what cannot be answered
    viscosity_of_grade(oil, reference_temperature, index)

    def corner(at_100c: float, slope: float) -> float:
        line = _line_of_index(at_100c, slope)
        here = kinematic_viscosity(temperature, line)
        return here / kinematic_viscosity(reference_temperature, line)

    return over_corners(corner, oil.at_100c, _index_of(oil, index))


def _line_of_index(at_100c: float, index: float) -> Walther:
    at_40c = viscosity_at_40c(at_100c, index)
    return walther_line(_ZERO_C + 40.0, at_40c, _ZERO_C + 100.0, at_100c)


def _index_of(oil: Grade, index: Band | None) -> Band:
    kind = "multi" if oil.pumping_max is not None else "single"
    return index if index is not None else TYPICAL_INDEX[kind]


def vg_band(grade_number: int) -> Band:
    """Viscosity at 40 C allowed for an ISO VG grade.

    Parameters
    ----------
    grade_number : int
        10, 15, 22, 32, 46, 68, 100 or 150

    Returns
    -------
    Band
        [m^2/s]

    Raises
    ------
    InputError
        If there is no such grade here.

    Notes
    -----
    Source: ISO 3448, mid-point plus or minus 10 percent.
    Checked in tests/published/test_sae_j300.py.

    Examples
    --------
    >>> band = vg_band(46)
    >>> print(f"{band.low / MM2_PER_S:.1f} to {band.high / MM2_PER_S:.1f} mm2/s")
    41.4 to 50.6 mm2/s
    """
    if grade_number not in _VG_MIDDLES:
        raise InputError(
            "Not an ISO viscosity grade known here",
            given=str(grade_number),
            allowed=", ".join(map(str, _VG_MIDDLES)),
        )
    return Band(0.9 * grade_number * MM2_PER_S, 1.1 * grade_number * MM2_PER_S)


def density(temperature: float, at_15c: float = 880.0, expansion: float = 6.5e-4) -> float:
    """Density of oil at a temperature.

    Parameters
    ----------
    temperature : float
        [K]
    at_15c : float
        From the data sheet; the default is a usual engine oil, from memory [kg/m^3]
    expansion : float
        Loss of density for each kelvin as a share; default from memory [1/K]

    Returns
    -------
    float
        [kg/m^3]

    Raises
    ------
    InputError
        If the temperature or the density is not above zero.

    Notes
    -----
    A straight line, good to about one percent over the working range (from memory): far less
    than the spread of the viscosity it is used with.

    Examples
    --------
    >>> print(f"{density(353.15):.0f} kg/m3")
    843 kg/m3
    """
    guards.positive("Temperature", temperature, "K")
    guards.positive("Density", at_15c, "kg/m3")
    return at_15c * (1.0 - expansion * (temperature - (_ZERO_C + 15.0)))


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
