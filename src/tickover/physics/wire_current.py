"""What a wire carries in its bundle, how warm it gets, and which fuse protects it."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.wire import WireSize, awg_area

Bundling = Literal["full", "by count"]

GAUGES = (24, 22, 20, 18, 16, 14, 12, 10)
CARRIES: dict[int, tuple[float, ...]] = {
    105: (2.5, 3.0, 4.0, 6.0, 7.0, 10.0, 13.0, 17.0),
    150: (4.0, 5.0, 7.0, 9.0, 11.0, 14.0, 19.0, 26.0),
    200: (5.0, 6.0, 9.0, 12.0, 14.0, 18.0, 25.0, 32.0),
}
"""AC 43.13-1B, table 11-9: continuous amperes in bundles, by insulation [C], AWG 24 to 10.

For 70 C around it, 33 wires and more, a fifth of the harness capacity in use, 60 000 ft."""

TABLE_AROUND_K = 343.15
BY_COUNT = ((3, 1.0), (6, 0.7), (24, 0.6), (math.inf, 0.5))
"""Bundle factors up to so many wires: one secondary text, no standard behind them."""

FUSES = (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0)
"""Blade fuse ratings [A]: ISO 8820-3, as secondary lists have them; 35 A is left out as sources
differ on it."""

LOADING = 0.8
"""Most of a fuse's rating that may flow for long: common practice, no single rule."""


@lru_cache(maxsize=256)
def table_current(area: float, insulation_c: int) -> float:
    """Amperes of the bundle table for a copper area.

    Parameters
    ----------
    area : float
        [m2]
    insulation_c : int
        105, 150 or 200 [C]

    Returns
    -------
    float
        [A]

    Raises
    ------
    InputError
        If the table has no such insulation, or the area is not above zero.

    Notes
    -----
    Straight lines between the logarithms of area and current; beyond AWG 24 and 10 the last line
    goes on, which is our extrapolation. Source: AC 43.13-1B, table 11-9.
    Checked in tests/published/test_wire_current.py.

    Examples
    --------
    >>> print(f"{table_current(awg_area(14), 105):.1f} A")
    10.0 A
    """
    guards.positive("Area", area, "m2")
    row = CARRIES.get(insulation_c)
    if row is None:
        raise InputError("The table has no such insulation", given=f"{insulation_c} C",
                         allowed="105, 150 or 200 C")  # fmt: skip
    areas = [awg_area(n) for n in GAUGES]
    at = next((i for i, (_, b) in enumerate(pairwise(areas)) if area <= b), len(areas) - 2)
    share = math.log(area / areas[at]) / math.log(areas[at + 1] / areas[at])
    return math.exp((1.0 - share) * math.log(row[at]) + share * math.log(row[at + 1]))


def beyond_table(area: float) -> bool:
    """Whether an area lies outside the bundle table, so that its current is extrapolated."""
    return not 0.999 * awg_area(24) <= area <= 1.001 * awg_area(10)


def ampacity(
    size: WireSize,
    around_k: float,
    insulation_c: int = 105,
    wires: int = 33,
    bundling: Bundling = "full",
) -> float:
    """Continuous current a wire carries where it lies.

    Parameters
    ----------
    size : WireSize
    around_k : float
        Round the bundle, below what the insulation bears [K]
    insulation_c : int
        105, 150 or 200 [C]
    wires : int
        Carrying wires in its fullest bundle [1]
    bundling : "full" or "by count"
        'full' takes every bundle as that of the table; 'by count' scales by `BY_COUNT` against
        the factor of a full one.

    Returns
    -------
    float
        [A]

    Raises
    ------
    InputError
        If the surroundings are as hot as the insulation bears.

    Notes
    -----
    I = I_table * sqrt((T_r - T)/(T_r - 70 C)) * factor(n)/factor(33): heat given off grows as the
    excess temperature, heat made as the square of the current. Source: AC 43.13-1B, table 11-9.
    Checked in tests/published/test_wire_current.py.

    Examples
    --------
    >>> from tickover.physics.wire import size_named
    >>> print(f"{ampacity(size_named('14', 'AWG'), 343.15):.1f} A")
    10.0 A
    """
    rated_k = insulation_c + 273.15
    if around_k > rated_k - 5.0:
        raise InputError("It is too hot there for this insulation",
                         given=f"{around_k - 273.15:.0f} C around {insulation_c} C insulation",
                         allowed=f"up to {insulation_c - 5} C")  # fmt: skip
    heat = math.sqrt((rated_k - around_k) / (rated_k - TABLE_AROUND_K))
    factor = bundle_factor(wires) / bundle_factor(33) if bundling == "by count" else 1.0
    return table_current(size.area, insulation_c) * heat * factor


def bundle_factor(wires: int) -> float:
    """How much of its lone current a wire carries among others (one secondary text)."""
    return next(factor for most, factor in BY_COUNT if wires <= most)


def conductor_temperature(
    current: float, ampacity: float, around_k: float, insulation_c: int = 105
) -> float:
    """Temperature of the copper at a current.

    Parameters
    ----------
    current, ampacity : float
        Flowing, and the ampacity there [A]
    around_k : float
        [K]
    insulation_c : int
        At which `ampacity` brings it there [C]

    Returns
    -------
    float
        [K]

    Notes
    -----
    Heat made, I² R(T), is given off as T - T_around; T_r at I = `ampacity`. Linear in T:
    T - Ta = x (234.5 + Ta)/(1 - x) over Celsius, with
    x = (I/Ic)² (Tr - Ta)/(234.5 + Tr). Our computation from the heat balance.
    Checked in tests/published/test_wire_current.py.

    Examples
    --------
    >>> print(f"{conductor_temperature(10.0, 10.0, 343.15) - 273.15:.1f} C")
    105.0 C
    """
    guards.not_negative("Current", current, "A")
    guards.positive("Ampacity", ampacity, "A")
    around, rated = around_k - 273.15, float(insulation_c)
    x = (current / ampacity) ** 2 * (rated - around) / (234.5 + rated)
    if x >= 0.9:
        return rated + 273.15 + 1000.0  # runs away: more than any insulation bears
    return around + x * (234.5 + around) / (1.0 - x) + 273.15


def fuse_for(current: float) -> float | None:
    """The smallest fuse that carries a current for long; None beyond the largest.

    Parameters
    ----------
    current : float
        Continuous [A]

    Returns
    -------
    float or None
        [A]

    Notes
    -----
    Rating at least current / 0.8: common practice, no single rule.
    Checked in tests/published/test_wire_current.py.

    Examples
    --------
    >>> fuse_for(7.2)
    10.0
    """
    guards.not_negative("Current", current, "A")
    return next((rating for rating in FUSES if rating * LOADING >= current - 1e-9), None)
