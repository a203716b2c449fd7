"""Taper and out of round: the shape wear gives a bore or a journal."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tickover.errors import InputError
from tickover.physics import guards


@dataclass(frozen=True, slots=True)
class Wear:
    """Shape of a bore or journal from readings at several stations and directions.

    Parameters
    ----------
    mean, smallest, largest : float
        [m]
    taper : float
        Largest difference along the axis in one direction; nan with a single station [m]
    taper_direction : int or None
        Column of that difference.
    out_of_round : float
        Largest difference between directions at one station; nan with a single direction [m]
    out_of_round_station : int or None
        Row of that difference.
    difference_uncertainty : float
        Standard uncertainty of taper and out of round [m]
    """

    mean: float
    smallest: float
    largest: float
    taper: float
    taper_direction: int | None
    out_of_round: float
    out_of_round_station: int | None
    difference_uncertainty: float


def wear_shape(readings: npt.ArrayLike, repeatability: float = 0.0) -> Wear:
    """Mean, taper and out of round of a bore or a journal.

    Parameters
    ----------
    readings : array, shape (stations, directions)
        Diameters: one row for each height, one column for each direction, the columns in the
        same direction all the way down; nan where not measured [m]
    repeatability : float
        Standard uncertainty of one reading against another with the same instrument. The
        setting error of the instrument cancels in a difference and does not belong here [m]

    Returns
    -------
    Wear

    Raises
    ------
    InputError
        If there is no reading, or one is not above zero.

    Notes
    -----
    Taper is the largest difference between stations in one direction, out of round the largest
    difference between directions at one station (common practice, no source). A difference of
    two readings carries sqrt(2) times the uncertainty of one.

    Examples
    --------
    >>> shape = wear_shape([[0.05605, 0.05602], [0.05602, 0.05601]])
    >>> print(f"taper {1e3 * shape.taper:.2f} mm, out of round {1e3 * shape.out_of_round:.2f} mm")
    taper 0.03 mm, out of round 0.03 mm
    """
    table = np.atleast_2d(np.asarray(readings, dtype=float))
    known = np.isfinite(table)
    if table.ndim != 2 or not known.any():
        raise InputError("Taper and out of round need readings at stations and directions")
    guards.positive("A diameter", table[known], "m")
    taper, direction = _largest_range(table, known, axis=0)
    round_, station = _largest_range(table, known, axis=1)
    values = table[known]
    return Wear(
        mean=float(values.mean()),
        smallest=float(values.min()),
        largest=float(values.max()),
        taper=taper,
        taper_direction=direction,
        out_of_round=round_,
        out_of_round_station=station,
        difference_uncertainty=math.sqrt(2.0) * repeatability,
    )


def _largest_range(
    table: npt.NDArray[np.float64], known: npt.NDArray[np.bool_], axis: int
) -> tuple[float, int | None]:
    """Largest (max - min) along an axis and the line it was found in; nan, None if undefined."""
    high = np.where(known, table, -np.inf).max(axis=axis)
    low = np.where(known, table, np.inf).min(axis=axis)
    enough = known.sum(axis=axis) >= 2
    if not enough.any():
        return math.nan, None
    ranges = np.where(enough, high - low, -np.inf)
    line = int(np.argmax(ranges))
    return float(ranges[line]), line
