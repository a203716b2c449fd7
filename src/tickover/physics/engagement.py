"""How deep a screw must go in so that it breaks before a thread strips."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.thread import Thread

SHEAR_OF_TENSILE = 0.6
"""Shear strength over tensile strength of steels and aluminium alloys (practice, from memory):
a stand-in where the data sheet gives no shear strength."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Worst diameters a pair of threads may have: the loosest fit.

    Parameters
    ----------
    screw_major_min, screw_pitch_min : float
        [m]
    nut_pitch_max, nut_minor_max : float
        [m]
    """

    screw_major_min: float
    screw_pitch_min: float
    nut_pitch_max: float
    nut_minor_max: float


def basic_limits(thread: Thread) -> Limits:
    """Return the nominal profile, as if both parts were perfect.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    Limits
        [m]

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e3 * basic_limits(thread('M8')).nut_minor_max:.3f}")
    6.647
    """
    return Limits(thread.major, thread.pitch_diameter, thread.pitch_diameter, thread.nut_minor)


def medium_limits(thread: Thread) -> Limits:
    """Loosest diameters of a metric screw 6g in a tapped hole 6H.

    Parameters
    ----------
    thread : Thread
        Metric, 0.5 to 3 mm pitch

    Returns
    -------
    Limits
        [m]

    Raises
    ------
    InputError
        For a thread that is not metric, or a pitch outside this range.

    Notes
    -----
    The formulas behind the tables of ISO 965-1 (from memory): with P and d in mm, in um,
    es = 15 + 11 P, Td = 180 P^(2/3) - 3.15/sqrt(P), Td2 = 90 P^0.4 d^0.1, TD2 = 1.32 Td2,
    TD1 = 433 P - 190 P^1.22 up to 0.8 mm, 230 P^0.7 above. The tables round to preferred numbers
    and take d in steps, so a difference of some micrometres remains.
    Checked in tests/published/test_iso_threads.py against printed limits.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e3 * medium_limits(thread('M10')).nut_pitch_max:.2f} mm")
    9.20 mm
    """
    if thread.form.name != "ISO":
        raise InputError(
            "Limits of size are only known for metric threads", given=thread.name, instead="M8"
        )
    p, d = 1e3 * thread.pitch, 1e3 * thread.major
    guards.within("Thread pitch", p, 0.5, 3.0, "mm")
    allowance = 15.0 + 11.0 * p
    major = 180.0 * p ** (2.0 / 3.0) - 3.15 / math.sqrt(p)
    pitch_screw = 90.0 * p**0.4 * d**0.1
    minor = 433.0 * p - 190.0 * p**1.22 if p <= 0.8 else 230.0 * p**0.7
    micrometre = 1e-6
    return Limits(
        screw_major_min=thread.major - (allowance + major) * micrometre,
        screw_pitch_min=thread.pitch_diameter - (allowance + pitch_screw) * micrometre,
        nut_pitch_max=thread.pitch_diameter + 1.32 * pitch_screw * micrometre,
        nut_minor_max=thread.nut_minor + minor * micrometre,
    )


def nut_shear_area(thread: Thread, length: float, limits: Limits | None = None) -> float:
    """Area of the internal thread that must shear before it strips.

    Parameters
    ----------
    thread : Thread
    length : float
        Of full thread engaged [m]
    limits : Limits or None
        Without them the nominal profile.

    Returns
    -------
    float
        [m^2]

    Raises
    ------
    InputError
        If the length is negative.

    Notes
    -----
    A cylinder as large as the screw's crests: pi*d*(L/P)*(P/2 + tan(half angle)*(d - D2)).
    Source: FED-STD-H28/2B; also Handbook of Bolts and Bolted Joints (Bickford and Nassar, 1998).
    Checked in tests/published/test_thread_stripping.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e6 * nut_shear_area(thread('M8'), 0.012):.0f} mm2")
    264 mm2
    """
    guards.not_negative("Engaged length", length, "m")
    worst = limits or basic_limits(thread)
    overlap = worst.screw_major_min - worst.nut_pitch_max
    width = 0.5 * thread.pitch + math.tan(thread.flank_angle) * overlap
    return math.pi * worst.screw_major_min * length / thread.pitch * width


def screw_shear_area(thread: Thread, length: float, limits: Limits | None = None) -> float:
    """Area of the screw's own thread that must shear before it strips.

    Parameters
    ----------
    thread : Thread
    length : float
        Of full thread engaged [m]
    limits : Limits or None
        Without them the nominal profile.

    Returns
    -------
    float
        [m^2]

    Raises
    ------
    InputError
        If the length is negative.

    Notes
    -----
    A cylinder as large as the hole: pi*D1*(L/P)*(P/2 + tan(half angle)*(d2 - D1)).
    Source: FED-STD-H28/2B.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e6 * screw_shear_area(thread('M8'), 0.012):.0f} mm2")
    188 mm2
    """
    guards.not_negative("Engaged length", length, "m")
    worst = limits or basic_limits(thread)
    overlap = worst.screw_pitch_min - worst.nut_minor_max
    width = 0.5 * thread.pitch + math.tan(thread.flank_angle) * overlap
    return math.pi * worst.nut_minor_max * length / thread.pitch * width


@dataclass(frozen=True, slots=True)
class Engagement:
    """Length of thread that outlasts the screw.

    Parameters
    ----------
    length : float
        Of full thread, chamfers and the start of the screw not counted [m]
    diameters : float
        The same in screw diameters [1]
    governed_by : str
        "hole" or "screw": whose thread would strip first if it were shorter.
    """

    length: float
    diameters: float
    governed_by: str


def engagement_length(
    thread: Thread,
    breaking_load: float,
    hole_shear_strength: float,
    screw_shear_strength: float,
    limits: Limits | None = None,
) -> Engagement:
    """Shortest engagement with which the screw breaks and the threads stay whole.

    Parameters
    ----------
    thread : Thread
    breaking_load : float
        Most the screw can pull before it breaks. A class 8.8 screw may be stronger than its
        minimum: use the next class for safety [N]
    hole_shear_strength : float
        Of the material that is tapped [Pa]
    screw_shear_strength : float
        Of the screw, about `SHEAR_OF_TENSILE` of its tensile strength [Pa]
    limits : Limits or None
        Without them the nominal profile; `medium_limits` is the safe side for metric threads.

    Returns
    -------
    Engagement

    Raises
    ------
    InputError
        If load or strengths are not above zero.

    Notes
    -----
    Load over strength is the area needed on either side; the longer of the two counts. Spreading
    of the hole and uneven sharing of the load are not in it, so it is a least, not a target.
    Source: FED-STD-H28/2B; worked example in Handbook of Bolts and Bolted Joints (1998).
    Checked in tests/published/test_thread_stripping.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> m8 = thread("M8")
    >>> need = engagement_length(m8, 29200.0, 130e6, 480e6, medium_limits(m8))
    >>> print(f"{1e3 * need.length:.1f} mm, {need.diameters:.1f} d, {need.governed_by}")
    13.3 mm, 1.7 d, hole
    """
    guards.positive("Breaking load", breaking_load, "N")
    guards.positive("Shear strength of the hole", hole_shear_strength, "Pa")
    guards.positive("Shear strength of the screw", screw_shear_strength, "Pa")
    for_hole = breaking_load / (hole_shear_strength * nut_shear_area(thread, 1.0, limits))
    for_screw = breaking_load / (screw_shear_strength * screw_shear_area(thread, 1.0, limits))
    length = max(for_hole, for_screw)
    return Engagement(length, length / thread.major, "hole" if for_hole >= for_screw else "screw")


def stripping_load(
    thread: Thread,
    length: float,
    hole_shear_strength: float,
    screw_shear_strength: float,
    limits: Limits | None = None,
) -> float:
    """Pull at which the weaker of the two threads strips.

    Parameters
    ----------
    thread : Thread
    length : float
        Of full thread engaged [m]
    hole_shear_strength, screw_shear_strength : float
        [Pa]
    limits : Limits or None
        As in `engagement_length`.

    Returns
    -------
    float
        [N]

    Raises
    ------
    InputError
        If a number is not above zero.

    Notes
    -----
    Shear area times shear strength, whichever is less.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{stripping_load(thread('M6'), 0.009, 130e6, 480e6) / 1e3:.1f} kN")
    19.3 kN
    """
    guards.positive("Shear strength of the hole", hole_shear_strength, "Pa")
    guards.positive("Shear strength of the screw", screw_shear_strength, "Pa")
    return min(
        nut_shear_area(thread, length, limits) * hole_shear_strength,
        screw_shear_area(thread, length, limits) * screw_shear_strength,
    )
