"""What the model misses, as a smooth unknown over the map.

Four factors cannot bend the mixture everywhere. Without a term for what is left, the intervals
lie: they covered 32 of 68 and 68 of 97 percent in trials. The term is a Gaussian process in the
square root of opening and in speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """Size and smoothness of what the model misses.

    Parameters
    ----------
    size, size_high : float
        Standard deviation of ln lambda up to a quarter open, and from half throttle on, where one
        jet feeds the engine and less can be missed [-]
    reach_opening : float
        Over which it stays alike, in sqrt(opening) [-]
    reach_speed : float
        Over which it stays alike [rpm]
    anew : float
        Share of the variance that is drawn anew when jets are changed [-]
    """

    size: float = 0.11
    size_high: float = 0.05
    reach_opening: float = 0.2
    reach_speed: float = 3000.0
    anew: float = 0.02


def covariance(
    model: Discrepancy,
    openings: Floats,
    speeds_rpm: Floats,
    rounds: NDArray[np.int64],
    other_openings: Floats,
    other_speeds_rpm: Floats,
    other_rounds: NDArray[np.int64],
) -> Floats:
    """Covariance of the discrepancy between two sets of points.

    Parameters
    ----------
    model : Discrepancy
    openings, speeds_rpm, rounds : array, shape (n,)
        First set; points with the same round number were run with the same jets.
    other_openings, other_speeds_rpm, other_rounds : array, shape (m,)
        Second set.

    Returns
    -------
    array, shape (n, m)
        [-]
    """
    alike = correlation(model, openings, speeds_rpm, other_openings, other_speeds_rpm)
    same = rounds[:, None] == other_rounds[None, :]
    sizes = np.outer(_size_at(model, openings), _size_at(model, other_openings))
    return sizes * alike * np.where(same, 1.0, 1.0 - model.anew)


def correlation(
    model: Discrepancy,
    openings: Floats,
    speeds_rpm: Floats,
    other_openings: Floats,
    other_speeds_rpm: Floats,
) -> Floats:
    """How alike what is missed is at two sets of points, jets and size aside, shape (n, m) [-]."""
    a = (np.sqrt(openings)[:, None] - np.sqrt(other_openings)[None, :]) / model.reach_opening
    b = (speeds_rpm[:, None] - other_speeds_rpm[None, :]) / model.reach_speed
    out: Floats = np.exp(-0.5 * (a * a + b * b))
    return out


def _size_at(model: Discrepancy, openings: Floats) -> Floats:
    """Standard deviation at openings, straight in sqrt(opening) from a quarter to a half."""
    across = np.clip((np.sqrt(openings) - 0.5) / (np.sqrt(0.5) - 0.5), 0.0, 1.0)
    out: Floats = model.size + (model.size_high - model.size) * across
    return out
