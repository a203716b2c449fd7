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
    size : float
        Standard deviation of ln lambda [-]
    reach_opening : float
        Over which it stays alike, in sqrt(opening) [-]
    reach_speed : float
        Over which it stays alike [rpm]
    anew : float
        Share of the variance that is drawn anew when jets are changed [-]
    """

    size: float = 0.09
    reach_opening: float = 0.22
    reach_speed: float = 3500.0
    anew: float = 0.06


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
    a = (np.sqrt(openings)[:, None] - np.sqrt(other_openings)[None, :]) / model.reach_opening
    b = (speeds_rpm[:, None] - other_speeds_rpm[None, :]) / model.reach_speed
    smooth = np.exp(-0.5 * (a * a + b * b))
    same = rounds[:, None] == other_rounds[None, :]
    return model.size**2 * smooth * np.where(same, 1.0, 1.0 - model.anew)
