"""Words as bounds: mean and spread of what they leave, not the place where they are likeliest.

'Rich' says only that the mixture lies beyond an edge. The likeliest value then sits at that edge,
while most of what is possible lies well beyond it; expanding about the likeliest value told the
mixture leaner than it was and sorted jets by it. Here each word is replaced by the normal that
leaves mean and variance as the bound itself does, given all other readings, until they agree.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tickover.tasks.mixture.likelihood import Evidence, gradient_of

Floats = NDArray[np.float64]

_SWEEPS = 60
_DAMPING = 0.7
_LINES = 4
"""How often the model is made straight anew; its bend is mild, the third time moves nothing."""


@dataclass(frozen=True, slots=True)
class Believed:
    """Mean and covariance of the unknowns."""

    mean: Floats
    covariance: Floats


def match_moments(
    data: Evidence,
    line: Callable[[Floats], tuple[Floats, Floats]],
    prior_mean: Floats,
    prior_precision: Floats,
    start: Floats,
) -> Believed:
    """Mean and covariance of the unknowns with words taken as bounds.

    Parameters
    ----------
    data : Evidence
    line : callable
        Unknowns to (ln lambda at the readings, its slopes), shapes (n,) and (n, k).
    prior_mean, prior_precision : array, shape (k,)
        The unknowns are independent before the readings.
    start : array, shape (k,)
        Where to make the model straight first: the likeliest values.

    Returns
    -------
    Believed

    Notes
    -----
    Expectation propagation (Minka, 2001, from memory). For a bound with a soft edge the moments
    have a closed form: slope g and curvature -w of ln P in the mean m of all else, variance v,
    give the site precision w / (1 - v w) and its pull (g + m w) / (1 - v w). Numbers keep the
    normal that fits at the likeliest values.
    """
    words = ~data.is_number
    precision, pull = np.zeros(words.size), np.zeros(words.size)
    at = start
    for _ in range(_LINES):
        predicted, slopes = line(at)
        offset = predicted - slopes @ at
        _, weight = gradient_of(data, predicted)
        precision[data.is_number] = weight[data.is_number]
        pull[data.is_number] = weight[data.is_number] * data.value[data.is_number]
        for _ in range(_SWEEPS):
            told = _told(slopes, offset, precision, pull, prior_mean, prior_precision)
            mean = slopes @ told.mean + offset
            variance = np.einsum("ik,kl,il->i", slopes, told.covariance, slopes)
            moved = _sites(data, words, mean, variance, precision, pull)
            if moved < 1e-6:
                break
        if float(np.max(np.abs(told.mean - at))) < 1e-4:
            break
        at = told.mean
    return told


def _told(
    slopes: Floats, offset: Floats, precision: Floats, pull: Floats, prior_mean: Floats,
    prior_precision: Floats,
) -> Believed:  # fmt: skip
    curvature = slopes.T @ (precision[:, None] * slopes) + np.diag(prior_precision)
    covariance = np.asarray(np.linalg.inv(curvature), dtype=np.float64)
    right = slopes.T @ (pull - precision * offset) + prior_precision * prior_mean
    return Believed(covariance @ right, covariance)


def _sites(
    data: Evidence, words: NDArray[np.bool_], mean: Floats, variance: Floats, precision: Floats,
    pull: Floats,
) -> float:  # fmt: skip
    """Move the stand-in of each word towards what its bound leaves; by how much, in precision."""
    rest = 1.0 / np.maximum(1.0 / variance - precision, 1e-9)
    middle = rest * (mean / variance - pull)
    wide = replace(data, noise=np.sqrt(data.noise**2 + rest))
    gradient, weight = gradient_of(wide, middle)
    left = np.maximum(1.0 - rest * weight, 1e-6)
    precision_to, pull_to = weight / left, (gradient + middle * weight) / left
    moved_precision = _DAMPING * (precision_to - precision)[words]
    moved_pull = _DAMPING * (pull_to - pull)[words]
    precision[words] += moved_precision
    pull[words] += moved_pull
    scale = 1.0 + np.abs(precision[words])
    return float(np.max(np.maximum(np.abs(moved_precision), np.abs(moved_pull)) / scale))
