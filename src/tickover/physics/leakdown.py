"""The leak-down test as two holes in a row: the tester's master jet and the cylinder's leak.

    supply p1 --master jet-- cylinder p2 --leak-- outside

The percentage depends on the jet; the area of the leak does not. Two testers, and the leak-down
and cranking tests, can be compared only through the area. All areas here are effective: own area
times discharge coefficient.
"""

from __future__ import annotations

import math

from tickover.errors import InputError
from tickover.physics.atmosphere import SEA_LEVEL_PRESSURE
from tickover.physics.orifice import flow_factor

#: Master jets of AC 43.13-1B (FAA, 1998, change 1 of 2001), paragraph 8-14, for aircraft
#: cylinders: below and from 5 inch bore [m].
FAA_SMALL_JET = 0.040 * 0.0254
FAA_LARGE_JET = 0.060 * 0.0254

#: Discharge coefficient assumed for a drilled master jet (0.75 to 0.85, common practice, no
#: source); it scales every area alike and cancels between testers.
JET_DISCHARGE = 0.80


def jet_area(diameter: float, discharge: float = JET_DISCHARGE) -> float:
    """Effective area of a master jet.

    Parameters
    ----------
    diameter : float
        [m], 0.2 to 5 mm
    discharge : float
        [1]

    Returns
    -------
    float
        [m2]

    Raises
    ------
    InputError
        If the diameter is not a master jet's.

    Examples
    --------
    >>> print(f"{1e6 * jet_area(1.0e-3):.3f} mm2")
    0.628 mm2
    """
    if not 0.2e-3 <= diameter <= 5e-3:
        raise InputError(
            "The master jet's diameter is not one",
            given=f"{diameter * 1e3:g} mm",
            allowed="0.2 to 5 mm",
            instead="1.0 mm, or 0.040 in",
        )
    return discharge * math.pi / 4.0 * diameter * diameter


def percent_lost(supply: float, cylinder: float) -> float:
    """Leak-down percentage of two gauge readings.

    Parameters
    ----------
    supply, cylinder : float
        Gauge pressures before and behind the master jet [Pa]

    Returns
    -------
    float
        0 to 100 [%]

    Raises
    ------
    InputError
        If the cylinder's gauge is above the supply's, or either is not a pressure.

    Notes
    -----
    Source: FAA AC 43.13-1B, 8-14: below 60 of 80 psi, 25 percent, is suspect (written for
    aircraft cylinders). Checked in tests/published/test_leakdown_faa.py.

    Examples
    --------
    >>> percent_lost(80.0, 60.0)
    25.0
    """
    if not supply > 0.0 or not 0.0 <= cylinder <= supply:
        raise InputError(
            "The cylinder's gauge must stand between nothing and the supply's",
            given=f"{cylinder:g} of {supply:g} Pa",
            allowed="0 to the supply pressure; zero both gauges and read again",
        )
    return 100.0 * (supply - cylinder) / supply


def leak_area(
    supply: float, cylinder: float, jet: float, air_pressure: float = SEA_LEVEL_PRESSURE
) -> float:
    """Area of the leak behind a master jet.

    Parameters
    ----------
    supply, cylinder : float
        Gauge pressures before and behind the jet [Pa]
    jet : float
        Effective area of the jet [m2]
    air_pressure : float
        Outside, absolute [Pa]

    Returns
    -------
    float
        Effective [m2]; 0 when both gauges agree.

    Raises
    ------
    InputError
        If nothing stands in the cylinder (100 percent), which is no leak figure, or the gauges
        contradict each other.

    Notes
    -----
    Equal mass flow through both, isentropic, same temperature: A p1 f(p2/p1) = a p2 f(pa/p2).
    Source: orifice flow as in `orifice`. Checked in tests/published/test_leakdown_faa.py.

    Examples
    --------
    >>> psi = 6894.757
    >>> print(f"{1e6 * leak_area(80 * psi, 60 * psi, jet_area(1.016e-3)):.2f} mm2")
    0.69 mm2
    """
    lost = percent_lost(supply, cylinder)
    if lost >= 99.5:
        raise InputError(
            "No pressure stands in the cylinder, so this is not a leak figure",
            given=f"{lost:.0f} percent",
            allowed="below 99.5 percent",
            instead="it again after checking the adaptor, and that both valves are shut at the "
            "top of the compression stroke",
        )
    p1, p2 = supply + air_pressure, cylinder + air_pressure
    return jet * p1 * flow_factor(p2 / p1) / (p2 * flow_factor(air_pressure / p2))


