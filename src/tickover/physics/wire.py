"""Wire: copper areas of two standards, resistance of a length when it is hot, voltage drop.

Sizes are named as they are bought: '1.5' (mm², IEC 60228 class 5) or '16' (AWG, ASTM B258).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.winding import resistance_at

Standard = Literal["metric", "AWG"]

RHO_20 = 1.7241e-8
"""Resistivity of annealed copper at 20 C, 100 percent IACS [ohm m]."""

CLASS_5 = ((0.5, 39.0), (0.75, 26.0), (1.0, 19.5), (1.5, 13.3), (2.5, 7.98), (4.0, 4.95),
           (6.0, 3.30), (10.0, 1.91))  # fmt: skip
"""IEC 60228:2004, class 5, plain copper: size [mm²] and most resistance at 20 C [ohm/km]."""

THICK_CLASS_5 = ((16.0, 1.21), (25.0, 0.780), (35.0, 0.554), (50.0, 0.386))
"""The same above what a loom is made of: battery and starter cables (three transcriptions of the
table agree; the standard itself was not read)."""

STRANDED_AWG = {24: 28.40, 22: 16.20, 20: 9.88, 18: 6.23, 16: 4.81, 14: 3.06, 12: 2.02, 10: 1.26}
"""AC 43.13-1B, table 11-9: most resistance of tinned stranded copper at 20 C [ohm/1000 ft]."""

AWG_SIZES = (22, 20, 18, 16, 14, 12, 10)
_PER_1000_FT = 1.0 / 304.8
_REFERENCE_K = 293.15


@dataclass(frozen=True, slots=True)
class WireSize:
    """One size that can be bought.

    Parameters
    ----------
    name : str
        '1.5' or '16'
    area : float
        Copper [m2]
    ohm_per_m : float
        Most that the standard allows at 20 C [ohm/m]
    standard : str
        'metric' or 'AWG'
    """

    name: str
    area: float
    ohm_per_m: float
    standard: Standard

    @property
    def words(self) -> str:
        """As it is written on a reel: '1.5 mm²', 'AWG 16'."""
        return f"{self.name} mm²" if self.standard == "metric" else f"AWG {self.name}"


def awg_diameter(gauge: int) -> float:
    """Diameter of a solid wire of a gauge.

    Parameters
    ----------
    gauge : int
        -3 (0000) to 40 [AWG]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If there is no such gauge.

    Notes
    -----
    d = 0.127 mm * 92^((36 - n)/39). Source: ASTM B258.
    Checked in tests/published/test_wire_gauges.py.

    Examples
    --------
    >>> print(f"{awg_diameter(12) * 1e3:.4f} mm")
    2.0525 mm
    """
    if not -3 <= gauge <= 40:
        raise InputError("There is no such gauge", given=str(gauge), allowed="-3 (0000) to 40")
    return 1.27e-4 * math.pow(92.0, (36 - gauge) / 39.0)


def awg_area(gauge: int) -> float:
    """Copper area of a solid wire of a gauge.

    Parameters
    ----------
    gauge : int
        -3 (0000) to 40 [AWG]

    Returns
    -------
    float
        [m2]

    Notes
    -----
    pi d² / 4. Source: ASTM B258. Checked in tests/published/test_wire_gauges.py.

    Examples
    --------
    >>> print(f"{awg_area(16) * 1e6:.4f} mm2")
    1.3087 mm2
    """
    return math.pi / 4.0 * awg_diameter(gauge) ** 2


def awg_resistance(gauge: int) -> float:
    """Resistance of a metre of a gauge at 20 C: the worse of solid and stranded.

    Parameters
    ----------
    gauge : int
        10 to 24, even [AWG]

    Returns
    -------
    float
        [ohm/m]

    Notes
    -----
    The larger of rho/A (ASTM B258, 100 percent IACS) and the most that AC 43.13-1B, table 11-9,
    allows stranded copper of that gauge. Checked in tests/published/test_wire_gauges.py.

    Examples
    --------
    >>> print(f"{awg_resistance(16) * 1e3:.2f} ohm/km")
    15.78 ohm/km
    """
    solid = RHO_20 / awg_area(gauge)
    stranded = STRANDED_AWG.get(gauge)
    return solid if stranded is None else max(solid, stranded * _PER_1000_FT)


@lru_cache(maxsize=2)
def sizes(standard: Standard) -> tuple[WireSize, ...]:
    """The sizes of a standard, thinnest first."""
    if standard == "AWG":
        return tuple(WireSize(str(n), awg_area(n), awg_resistance(n), "AWG") for n in AWG_SIZES)
    return tuple(WireSize(f"{a:g}", a * 1e-6, r * 1e-3, "metric") for a, r in CLASS_5)


@lru_cache(maxsize=1)
def cable_sizes() -> tuple[WireSize, ...]:
    """The sizes of battery and starter cables, thinnest first.

    Examples
    --------
    >>> [size.name for size in cable_sizes()]
    ['6', '10', '16', '25', '35', '50']
    """
    rows = [row for row in (*CLASS_5, *THICK_CLASS_5) if row[0] >= 6.0]
    return tuple(WireSize(f"{a:g}", a * 1e-6, r * 1e-3, "metric") for a, r in rows)


def adiabatic_rise(size: WireSize, current: float, seconds: float, start_k: float) -> float:
    """By how much copper warms while so short a current passes that no heat leaves it.

    Parameters
    ----------
    size : WireSize
    current : float
        [A]
    seconds : float
        [s]
    start_k : float
        [K]

    Returns
    -------
    float
        Upper, since some heat does leave [K]

    Notes
    -----
    I² t = (K A)² ln((b + T end)/(b + T start)), b = 234.5 C, K = 226 A s^0.5/mm² for copper:
    IEC 60949 (third party). Checked in tests/published/test_wire_drop.py.

    Examples
    --------
    >>> print(f"{adiabatic_rise(cable_sizes()[2], 120.0, 10.0, 293.15):.1f} K")
    2.8 K
    """
    guards.not_negative("Current", current, "A")
    guards.not_negative("Time", seconds, "s")
    above = start_k - 273.15 + 234.5
    return above * math.expm1((current / (226e6 * size.area)) ** 2 * seconds)


def size_named(
    name: str, standard: Standard, offered: tuple[WireSize, ...] | None = None
) -> WireSize:
    """The size somebody wrote: '1.5', '1.5 mm2', 'AWG 16'; of those offered, else the standard's.

    Raises
    ------
    InputError
        If the standard has no such size.
    """
    bare = name.casefold().replace("awg", "").replace("mm2", "").replace("mm²", "").strip()
    known = sizes(standard) if offered is None else offered
    for size in known:
        if bare in (size.name, f"{size.name}.0"):
            return size
    raise InputError(
        "This size is not sold" if standard == "metric" else "This gauge is not offered",
        given=name, allowed=", ".join(size.words for size in known),
    )  # fmt: skip


def resistance(size: WireSize, length: float, conductor_k: float = _REFERENCE_K) -> float:
    """Resistance of a length of wire at the temperature of its copper.

    Parameters
    ----------
    size : WireSize
    length : float
        Of the conductor, out or back, not both [m]
    conductor_k : float
        [K]

    Returns
    -------
    float
        [ohm]

    Notes
    -----
    R = R20 * L * (234.5 + t)/254.5. Source: IEC 60228 (R20); AC 43.13-1B, chapter 11 (234.5).
    Checked in tests/published/test_wire_drop.py.

    Examples
    --------
    >>> print(f"{resistance(size_named('1.5', 'metric'), 6.0) * 5.0:.3f} V at 5 A")
    0.399 V at 5 A
    """
    guards.not_negative("Length", length, "m")
    return resistance_at(size.ohm_per_m * length, _REFERENCE_K, conductor_k, "inferred zero")


def voltage_drop(
    size: WireSize, length: float, current: float, conductor_k: float = _REFERENCE_K
) -> float:
    """Volts lost along a length of wire.

    Parameters
    ----------
    size : WireSize
    length : float
        Of the conductor [m]
    current : float
        [A]
    conductor_k : float
        [K]

    Returns
    -------
    float
        [V]

    Notes
    -----
    Ohm's law over `resistance`. Checked in tests/published/test_wire_drop.py.

    Examples
    --------
    >>> print(f"{voltage_drop(size_named('1', 'metric'), 5.0, 5.0):.4f} V")
    0.4875 V
    """
    guards.not_negative("Current", current, "A")
    return current * resistance(size, length, conductor_k)


def hot_length(length: float, conductor_k: float) -> float:
    """The length of hot wire that drops as much as this length does at 20 C.

    Parameters
    ----------
    length : float
        At 20 C [m]
    conductor_k : float
        [K]

    Returns
    -------
    float
        [m]

    Notes
    -----
    L2 = L1 * 254.5/(234.5 + t2). Source: AC 43.13-1B, chapter 11.
    Checked in tests/published/test_wire_drop.py.

    Examples
    --------
    >>> print(f"{hot_length(39.0, 378.15):.2f}")
    29.24
    """
    guards.not_negative("Length", length, "m")
    return length / resistance_at(1.0, _REFERENCE_K, conductor_k, "inferred zero")
