"""Leak-down figures as areas, and the two tests held against each other."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.physics.leakdown import leak_area_of_percent, percent_of_leak
from tickover.tasks.compression.described import Conditions, CylinderReadings, CylinderSpec

FAA_SUSPECT_PERCENT = 25.0  # AC 43.13-1B, 80 psi, 0.040 in jet: written for aircraft cylinders
_GAUGE_SHARE = 0.02  # of the supply: two dials of a tester read apart by about that


@dataclass(frozen=True, slots=True)
class LeakFigure:
    """A leak-down reading of one cylinder.

    Parameters
    ----------
    place : str
    percent : float
        As read [%]
    area_mm2 : tuple of float
        Low, middle, high of the leak's effective area [mm2], 80 percent
    remark : str
        What to know about the figure; empty if nothing
    """

    place: str
    percent: float
    area_mm2: tuple[float, float, float] | None
    remark: str


def leak_figure(reading: CylinderReadings, day: Conditions) -> LeakFigure | None:
    """A cylinder's leak-down as an area with its interval.

    Parameters
    ----------
    reading : CylinderReadings
    day : Conditions

    Returns
    -------
    LeakFigure or None
        None without a reading.
    """
    percent = reading.leak_percent
    if percent is None:
        return None
    if percent >= 99.5:
        return LeakFigure(
            reading.place,
            percent,
            None,
            "Nothing holds: check the adaptor, and that the piston stands at the top of its "
            "compression stroke with both valves shut. Not a leak figure, and not counted.",
        )
    spread = 1.28 * 100.0 * _GAUGE_SHARE  # points of percent

    def area(value: float) -> float:
        bounded = min(max(value, 0.0), 99.0)
        figure = leak_area_of_percent(bounded, day.supply_pressure, day.jet_area, day.air_pressure)
        return 1e6 * figure

    remark = ""
    if percent < 1.0:
        remark = (
            "Nothing lost is less than two dials can tell: zero both, and prove the tester on a "
            "known hole. Taken as below the upper figure."
        )
    elif percent > 90.0:
        remark = "So large a loss may be a valve not shut: check that the piston is at the top."
    return LeakFigure(
        reading.place,
        percent,
        (area(percent - spread), area(percent), area(percent + spread)),
        remark,
    )


def percent_on(area_mm2: float, supply: float, jet_area: float, air_pressure: float) -> float:
    """What another tester would show for the same leak.

    Parameters
    ----------
    area_mm2 : float
        [mm2]
    supply : float
        Gauge [Pa]
    jet_area : float
        Effective [m2]
    air_pressure : float
        [Pa]

    Returns
    -------
    float
        [%]
    """
    return percent_of_leak(area_mm2 * 1e-6, supply, jet_area, air_pressure)


def cross_check(
    spec: CylinderSpec,
    figure: LeakFigure | None,
    dry: float | None,
    expected_last: tuple[float, float, float],
    best: float | None,
) -> str:
    """What leak-down and cranking say of each other; empty if they agree or one is missing.

    Parameters
    ----------
    spec : CylinderSpec
    figure : LeakFigure, optional
    dry : float, optional
        Gauge [Pa]
    expected_last : tuple of float
        Low, middle, high of a sound cylinder [Pa]
    best : float, optional
        Highest dry reading of the engine [Pa]

    Returns
    -------
    str
    """
    if figure is None or figure.area_mm2 is None or dry is None:
        return ""
    scale = spec.bore / 0.056
    area = figure.area_mm2[1]
    low = dry < expected_last[0] or (best is not None and dry < 0.85 * best)
    if low and area < 0.55 * scale:
        return (
            "Low when cranked, yet it holds air at rest: the charge does not get in or leaves "
            "before the valve shuts. Look at throttle, cam timing and cranking speed."
        )
    if not low and area > 1.2 * scale:
        return (
            "It leaks at rest, yet pumps up well when cranked: rings that seat only when moving, "
            "or the piston was not at the top. Repeat the leak-down."
        )
    return ""
