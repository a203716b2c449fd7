"""Ignition in numbers: dwell, points gap, strobe, advance curve, leads, spark voltage.

Angles are in degrees, as every dial and book has them: `_cam_deg` of the contact-breaker cam,
`_crank_deg` of the crank. The cam turns at half crank speed unless told otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band


def dwell_time(
    dwell_cam_deg: float, crank_turns_per_second: float, cam_turns_per_crank_turn: float = 0.5
) -> float:
    """Time the points stay closed for each spark.

    Parameters
    ----------
    dwell_cam_deg : float
        [deg of cam]
    crank_turns_per_second : float
        [1/s]
    cam_turns_per_crank_turn : float
        [1]

    Returns
    -------
    float
        [s]

    Raises
    ------
    InputError
        If the angle is negative or a speed not above zero.

    Notes
    -----
    Angle over cam speed; in the usual units dwell/(3*rpm) seconds.
    Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> print(f"{1e3 * dwell_time(60.0, 5000 / 60):.2f} ms")
    4.00 ms
    """
    guards.not_negative("Dwell", dwell_cam_deg, "deg")
    guards.positive("Crank speed", crank_turns_per_second, "1/s")
    guards.positive("Cam ratio", cam_turns_per_crank_turn)
    return dwell_cam_deg / (360.0 * crank_turns_per_second * cam_turns_per_crank_turn)


def dwell_percent(dwell_cam_deg: float, lobes: int) -> float:
    """Share of the time the points are closed.

    Parameters
    ----------
    dwell_cam_deg : float
        [deg of cam]
    lobes : int
        Of the cam that works these points.

    Returns
    -------
    float
        [percent]

    Raises
    ------
    InputError
        If the dwell is longer than there is room between two lobes.

    Notes
    -----
    100*dwell*lobes/360. Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> print(f"{dwell_percent(52.0, 4):.1f} percent")
    57.8 percent
    """
    _dwell_fits(dwell_cam_deg, lobes)
    return 100.0 * dwell_cam_deg * lobes / 360.0


def dwell_from_percent(percent: float, lobes: int) -> float:
    """Dwell angle from the percentage a meter shows.

    Parameters
    ----------
    percent : float
        0 to 100 [percent]
    lobes : int

    Returns
    -------
    float
        [deg of cam]

    Raises
    ------
    InputError
        If the percentage is outside 0 to 100 or there is no lobe.

    Notes
    -----
    The inverse of `dwell_percent`.

    Examples
    --------
    >>> print(f"{dwell_from_percent(50.0, 4):.0f} deg")
    45 deg
    """
    guards.within("Dwell", percent, 0.0, 100.0, "percent")
    _dwell_fits(0.0, lobes)
    return 3.6 * percent / lobes


@dataclass(frozen=True, slots=True)
class GapChange:
    """What to do to the points gap.

    Parameters
    ----------
    gap : str
        "wider", "narrower" or "leave"
    timing_shift_crank_deg : float
        What the change does to timing, positive is earlier: set timing again afterwards.
    """

    gap: Literal["wider", "narrower", "leave"]
    timing_shift_crank_deg: float


def gap_for_dwell(
    dwell_cam_deg: float,
    wanted: Band,
    lobes: int,
    cam_turns_per_crank_turn: float = 0.5,
) -> GapChange:
    """Which way to move the points gap to bring dwell into its limits.

    Parameters
    ----------
    dwell_cam_deg : float
        As measured [deg of cam]
    wanted : Band
        Limits from the book [deg of cam]
    lobes : int
    cam_turns_per_crank_turn : float
        [1]

    Returns
    -------
    GapChange

    Raises
    ------
    InputError
        If a dwell is longer than there is room between two lobes.

    Notes
    -----
    A wider gap opens sooner and closes later, so dwell falls; a lobe whose two flanks are alike
    shares the change between both, so the opening, which is the spark, moves by half of it. The
    shift is for going to the middle of the limits.

    Examples
    --------
    >>> gap_for_dwell(58.0, Band(49.0, 55.0), 4)
    GapChange(gap='wider', timing_shift_crank_deg=6.0)
    """
    for angle in (dwell_cam_deg, wanted.low, wanted.high):
        _dwell_fits(angle, lobes)
    if wanted.holds(dwell_cam_deg):
        return GapChange("leave", 0.0)
    guards.positive("Cam ratio", cam_turns_per_crank_turn)
    too_long = dwell_cam_deg - wanted.middle
    shift = 0.5 * too_long / cam_turns_per_crank_turn
    return GapChange("wider" if too_long > 0.0 else "narrower", shift)


def crank_degrees(time: float, crank_turns_per_second: float) -> float:
    """Degrees the crank turns in a time.

    Parameters
    ----------
    time : float
        [s]
    crank_turns_per_second : float
        [1/s]

    Returns
    -------
    float
        [deg of crank]

    Notes
    -----
    360*n*t. Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> print(f"{crank_degrees(1e-3, 3000 / 60):.1f} deg")
    18.0 deg
    """
    return 360.0 * crank_turns_per_second * time


def advance_from_strobe(
    shown_deg: float,
    crank_turns_per_second: float,
    delay: float | Band = 0.0,
    mark_on: Literal["crank", "cam"] = "crank",
) -> Band:
    """True advance from what a strobe lamp shows.

    Parameters
    ----------
    shown_deg : float
        Angle before top dead centre under the lamp, on the scale of the part with the mark [deg]
    crank_turns_per_second : float
        [1/s]
    delay : float or Band
        From spark to flash, of lamp and pick-up; the flash comes late, so the mark has moved on
        and the lamp shows too little advance [s]
    mark_on : "crank" or "cam"
        A mark on a part at half crank speed moves half as far.

    Returns
    -------
    Band
        Without width for a plain delay [deg of crank]

    Raises
    ------
    InputError
        If the speed is not above zero or the delay negative.

    Notes
    -----
    shown (twice shown on a cam) plus 360*n*delay.
    Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> advance_from_strobe(34.0, 5000 / 60, Band(0.0, 50e-6))
    Band(low=34.0, high=35.5)
    """
    guards.positive("Crank speed", crank_turns_per_second, "1/s")
    late = as_band(delay)
    guards.not_negative("Delay", late.low, "s")
    on_crank = shown_deg if mark_on == "crank" else 2.0 * shown_deg
    return late * (360.0 * crank_turns_per_second) + on_crank


@dataclass(frozen=True, slots=True)
class AdvanceCurve:
    """Advance against speed as the book prints it.

    Parameters
    ----------
    crank_turns_per_second : tuple of float
        Rising [1/s]
    advance_crank_deg : tuple of float
        One for each speed [deg of crank]
    tolerance_deg : float
        Either way [deg of crank]

    Raises
    ------
    InputError
        If the lists differ in length, are empty, or the speeds do not rise.
    """

    crank_turns_per_second: tuple[float, ...]
    advance_crank_deg: tuple[float, ...]
    tolerance_deg: float = 0.0

    def __post_init__(self) -> None:
        speeds, angles = self.crank_turns_per_second, self.advance_crank_deg
        if not speeds or len(speeds) != len(angles):
            raise InputError(
                "An advance curve needs one angle for each speed",
                given=f"{len(speeds)} speeds, {len(angles)} angles",
            )
        if any(not a < b for a, b in pairwise(speeds)):
            raise InputError("The speeds of an advance curve must rise")
        guards.not_negative("Tolerance", self.tolerance_deg, "deg")


def expected_advance(curve: AdvanceCurve, crank_turns_per_second: Band | float) -> Band:
    """Advance the book allows at a speed.

    Parameters
    ----------
    curve : AdvanceCurve
    crank_turns_per_second : Band or float
        A band if the rev counter is not exact [1/s]

    Returns
    -------
    Band
        [deg of crank]

    Raises
    ------
    InputError
        If a speed is negative.

    Notes
    -----
    Straight lines between printed points, level before the first and after the last: weights
    against their stops. Within a speed band every corner of the curve counts.

    Examples
    --------
    >>> book = AdvanceCurve((1500 / 60, 3000 / 60), (12.0, 38.0), 2.0)
    >>> expected_advance(book, 2250 / 60)
    Band(low=23.0, high=27.0)
    """
    speed = as_band(crank_turns_per_second)
    guards.not_negative("Crank speed", speed.low, "1/s")
    known = curve.crank_turns_per_second
    places = [speed.low, speed.high, *(s for s in known if speed.holds(s))]
    angles = np.interp(places, known, curve.advance_crank_deg)
    return Band(float(angles.min()), float(angles.max())) + Band(
        -curve.tolerance_deg, curve.tolerance_deg
    )


def coil_charge(time: float, time_constant: float) -> float:
    """Share of its final current a coil has reached.

    Parameters
    ----------
    time : float
        Since the points closed [s]
    time_constant : float
        Inductance over resistance of the primary circuit [s]

    Returns
    -------
    float
        0 to 1 [1]

    Raises
    ------
    InputError
        If the time is negative or the constant not above zero.

    Notes
    -----
    1 - exp(-t/tau). Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> print(f"{100 * coil_charge(4.0e-3, 1.911e-3):.1f} percent")
    87.7 percent
    """
    guards.not_negative("Time", time, "s")
    guards.positive("Time constant", time_constant, "s")
    return -math.expm1(-time / time_constant)


def coil_time_constant(time: float, share: float) -> float:
    """Time constant of a coil that reaches a share of its final current in a time.

    Parameters
    ----------
    time : float
        [s]
    share : float
        Between 0 and 1 [1]

    Returns
    -------
    float
        [s]

    Raises
    ------
    InputError
        If the time is not above zero or the share not between 0 and 1.

    Notes
    -----
    The inverse of `coil_charge`.

    Examples
    --------
    >>> print(f"{1e3 * coil_time_constant(4.4e-3, 0.9):.3f} ms")
    1.911 ms
    """
    guards.positive("Time", time, "s")
    if not 0.0 < share < 1.0:
        raise InputError("The share must lie between 0 and 1", given=f"{share:g}")
    return -time / math.log1p(-share)


def spark_voltage(
    gap: float,
    pressure: float,
    temperature: float = 293.15,
    ionisation: float = 15.0,
    field: float = 365.0,
    secondary: float = 0.01,
) -> float:
    """Order of magnitude of the voltage that jumps a gap in air.

    Parameters
    ----------
    gap : float
        [m]
    pressure : float
        Absolute [Pa]
    temperature : float
        Of the gas in the gap [K]
    ionisation, field : float
        Townsend constants of air at 20 C [1/(cm Torr), V/(cm Torr)]
    secondary : float
        Electrons freed at the cathode for each ion, from memory [1]

    Returns
    -------
    float
        [V]

    Raises
    ------
    InputError
        If gap, pressure or temperature is not above zero, or the gap so small that the formula
        has no answer.

    Notes
    -----
    Paschen's law, V = B*p*d/(ln(A*p*d) - ln(ln(1 + 1/g))), pressure scaled by 293.15 K over the
    gas temperature because density is what counts. 10 to 30 percent high for plug gaps in open
    air; sharp electrodes need less still. It explains why a spark in the open proves little; it
    decides nothing. Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> print(f"{spark_voltage(0.6e-3, 1e5) / 1e3:.1f} {spark_voltage(0.7e-3, 1e6) / 1e3:.1f} kV")
    3.3 25.8 kV
    """
    guards.positive("Plug gap", gap, "m")
    guards.positive("Pressure", pressure, "Pa")
    guards.positive("Temperature", temperature, "K")
    torr_cm = pressure / (101325.0 / 760.0) * (293.15 / temperature) * 100.0 * gap
    below = math.log(ionisation * torr_cm) - math.log(math.log1p(1.0 / secondary))
    if below <= 0.0:
        raise InputError(
            "The gap is too small for this formula", given=f"{1e6 * gap:g} um", allowed="0.1 mm"
        )
    return field * torr_cm / below


def _dwell_fits(dwell_cam_deg: float, lobes: int) -> None:
    if lobes < 1:
        raise InputError("A breaker cam has at least one lobe", given=str(lobes))
    guards.within("Dwell", dwell_cam_deg, 0.0, 360.0 / lobes, "deg")
