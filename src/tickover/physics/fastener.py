"""Torque, preload and what a screw can stand.

A torque wrench measures friction: of a tightening torque nine tenths go into rubbing and only a
tenth into pull. Every preload here is therefore given with its spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band
from tickover.physics.metrology import (
    Estimate,
    combined_uncertainty,
    rectangular_uncertainty,
)
from tickover.physics.thread import Thread

# ISO 898-1:2013: class to proof stress and least tensile strength [MPa].
_CLASSES = {
    "4.6": (225.0, 400.0), "4.8": (310.0, 420.0), "5.6": (280.0, 500.0), "5.8": (380.0, 520.0),
    "6.8": (440.0, 600.0), "8.8": (580.0, 800.0), "9.8": (650.0, 900.0), "10.9": (830.0, 1040.0),
    "12.9": (970.0, 1220.0),
}  # fmt: skip
_CLASS_88_OVER_M16 = (600.0, 830.0)

NUT_FACTORS = {"black, as made": 0.30, "zinc plated": 0.20, "oiled": 0.18, "cadmium plated": 0.16}
"""K in torque = K * preload * diameter, by surface.

Source: Shigley's Mechanical Engineering Design, 9th edition, table 8-15. One number for a whole
family of surfaces: a spread of a quarter either way is usual."""

TORQUE_WRENCH_SPREAD = 0.25
"""Preload reached with a torque wrench and friction that is only guessed, as a share either way
(secondary sources agree on about 25 to 30 percent)."""


def proof_stress(property_class: str, diameter: float) -> float:
    """Stress a screw of a class must stand without staying longer.

    Parameters
    ----------
    property_class : str
        As stamped on the head: "8.8"
    diameter : float
        Nominal [m]

    Returns
    -------
    float
        [Pa]

    Raises
    ------
    InputError
        If there is no such class.

    Notes
    -----
    Source: ISO 898-1:2013, from published copies of its table.
    Checked in tests/published/test_iso898_fasteners.py.

    Examples
    --------
    >>> print(f"{proof_stress('8.8', 0.008) / 1e6:.0f} {proof_stress('8.8', 0.020) / 1e6:.0f} MPa")
    580 600 MPa
    """
    return 1e6 * _strengths(property_class, diameter)[0]


def tensile_strength(property_class: str, diameter: float) -> float:
    """Least tensile strength of a screw of a class.

    Parameters
    ----------
    property_class : str
        As stamped on the head.
    diameter : float
        Nominal [m]

    Returns
    -------
    float
        [Pa]

    Raises
    ------
    InputError
        If there is no such class.

    Notes
    -----
    Source: ISO 898-1:2013, from published copies of its table.
    Checked in tests/published/test_iso898_fasteners.py.

    Examples
    --------
    >>> print(f"{tensile_strength('10.9', 0.010) / 1e6:.0f} MPa")
    1040 MPa
    """
    return 1e6 * _strengths(property_class, diameter)[1]


def proof_load(thread: Thread, property_class: str) -> float:
    """Pull a screw must stand without staying longer.

    Parameters
    ----------
    thread : Thread
    property_class : str

    Returns
    -------
    float
        [N]

    Raises
    ------
    InputError
        If there is no such class.

    Notes
    -----
    Stress area times proof stress. Checked in tests/published/test_iso898_fasteners.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{proof_load(thread('M8'), '8.8') / 1e3:.1f} kN")
    21.2 kN
    """
    return thread.stress_area * proof_stress(property_class, thread.major)


def breaking_load(thread: Thread, property_class: str) -> float:
    """Pull at which a screw of least strength breaks.

    Parameters
    ----------
    thread : Thread
    property_class : str

    Returns
    -------
    float
        [N]

    Raises
    ------
    InputError
        If there is no such class.

    Notes
    -----
    Stress area times least tensile strength. Checked in
    tests/published/test_iso898_fasteners.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{breaking_load(thread('M8'), '8.8') / 1e3:.1f} kN")
    29.3 kN
    """
    return thread.stress_area * tensile_strength(property_class, thread.major)


def torque_per_preload(
    thread: Thread, thread_friction: float, head_friction: float, bearing_diameter: float
) -> float:
    """Tightening torque for each newton of preload.

    Parameters
    ----------
    thread : Thread
    thread_friction, head_friction : float
        Coefficients of friction [1]
    bearing_diameter : float
        Mean diameter of the rubbing face under head or nut [m]

    Returns
    -------
    float
        [N m / N]

    Raises
    ------
    InputError
        If a friction is negative, or the bearing diameter not above zero.

    Notes
    -----
    P/(2*pi) + d2*mu/(2*cos(half flank angle)) + D*mu/2: work against pull, thread and face. The
    long form of the textbooks and of VDI 2230 (from memory for the citation), lead angle small.
    Checked in tests/published/test_torque_preload.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> k = torque_per_preload(thread("M8"), 0.12, 0.12, 0.011) / 0.008
    >>> print(f"K = {k:.4f}")
    K = 0.1696
    """
    guards.not_negative("Thread friction", thread_friction)
    guards.not_negative("Friction under the head", head_friction)
    guards.positive("Bearing diameter", bearing_diameter, "m")
    return (
        thread.pitch / (2.0 * math.pi)
        + 0.5 * thread.pitch_diameter * thread_friction / math.cos(thread.flank_angle)
        + 0.5 * bearing_diameter * head_friction
    )


def torque_by_factor(preload: float, diameter: float, factor: float) -> float:
    """Tightening torque by the short formula.

    Parameters
    ----------
    preload : float
        [N]
    diameter : float
        Nominal [m]
    factor : float
        K, as in `NUT_FACTORS` [1]

    Returns
    -------
    float
        [N m]

    Raises
    ------
    InputError
        If diameter or factor is not above zero.

    Notes
    -----
    T = K*F*d. Source: Shigley's Mechanical Engineering Design, 9th edition, eq. 8-27.
    Checked in tests/published/test_torque_preload.py.

    Examples
    --------
    >>> print(f"{torque_by_factor(15921.0, 0.008, 0.2):.3f} N m")
    25.474 N m
    """
    guards.positive("Diameter", diameter, "m")
    guards.positive("Nut factor", factor)
    return factor * preload * diameter


def friction_of_factor(factor: float, thread: Thread, bearing_diameter: float) -> float:
    """Friction, the same in thread and under the head, that a nut factor stands for.

    Parameters
    ----------
    factor : float
        K [1]
    thread : Thread
    bearing_diameter : float
        [m]

    Returns
    -------
    float
        [1]

    Raises
    ------
    InputError
        If the factor is below that of a frictionless thread.

    Notes
    -----
    `torque_per_preload` solved for one common friction.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{friction_of_factor(0.18, thread('M8'), 0.011):.3f}")
    0.129
    """
    without = thread.pitch / (2.0 * math.pi)
    with_one = torque_per_preload(thread, 1.0, 1.0, bearing_diameter) - without
    friction = (factor * thread.major - without) / with_one
    if friction < 0.0:
        raise InputError(
            "No thread turns so easily",
            given=f"K = {factor:g}",
            allowed=f"{without / thread.major:.3f} and more",
        )
    return friction


@dataclass(frozen=True, slots=True)
class Preload:
    """Pull in a tightened screw.

    Parameters
    ----------
    estimate : Estimate
        Middle and standard uncertainty [N]
    extremes : Band
        With friction and torque at the ends of what was given [N]
    """

    estimate: Estimate
    extremes: Band


def preload(
    torque: Estimate,
    thread: Thread,
    thread_friction: Band | float,
    head_friction: Band | float,
    bearing_diameter: float,
) -> Preload:
    """Preload that a torque gives, with its spread.

    Parameters
    ----------
    torque : Estimate
        With the standard uncertainty of the wrench [N m]
    thread : Thread
    thread_friction, head_friction : Band or float
        Coefficients of friction [1]
    bearing_diameter : float
        [m]

    Returns
    -------
    Preload

    Raises
    ------
    InputError
        If the torque or bearing diameter is not above zero, or a friction negative.

    Notes
    -----
    F = T / `torque_per_preload`; uncertainty to first order, friction bands taken as rectangular
    and independent (GUM 4.3.7, 5.1.2). The extremes take the torque at plus and minus two
    standard uncertainties. With bands as wide as most friction is, F is not quite symmetric: the
    extremes show it.
    Checked in tests/published/test_torque_preload.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> pull = preload(Estimate(25.0, 0.5), thread("M8"), Band(0.10, 0.16), Band(0.10, 0.16), 0.011)
    >>> print(f"{pull.estimate.value / 1e3:.1f} +- {pull.estimate.uncertainty / 1e3:.1f} kN, "
    ...       f"{pull.extremes.low / 1e3:.1f} to {pull.extremes.high / 1e3:.1f} kN")
    17.2 +- 1.5 kN, 13.8 to 22.3 kN
    """
    guards.positive("Torque", torque.value, "N m")
    in_thread, under_head = as_band(thread_friction), as_band(head_friction)
    middle = torque_per_preload(thread, in_thread.middle, under_head.middle, bearing_diameter)
    least = torque_per_preload(thread, in_thread.low, under_head.low, bearing_diameter)
    most = torque_per_preload(thread, in_thread.high, under_head.high, bearing_diameter)
    by_thread = 0.5 * thread.pitch_diameter / math.cos(thread.flank_angle)
    relative = combined_uncertainty(
        torque.uncertainty / torque.value,
        by_thread * rectangular_uncertainty(in_thread.half_width) / middle,
        0.5 * bearing_diameter * rectangular_uncertainty(under_head.half_width) / middle,
    )
    value = torque.value / middle
    low = max(0.0, torque.value - torque.expanded()) / most
    high = (torque.value + torque.expanded()) / least
    return Preload(Estimate(value, value * relative), Band(low, high))


def tightening_stress(pull: float, thread: Thread, thread_friction: float) -> float:
    """Stress in a screw while it is being tightened: pull and twist together.

    Parameters
    ----------
    pull : float
        Preload [N]
    thread : Thread
    thread_friction : float
        [1]

    Returns
    -------
    float
        Compare with the proof stress [Pa]

    Raises
    ------
    InputError
        If pull or friction is negative.

    Notes
    -----
    sqrt(s^2 + 3*t^2), s = F/As, t = 16*M/(pi*ds^3) with M the torque in the thread and ds the
    diameter of the stress area (von Mises; textbooks). Some of the twist goes when the wrench
    comes off.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{tightening_stress(16e3, thread('M8'), 0.12) / 1e6:.0f} MPa")
    535 MPa
    """
    guards.not_negative("Preload", pull, "N")
    guards.not_negative("Thread friction", thread_friction)
    in_thread = pull * (
        thread.pitch / (2.0 * math.pi)
        + 0.5 * thread.pitch_diameter * thread_friction / math.cos(thread.flank_angle)
    )
    tension = pull / thread.stress_area
    twist = 16.0 * in_thread / (math.pi * thread.stress_diameter**3)
    return math.sqrt(tension**2 + 3.0 * twist**2)


def share_of_proof(pull: Preload, thread: Thread, property_class: str) -> Band:
    """How much of the proof load a preload uses up.

    Parameters
    ----------
    pull : Preload
    thread : Thread
    property_class : str

    Returns
    -------
    Band
        1 is the proof load [1]

    Raises
    ------
    InputError
        If there is no such class.

    Notes
    -----
    Extremes of the preload over `proof_load`. Textbooks aim at 0.75 for joints that are taken
    apart again (Shigley, eq. 8-31, secondary). The head torque of an engine is set by its gasket
    and by soft threads: the service manual comes first.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> pull = Preload(Estimate(16e3, 1e3), Band(13e3, 20e3))
    >>> share = share_of_proof(pull, thread("M8"), "8.8")
    >>> print(f"{share.low:.2f} to {share.high:.2f}")
    0.61 to 0.94
    """
    return pull.extremes / proof_load(thread, property_class)


def _strengths(property_class: str, diameter: float) -> tuple[float, float]:
    guards.positive("Diameter", diameter, "m")
    if property_class not in _CLASSES:
        raise InputError(
            "Not a property class",
            given=property_class,
            allowed=", ".join(_CLASSES),
            instead="the two numbers on the head of the screw, as 8.8",
        )
    if property_class == "8.8" and diameter > 0.016:
        return _CLASS_88_OVER_M16
    return _CLASSES[property_class]