def cylinder_pressure(
    leak: float, supply: float, jet: float, air_pressure: float = SEA_LEVEL_PRESSURE
) -> float:
    """What the cylinder's gauge shows for a leak of known area.

    Parameters
    ----------
    leak, jet : float
        Effective areas [m2]
    supply : float
        Gauge pressure before the jet [Pa]
    air_pressure : float
        Outside, absolute [Pa]

    Returns
    -------
    float
        Gauge [Pa]

    Raises
    ------
    InputError
        If an area is negative or the supply is not above 0.

    Examples
    --------
    >>> psi = 6894.757
    >>> print(f"{cylinder_pressure(0.6863e-6, 80 * psi, jet_area(1.016e-3)) / psi:.0f} psi")
    60 psi
    """
    if leak < 0.0 or not jet > 0.0 or not supply > 0.0:
        raise InputError(
            "Leak, jet and supply pressure must be above zero",
            given=f"{leak * 1e6:g} mm2, {jet * 1e6:g} mm2, {supply:g} Pa",
        )
    p1 = supply + air_pressure
    low, high = air_pressure, p1
    for _ in range(60):
        p2 = 0.5 * (low + high)
        comes = jet * p1 * flow_factor(p2 / p1)
        goes = leak * p2 * flow_factor(air_pressure / p2)
        if comes > goes:
            low = p2
        else:
            high = p2
    return 0.5 * (low + high) - air_pressure


def leak_area_of_percent(
    percent: float, supply: float, jet: float, air_pressure: float = SEA_LEVEL_PRESSURE
) -> float:
    """Area of the leak from a tester's percentage.

    Parameters
    ----------
    percent : float
        Lost, 0 to below 99.5 [%]
    supply : float
        Gauge pressure before the jet [Pa]
    jet : float
        Effective area of the jet [m2]
    air_pressure : float
        Outside, absolute [Pa]

    Returns
    -------
    float
        Effective [m2]

    Raises
    ------
    InputError
        If the percentage is not one, or says that nothing holds.

    Examples
    --------
    >>> psi = 6894.757
    >>> print(f"{1e6 * leak_area_of_percent(10.0, 100 * psi, jet_area(1e-3)):.2f} mm2")
    0.40 mm2
    """
    if not 0.0 <= percent <= 100.0:
        raise InputError(
            "A leak-down percentage lies between 0 and 100",
            given=f"{percent:g}",
            allowed="0 to 100 percent",
        )
    return leak_area(supply, supply * (1.0 - percent / 100.0), jet, air_pressure)


def percent_of_leak(
    leak: float, supply: float, jet: float, air_pressure: float = SEA_LEVEL_PRESSURE
) -> float:
    """What percentage a tester shows for a leak of known area: compare two testers with this.

    Parameters
    ----------
    leak, jet : float
        Effective areas [m2]
    supply : float
        Gauge pressure before the jet [Pa]
    air_pressure : float
        Outside, absolute [Pa]

    Returns
    -------
    float
        [%]

    Examples
    --------
    >>> psi = 6894.757
    >>> small, large = jet_area(1e-3), jet_area(1.5e-3)
    >>> leak = leak_area_of_percent(20.0, 100 * psi, small)
    >>> print(f"{percent_of_leak(leak, 80 * psi, large):.0f} percent on the other tester")
    5 percent on the other tester
    """
    return percent_lost(supply, cylinder_pressure(leak, supply, jet, air_pressure))
