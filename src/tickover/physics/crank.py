"""Crank, rod and piston: where the piston is, how fast it moves, and what a timing mark means.

            TDC
 ----------  |   drop
|  piston  | v
 -----o----        the gudgeon pin may sit `pin_offset` off the crank centre line,
      |            positive towards the side the crank pin moves to after TDC
      |  rod
       |
        o
       /  crank radius, `crank_angle` after TDC
      +
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from tickover.errors import InputError
from tickover.physics import guards

Num = TypeVar("Num", float, npt.NDArray[np.float64])


def piston_drop(
    crank_angle: Num, crank_radius: float, rod_length: float, pin_offset: float = 0.0
) -> Num:
    """Distance of the piston below top dead centre.

    Parameters
    ----------
    crank_angle : float or array, shape (n,)
        0 at top dead centre, positive after it [rad]
    crank_radius, rod_length : float
        [m]
    pin_offset : float
        Pin or crank offset, positive towards the side the crank pin moves to after TDC [m]

    Returns
    -------
    float or array, shape of crank_angle
        [m]

    Raises
    ------
    InputError
        If the rod is not longer than crank radius plus offset.

    Notes
    -----
    Plain geometry; without offset x = r + l - r*cos(a) - sqrt(l^2 - r^2*sin(a)^2), as in J. B.
    Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{1e3 * piston_drop(math.radians(36.0), 0.028, 0.110):.4f} mm")
    6.5857 mm
    """
    _check(crank_radius, rod_length, pin_offset)
    phi = crank_angle + _phase(crank_radius, rod_length, pin_offset)
    sideways = crank_radius * np.sin(phi) - pin_offset
    height = crank_radius * np.cos(phi) + np.sqrt(rod_length**2 - sideways**2)
    drop: Num = _highest(crank_radius, rod_length, pin_offset) - height
    return drop


def crank_angle_from_drop(
    drop: Num,
    crank_radius: float,
    rod_length: float,
    pin_offset: float = 0.0,
    *,
    before_tdc: bool = True,
) -> Num:
    """Angle between crank and top dead centre when the piston is a distance below it.

    Parameters
    ----------
    drop : float or array, shape (n,)
        0 up to the stroke [m]
    crank_radius, rod_length : float
        [m]
    pin_offset : float
        As in `piston_drop` [m]
    before_tdc : bool
        Which of the two places with this drop; they differ only with an offset.

    Returns
    -------
    float or array, shape of drop
        Always positive: degrees before, or after, top dead centre [rad]

    Raises
    ------
    InputError
        If the drop is negative or more than the stroke.

    Notes
    -----
    The inverse of `piston_drop`, written with half angles so that a drop of a few hundredths
    keeps all its digits.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{math.degrees(crank_angle_from_drop(0.002, 0.028, 0.110)):.3f} deg")
    19.481 deg
    """
    _check(crank_radius, rod_length, pin_offset)
    length = stroke(crank_radius, rod_length, pin_offset)
    guards.within("Piston drop", drop, 0.0, length * (1.0 + 1e-12), "m")
    reach = crank_radius + rod_length
    top = _highest(crank_radius, rod_length, pin_offset)
    radius = np.sqrt(reach**2 - 2.0 * top * drop + np.square(drop))
    short = (2.0 * top * drop - np.square(drop)) / (reach + radius)  # reach - radius, exactly
    half = short * (rod_length + radius - crank_radius) / (4.0 * crank_radius * radius)
    opening = 2.0 * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    lean = np.arctan2(pin_offset, top - drop) - _phase(crank_radius, rod_length, pin_offset)
    angle: Num = opening - lean if before_tdc else opening + lean
    return angle


def stroke(crank_radius: float, rod_length: float, pin_offset: float = 0.0) -> float:
    """Distance between the ends of the piston's travel.

    Parameters
    ----------
    crank_radius, rod_length, pin_offset : float
        [m]

    Returns
    -------
    float
        Twice the crank radius, a little more with an offset [m]

    Raises
    ------
    InputError
        If the rod is not longer than crank radius plus offset.

    Notes
    -----
    Plain geometry: rod and crank are in line at both ends.

    Examples
    --------
    >>> stroke(0.028, 0.110)
    0.056
    """
    _check(crank_radius, rod_length, pin_offset)
    if pin_offset == 0.0:
        return 2.0 * crank_radius
    bottom = math.sqrt((rod_length - crank_radius) ** 2 - pin_offset**2)
    return _highest(crank_radius, rod_length, pin_offset) - bottom


def piston_speed(
    crank_angle: Num,
    crank_radius: float,
    rod_length: float,
    crank_speed: float,
    pin_offset: float = 0.0,
) -> Num:
    """Speed of the piston away from the head.

    Parameters
    ----------
    crank_angle : float or array, shape (n,)
        0 at top dead centre [rad]
    crank_radius, rod_length : float
        [m]
    crank_speed : float
        [rad/s]
    pin_offset : float
        [m]

    Returns
    -------
    float or array, shape of crank_angle
        Positive downwards [m/s]

    Raises
    ------
    InputError
        If the rod is not longer than crank radius plus offset.

    Notes
    -----
    First derivative of `piston_drop`. Heywood 1988, eq. 2.11.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{piston_speed(math.radians(90.0), 0.028, 0.110, 837.758):.3f} m/s")
    23.457 m/s
    """
    _check(crank_radius, rod_length, pin_offset)
    phi = crank_angle + _phase(crank_radius, rod_length, pin_offset)
    across = crank_radius * np.sin(phi) - pin_offset
    along = np.sqrt(rod_length**2 - across**2)
    cosine = crank_radius * np.cos(phi)
    speed: Num = crank_speed * (crank_radius * np.sin(phi) + across * cosine / along)
    return speed


def piston_acceleration(
    crank_angle: Num,
    crank_radius: float,
    rod_length: float,
    crank_speed: float,
    pin_offset: float = 0.0,
) -> Num:
    """Acceleration of the piston away from the head at steady crank speed.

    Parameters
    ----------
    crank_angle : float or array, shape (n,)
        0 at top dead centre [rad]
    crank_radius, rod_length : float
        [m]
    crank_speed : float
        [rad/s]
    pin_offset : float
        [m]

    Returns
    -------
    float or array, shape of crank_angle
        Positive downwards, so largest at top dead centre [m/s^2]

    Raises
    ------
    InputError
        If the rod is not longer than crank radius plus offset.

    Notes
    -----
    Second derivative of `piston_drop`; r*w^2*(1 + r/l) at TDC, -r*w^2*(1 - r/l) at BDC.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{piston_acceleration(0.0, 0.028, 0.110, 837.758):.0f} m/s2")
    24654 m/s2
    """
    _check(crank_radius, rod_length, pin_offset)
    phi = crank_angle + _phase(crank_radius, rod_length, pin_offset)
    across = crank_radius * np.sin(phi) - pin_offset
    along = np.sqrt(rod_length**2 - across**2)
    cosine, sine = crank_radius * np.cos(phi), crank_radius * np.sin(phi)
    curve = cosine + (cosine**2 - across * sine) / along + (across * cosine) ** 2 / along**3
    acceleration: Num = crank_speed**2 * curve
    return acceleration


def mean_piston_speed(stroke: float, crank_turns_per_second: float) -> float:
    """Mean speed of the piston: two strokes a turn.

    Parameters
    ----------
    stroke : float
        [m]
    crank_turns_per_second : float
        [1/s]

    Returns
    -------
    float
        [m/s]

    Notes
    -----
    Heywood 1988, eq. 2.9.

    Examples
    --------
    >>> print(f"{mean_piston_speed(0.056, 8000 / 60):.4f} m/s")
    14.9333 m/s
    """
    guards.positive("Stroke", stroke, "m")
    return 2.0 * stroke * crank_turns_per_second


def angle_of_greatest_speed(crank_radius: float, rod_length: float) -> float:
    """Crank angle after top dead centre at which the piston moves fastest, no pin offset.

    Parameters
    ----------
    crank_radius, rod_length : float
        [m]

    Returns
    -------
    float
        [rad]

    Raises
    ------
    InputError
        If the rod is not longer than the crank radius.

    Notes
    -----
    With n = l/r, s = sin(a)^2 is the root between 0 and 1 of s^3 - n^2*s^2 - n^4*s + n^4 = 0
    (zero acceleration). The cubic falls all the way between 0 and 1, so halving finds it.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{math.degrees(angle_of_greatest_speed(0.028, 0.110)):.4f} deg")
    76.5138 deg
    """
    _check(crank_radius, rod_length, 0.0)
    n2 = (rod_length / crank_radius) ** 2
    low, high = 0.0, 1.0
    for _ in range(60):  # one bit each; 53 are enough for a float
        s = 0.5 * (low + high)
        if ((s - n2) * s - n2**2) * s + n2**2 > 0.0:
            low = s
        else:
            high = s
    return math.asin(math.sqrt(0.5 * (low + high)))


def _check(crank_radius: float, rod_length: float, pin_offset: float) -> None:
    guards.positive("Crank radius", crank_radius, "m")
    guards.positive("Rod length", rod_length, "m")
    if not rod_length > crank_radius + abs(pin_offset):
        raise InputError(
            "The rod must be longer than the crank radius and the pin offset together",
            given=f"rod {1e3 * rod_length:g} mm, crank radius {1e3 * crank_radius:g} mm, "
            f"offset {1e3 * pin_offset:g} mm",
            allowed="rod length from centre to centre; crank radius is half the stroke",
        )


def _highest(crank_radius: float, rod_length: float, pin_offset: float) -> float:
    """Pin height above the crank centre at top dead centre, crank and rod in line."""
    return math.sqrt((crank_radius + rod_length) ** 2 - pin_offset**2)


def _phase(crank_radius: float, rod_length: float, pin_offset: float) -> float:
    """Crank angle from the cylinder axis at which the piston is highest."""
    return math.asin(pin_offset / (crank_radius + rod_length))
