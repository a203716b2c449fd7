"""Oil by its grade: what the grade promises, and how thick such an oil can be at a temperature."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, over_corners
from tickover.physics.viscosity import (
    MM2_PER_S,
    Walther,
    kinematic_viscosity,
    viscosity_at_40c,
    walther_line,
)

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
