"""Firing frequency, orders, and which half orders a healthy engine has anyway."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

CYCLE_DEG = 720.0


def firing_fractions(firing_angles_deg: ArrayLike) -> NDArray[np.float64]:
    """Place of each firing in the cycle, sorted, the first one at zero.

    Parameters
    ----------
    firing_angles_deg : array, shape (n,)
        Crank angle of each firing top dead centre, 0 to 720 [deg]

    Returns
    -------
    array, shape (n,)
        Fractions of a cycle, 0 to 1 [cycle]

    Raises
    ------
    InputError
        If there is no firing angle, an angle is not a number, or two fall together.

    Examples
    --------
    >>> print(firing_fractions([0, 270]))
    [0.    0.375]
    """
    angles = np.atleast_1d(np.asarray(firing_angles_deg, dtype=float))
    if angles.ndim != 1 or not 1 <= angles.size <= 12 or not np.all(np.isfinite(angles)):
        raise InputError(
            "The firing angles cannot be used",
            given=str(firing_angles_deg),
            allowed="one number for each cylinder, 1 to 12 of them",
            instead="for instance 0, 180, 360, 540",
        )
    fractions = np.sort(np.mod(angles, CYCLE_DEG)) / CYCLE_DEG
    fractions = fractions - fractions[0]
    gaps = firing_gaps(fractions)
    if np.any(gaps < 9.99 / CYCLE_DEG):
        raise InputError(
            "Two cylinders fire together, so their sounds cannot be told apart",
            given=str(firing_angles_deg),
            allowed="firings at least 10 degrees apart",
            instead="one angle for the pair, and read the pair as one",
        )
    return np.asarray(fractions)


def firing_gaps(fractions: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance from each firing to the next one.

    Parameters
    ----------
    fractions : array, shape (n,)
        As from `firing_fractions` [cycle]

    Returns
    -------
    array, shape (n,)
        Adds up to one [cycle]

    Examples
    --------
    >>> print(firing_gaps(np.array([0.0, 0.375])))
    [0.375 0.625]
    """
    return np.diff(np.append(fractions, 1.0 + fractions[0]))


def is_even(firing_angles_deg: ArrayLike, tolerance_deg: float = 1.0) -> bool:
    """Whether all firings are equally far apart.

    Parameters
    ----------
    firing_angles_deg : array, shape (n,)
        [deg]
    tolerance_deg : float
        How far one may be off [deg]

    Returns
    -------
    bool

    Examples
    --------
    >>> is_even([0, 180, 360, 540]), is_even([0, 180])
    (True, False)
    """
    fractions = firing_fractions(firing_angles_deg)
    even = np.arange(fractions.size) / fractions.size
    return bool(np.max(np.abs(fractions - even)) * CYCLE_DEG <= tolerance_deg)


def firing_frequency(speed_rpm: ArrayLike, cylinders: int) -> NDArray[np.float64]:
    """Firings a second of a four-stroke engine.

    Parameters
    ----------
    speed_rpm : float or array
        Crank speed [1/min]
    cylinders : int
        Number that fire [1]

    Returns
    -------
    array, shape of speed_rpm
        [Hz]

    Notes
    -----
    Each cylinder fires once in two turns: f = N rpm / 120.
    Source: any textbook on engine noise; checked in
    tests/published/test_firing_orders.py.

    Examples
    --------
    >>> print(f"{firing_frequency(1200, 4):.1f} Hz")
    40.0 Hz
    """
    return np.asarray(np.asarray(speed_rpm, dtype=float) * cylinders / 120.0)


def order_frequency(order: ArrayLike, speed_rpm: ArrayLike) -> NDArray[np.float64]:
    """Frequency of an order, the count of events in one crank turn.

    Parameters
    ----------
    order : float or array
        [1]
    speed_rpm : float or array
        [1/min]

    Returns
    -------
    array
        [Hz]

    Examples
    --------
    >>> print(f"{order_frequency(2, 1200):.1f} Hz")
    40.0 Hz
    """
    return np.asarray(np.asarray(order, dtype=float) * np.asarray(speed_rpm, dtype=float) / 60.0)


def order_amplitudes(
    orders: ArrayLike, firing_angles_deg: ArrayLike, strengths: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Amplitude of orders of ideal firing impulses, against the healthy sum.

    Parameters
    ----------
    orders : array, shape (k,)
        Multiples of one half [1]
    firing_angles_deg : array, shape (n,)
        [deg]
    strengths : array, shape (n,), optional
        Strength of each impulse; all one when left out [1]

    Returns
    -------
    array, shape (k,)
        |sum a exp(-i order angle)| / sum a [1]

    Raises
    ------
    InputError
        If there is not one strength for each angle, or all are zero.

    Notes
    -----
    Fourier series of impulses over 720 degrees; checked in
    tests/published/test_half_orders.py.

    Examples
    --------
    >>> print(np.round(order_amplitudes([0.5, 1, 2], [0, 270]), 3))
    [0.383 0.707 0.   ]
    """
    angles = np.radians(np.atleast_1d(np.asarray(firing_angles_deg, dtype=float)))
    weights = np.ones(angles.size) if strengths is None else np.asarray(strengths, dtype=float)
    if weights.shape != angles.shape or not np.sum(weights) > 0.0:
        raise InputError(
            "The strengths do not fit the firing angles",
            given=f"{weights.size} strengths for {angles.size} angles",
            allowed="one strength for each angle, not all zero",
        )
    turns = np.exp(-1j * np.multiply.outer(np.asarray(orders, dtype=float), angles))
    return np.asarray(np.abs(turns @ weights) / float(np.sum(weights)))


def half_orders_mean_weakness(firing_angles_deg: ArrayLike) -> bool:
    """Whether a half order can point to a weak cylinder on this firing pattern.

    Parameters
    ----------
    firing_angles_deg : array, shape (n,)
        [deg]

    Returns
    -------
    bool
        Only true for two or more cylinders that fire evenly.

    Examples
    --------
    >>> half_orders_mean_weakness([0, 360]), half_orders_mean_weakness([0, 180])
    (True, False)
    """
    return firing_fractions(firing_angles_deg).size > 1 and is_even(firing_angles_deg)
