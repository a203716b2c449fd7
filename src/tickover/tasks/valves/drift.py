"""How a clearance drifts with distance, and when it is due to leave its limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tickover.errors import InputError
from tickover.tasks.valves.assumptions import Assumptions

_FARTHEST_M = 200e6
_STEPS = 2000


@dataclass(frozen=True, slots=True)
class SeatHeight:
    """One occasion: clearance plus shim, which a shim change does not alter.

    `distance_m` run when read; `height_m` the middle of the reading plus the shim;
    `width_m` the blades' interval.
    """

    distance_m: float
    height_m: float
    width_m: float


@dataclass(frozen=True, slots=True)
class Drift:
    """Drift of one valve: rate [m/m] with its uncertainty, and the distance to the limit.

    `due_m`: distance from zero at which the risk of being out passes 10 percent; None when that
    lies beyond 200 000 km. `median_m`: where it passes 50 percent.
    """

    rate: float
    rate_uncertainty: float
    due_m: float | None
    median_m: float | None
    occasions: int


def drift(
    occasions: Sequence[SeatHeight],
    shim_m: float,
    limits: tuple[float, float],
    assume: Assumptions,
    risk: float = 0.10,
) -> Drift:
    """Straight-line drift of the seat height by Bayesian regression.

    Parameters
    ----------
    occasions : sequence of SeatHeight
        At least one; leave bedding-in out.
    shim_m : float
        The shim fitted now [m]
    limits : (float, float)
        Clearance limits [m]
    assume : Assumptions
        Prior rate and scatter.
    risk : float
        Risk of being out at which the valve counts as due.

    Notes
    -----
    Conjugate normal regression (e.g. Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 14):
    flat prior on the height at the last reading, normal prior on the rate, variance of one
    occasion w^2/12 (rectangular, GUM 4.3.7) plus feel squared plus scatter between occasions.
    """
    if not occasions:
        raise InputError("Drift needs at least one reading with its distance")
    distance = np.array([item.distance_m for item in occasions])
    height = np.array([item.height_m for item in occasions])
    variance = np.array(
        [item.width_m**2 / 12 + assume.feel_m**2 + assume.drift_blade_m**2 for item in occasions]
    )
    origin = float(distance.max())
    scale = 1e6  # regress per 1000 km so that the normal matrix is well scaled
    design = np.column_stack([np.ones_like(distance), (distance - origin) / scale])
    weight = design / variance[:, None]
    prior_precision = 1.0 / (assume.drift_rate_spread * scale) ** 2
    precision = design.T @ weight + np.diag([0.0, prior_precision])
    right = weight.T @ height + np.array([0.0, prior_precision * assume.drift_rate_m_per_m * scale])
    covariance = np.linalg.inv(precision)
    middle = covariance @ right
    ahead = np.linspace(0.0, _FARTHEST_M, _STEPS + 1) / scale
    mean = middle[0] + middle[1] * ahead - shim_m
    sd = np.sqrt(covariance[0, 0] + 2 * covariance[0, 1] * ahead + covariance[1, 1] * ahead**2)
    out = np.array(
        [1.0 - _within(m, s, limits) for m, s in zip(mean.tolist(), sd.tolist(), strict=True)]
    )

    def passes(level: float) -> float | None:
        above = np.flatnonzero(out > level)
        if not above.size:
            return None
        return origin + float(ahead[above[0]]) * scale

    return Drift(
        rate=float(middle[1]) / scale,
        rate_uncertainty=math.sqrt(float(covariance[1, 1])) / scale,
        due_m=passes(risk),
        median_m=passes(0.5),
        occasions=len(occasions),
    )


def _within(mean: float, sd: float, limits: tuple[float, float]) -> float:
    def below(x: float) -> float:
        return 0.5 * math.erfc((mean - x) / (sd * math.sqrt(2.0)))

    return below(limits[1]) - below(limits[0])
