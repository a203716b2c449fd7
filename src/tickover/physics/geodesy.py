"""Distances on the WGS 84 ellipsoid, for many pairs of points at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]

A = 6378137.0
"""Equatorial radius of WGS 84 [m]."""
F = 1.0 / 298.257223563
"""Flattening of WGS 84 [1]."""
_B = A * (1.0 - F)
_CLOSE = 1e-13  # of the longitude on the sphere [rad]: 0.6 micrometres on the ground
_ROUNDS = 60


def distance(lat1: ArrayLike, lon1: ArrayLike, lat2: ArrayLike, lon2: ArrayLike) -> Floats:
    """Shortest way over the ellipsoid between pairs of points.

    Parameters
    ----------
    lat1, lon1, lat2, lon2 : float or array, shape (n,)
        Geographic, WGS 84 [deg]

    Returns
    -------
    array of the common shape
        [m]

    Raises
    ------
    InputError
        A latitude beyond a pole, no number, or two points nearly opposite on the globe, where
        this iteration does not settle.

    Notes
    -----
    Nested equations for the inverse problem, to the sixth power of the eccentricity: good to
    0.1 mm over any distance a machine rides. Source: T. Vincenty, 'Direct and inverse solutions
    of geodesics on the ellipsoid with application of nested equations', Survey Review XXIII
    (1975) 88-93.
    Checked in tests/published/test_ellipsoid_distances.py.

    Examples
    --------
    >>> print(f"{distance(0.0, 0.0, 0.0, 1.0):.3f} m")
    111319.491 m
    """
    arrays = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in
                                   (lat1, lon1, lat2, lon2)))  # fmt: skip
    shape = arrays[0].shape
    p1, l1, p2, l2 = (np.deg2rad(x).ravel() for x in arrays)
    if (
        not all(np.isfinite(x).all() for x in (p1, l1, p2, l2))
        or (np.maximum(np.abs(p1), np.abs(p2)) > np.pi / 2 + 1e-12).any()
    ):
        raise InputError("A position is no place on earth", allowed="latitudes of -90 to 90 deg")
    across = np.remainder(l2 - l1 + np.pi, 2.0 * np.pi) - np.pi
    u1, u2 = np.arctan((1.0 - F) * np.tan(p1)), np.arctan((1.0 - F) * np.tan(p2))
    s1, c1, s2, c2 = np.sin(u1), np.cos(u1), np.sin(u2), np.cos(u2)
    lam = across.copy()
    for _ in range(_ROUNDS):
        sin_l, cos_l = np.sin(lam), np.cos(lam)
        # c1*s2 - s1*c2*cos(lam), written so that close points keep their digits.
        north = np.sin(u2 - u1) + s1 * c2 * 2.0 * np.sin(0.5 * lam) ** 2
        sin_s = np.hypot(c2 * sin_l, north)
        cos_s = s1 * s2 + c1 * c2 * cos_l
        sigma = np.arctan2(sin_s, cos_s)
        there = sin_s > 0.0
        sin_a = np.where(there, c1 * c2 * sin_l / np.where(there, sin_s, 1.0), 0.0)
        cos2_a = np.maximum(0.0, 1.0 - sin_a**2)
        slant = cos2_a > 1e-18
        middle = np.where(slant, cos_s - 2.0 * s1 * s2 / np.where(slant, cos2_a, 1.0), 0.0)
        c = F / 16.0 * cos2_a * (4.0 + F * (4.0 - 3.0 * cos2_a))
        twist = middle + c * cos_s * (2.0 * middle**2 - 1.0)
        new = across + (1.0 - c) * F * sin_a * (sigma + c * sin_s * twist)
        change = np.abs(new - lam).max(initial=0.0)
        lam = new
        if change < _CLOSE:
            break
    else:
        raise InputError("Two points lie on opposite sides of the globe",
                         allowed="points of one ride")  # fmt: skip
    if (np.abs(lam) > np.pi).any():
        raise InputError("Two points lie on opposite sides of the globe",
                         allowed="points of one ride")  # fmt: skip
    square = cos2_a * (A**2 - _B**2) / _B**2
    big_a = 1.0 + square / 16384.0 * (4096.0 + square * (-768.0 + square * (320 - 175 * square)))
    big_b = square / 1024.0 * (256.0 + square * (-128.0 + square * (74.0 - 47.0 * square)))
    last = middle * (4.0 * sin_s**2 - 3.0) * (4.0 * middle**2 - 3.0)
    turn = cos_s * (2.0 * middle**2 - 1.0) - big_b / 6.0 * last
    less = big_b * sin_s * (middle + big_b / 4.0 * turn)
    result: Floats = (_B * big_a * (sigma - less)).reshape(shape)
    return result


def steps(lat: Floats, lon: Floats, every: int = 1) -> Floats:
    """Distance from each point to the one `every` places later.

    Parameters
    ----------
    lat, lon : array, shape (n,)
        [deg]
    every : int

    Returns
    -------
    array, shape (n - every,)
        [m]

    Examples
    --------
    >>> print(f"{steps(np.array([52.0, 52.0]), np.array([0.0, 0.0004]))[0]:.3f} m")
    27.471 m
    """
    return distance(lat[:-every], lon[:-every], lat[every:], lon[every:])
