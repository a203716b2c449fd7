"""Gas through a hole: isentropic flow, choked or not.

Areas are *effective* areas: the hole's own area times its discharge coefficient.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics.gas import AIR_GAS_CONSTANT


@dataclass(frozen=True, slots=True)
class FlowRatios:
    """Ratios to the state at rest for a gas moving at some Mach number, all [1]."""

    temperature: float
    pressure: float
    density: float
    area: float  # over the area where the flow would be sonic


def isentropic_ratios(mach: float, gamma: float = 1.4) -> FlowRatios:
    """Temperature, pressure, density and area ratios of isentropic flow.

    Parameters
    ----------
    mach : float
        Speed over the local speed of sound [1], above 0
    gamma : float
        Ratio of heats [1]

    Returns
    -------
    FlowRatios
        [1]

    Raises
    ------
    InputError
        If mach is not above 0.

    Notes
    -----
    Source: NACA Report 1135, "Equations, Tables, and Charts for Compressible Flow" (1953),
    equations 43 to 45 and 80.
    Checked in tests/published/test_naca1135.py.

    Examples
    --------
    >>> print(f"{isentropic_ratios(0.5).pressure:.4f}")
    0.8430
    """
    if not mach > 0.0:
        raise InputError("The Mach number must be above 0", given=f"{mach:g}", allowed="above 0")
    rest = 1.0 + 0.5 * (gamma - 1.0) * mach * mach
    power = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    return FlowRatios(
        temperature=1.0 / rest,
        pressure=rest ** (-gamma / (gamma - 1.0)),
        density=rest ** (-1.0 / (gamma - 1.0)),
        area=(2.0 * rest / (gamma + 1.0)) ** power / mach,
    )


def critical_ratio(gamma: float = 1.4) -> float:
    """Pressure ratio, downstream over upstream, below which the flow is choked.

    Parameters
    ----------
    gamma : float
        Ratio of heats [1]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> print(f"{critical_ratio():.4f}")
    0.5283
    """
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


def flow_factor(pressure_ratio: float, gamma: float = 1.4) -> float:
    """Dimensionless mass flow through a hole, mdot sqrt(R T) / (A p) of the upstream state.

    Parameters
    ----------
    pressure_ratio : float
        Downstream over upstream pressure [1], 0 to 1
    gamma : float
        Ratio of heats [1]

    Returns
    -------
    float
        [1]; constant once choked

    Raises
    ------
    InputError
        If the ratio is not between 0 and 1: turn the flow round.

    Notes
    -----
    Source: NACA Report 1135 (1953); J. B. Heywood, Internal Combustion Engine Fundamentals
    (1988), appendix C, equations C.8 and C.9.
    Checked in tests/published/test_naca1135.py.

    Examples
    --------
    >>> print(f"{flow_factor(0.3):.4f} {flow_factor(0.9):.4f}")
    0.6847 0.4226
    """
    if not 0.0 <= pressure_ratio <= 1.0:
        raise InputError(
            "A pressure ratio across a hole lies between 0 and 1",
            given=f"{pressure_ratio:g}",
            allowed="0 to 1, downstream over upstream",
        )
    r = max(pressure_ratio, critical_ratio(gamma))
    head = r ** (2.0 / gamma) - r ** ((gamma + 1.0) / gamma)
    return math.sqrt(2.0 * gamma / (gamma - 1.0) * max(head, 0.0))


def mass_flow(
    area: float,
    upstream_pressure: float,
    upstream_temperature: float,
    downstream_pressure: float,
    gamma: float = 1.4,
) -> float:
    """Mass flow of air through a hole.

    Parameters
    ----------
    area : float
        Effective area, own area times discharge coefficient [m2]
    upstream_pressure : float
        Absolute [Pa]
    upstream_temperature : float
        [K]
    downstream_pressure : float
        Absolute [Pa], not above upstream_pressure
    gamma : float
        Ratio of heats [1]

    Returns
    -------
    float
        [kg/s]

    Notes
    -----
    Checked in tests/published/test_naca1135.py.

    Examples
    --------
    >>> print(f"{1000 * mass_flow(1e-6, 200e3, 300.0, 150e3):.4f} g/s through 1 mm2")
    0.4124 g/s through 1 mm2
    """
    factor = flow_factor(downstream_pressure / upstream_pressure, gamma)
    return area * upstream_pressure * factor / math.sqrt(AIR_GAS_CONSTANT * upstream_temperature)
