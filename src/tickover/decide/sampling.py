"""Weighted draws from a distribution known up to a factor: adaptive importance sampling.

Drawing from the prior fails when the data say much: nearly all draws then weigh nothing. Each
round draws from a mixture fitted to the weighted draws of the round before; a wide component
fitted to the prior stays in every mixture, so that no region is lost for good. The draws of the
last round carry exact weights, whatever the rounds before have learnt, and the effective sample
size says how many of them count.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]
Draw = Callable[[np.random.Generator, int], Floats]

_DEGREES = 5.0  # of freedom of the Student components: tails heavier than the target's
_WIDE_SHARE = 0.1  # of the draws come from the component fitted to the prior
_LEAST_SHARE = 0.05  # effective share of draws that a fit may rest on; weights are tempered to it


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Weighted draws.

    Parameters
    ----------
    points : array, shape (n, d)
        [units of the target]
    log_weights : array, shape (n,)
        Normalised: their exponentials sum to one; -inf where the target is zero.
    ess : float
        Effective sample size, 1 / sum of squared weights; 0 if the target was zero everywhere.
        Below a few hundred the draws say little: use more draws or rounds.
    log_evidence : float
        log of the integral of the target, as estimated.
    ess_by_round : tuple of float
        The same for each round, the prior draws (against a Student fit of them) first.
    """

    points: Floats
    log_weights: Floats
    ess: float
    log_evidence: float
    ess_by_round: tuple[float, ...]

    @property
    def weights(self) -> Floats:
        """Weights that sum to one, shape (n,)."""
        result: Floats = np.exp(self.log_weights)
        return result

    def mean(self) -> Floats:
        """Weighted mean, shape (d,)."""
        result: Floats = self.weights @ self.points
        return result

    def covariance(self) -> Floats:
        """Weighted covariance, shape (d, d)."""
        centred = self.points - self.mean()
        result: Floats = (centred * self.weights[:, None]).T @ centred
        return result

    def resampled(self, rng: np.random.Generator, n: int) -> Floats:
        """n equally weighted points by systematic resampling, shape (n, d)."""
        return self.points[systematic(self.log_weights, rng, n)]


@dataclass(frozen=True, slots=True, eq=False)
class _Mixture:
    """Student components with shares, centres and lower Cholesky factors of the scale."""

    shares: Floats  # (k,)
    centres: Floats  # (k, d)
    factors: Floats  # (k, d, d)

    def draw(self, rng: np.random.Generator, n: int) -> Floats:
        # Systematic choice of components: every component gets its share of the draws.
        which = systematic(np.log(self.shares), rng, n)
        d = self.centres.shape[1]
        steps = np.einsum("nij,nj->ni", self.factors[which], rng.standard_normal((n, d)))
        stretch = np.sqrt(_DEGREES / rng.chisquare(_DEGREES, n))
        drawn: Floats = self.centres[which] + steps * stretch[:, None]
        return drawn

    def log_components(self, points: Floats) -> Floats:
        """log(share * density) per point and component, shape (n, k)."""
        n, d = points.shape
        logs = np.empty((n, len(self.shares)))
        norm = (
            math.lgamma(0.5 * (_DEGREES + d))
            - math.lgamma(0.5 * _DEGREES)
            - 0.5 * d * math.log(_DEGREES * math.pi)
        )
        for k, (centre, factor) in enumerate(zip(self.centres, self.factors, strict=True)):
            apart = np.linalg.solve(factor, (points - centre).T)
            squares = np.einsum("dn,dn->n", apart, apart)
            logs[:, k] = (
                norm
                + math.log(self.shares[k])
                - float(np.log(np.diagonal(factor)).sum())
                - 0.5 * (_DEGREES + d) * np.log1p(squares / _DEGREES)
            )
        return logs


def effective_sample_size(log_weights: Floats) -> float:
    """How many equally weighted draws these weighted ones are worth.

    Parameters
    ----------
    log_weights : array, shape (n,)
        Need not be normalised; -inf for weight zero.

    Returns
    -------
    float
        (sum w)^2 / sum w^2; 0 when all weights are zero.

    Notes
    -----
    Source: A. Kong, J. S. Liu and W. H. Wong, 'Sequential imputations and Bayesian missing data
    problems', Journal of the American Statistical Association 89 (1994) 278-288.

    Examples
    --------
    >>> effective_sample_size(np.log([0.25, 0.25, 0.25, 0.25]))
    4.0
    """
    top = float(np.max(log_weights, initial=-math.inf))
    if top == -math.inf:
        return 0.0
    weights = np.exp(log_weights - top)
    return float(weights.sum() ** 2 / (weights**2).sum())


def systematic(log_weights: Floats, rng: np.random.Generator, n: int) -> NDArray[np.int64]:
    """Indices of n draws by systematic resampling: one random offset, equal steps.

    Parameters
    ----------
    log_weights : array, shape (m,)
        Need not be normalised.
    rng : numpy.random.Generator
    n : int

    Returns
    -------
    int array, shape (n,)
        Ascending; index i appears n * w_i times, rounded down or up.

    Raises
    ------
    InputError
        If all weights are zero.

    Notes
    -----
    Source: G. Kitagawa, 'Monte Carlo filter and smoother for non-Gaussian nonlinear state space
    models', Journal of Computational and Graphical Statistics 5 (1996) 1-25.

    Examples
    --------
    >>> systematic(np.log([0.5, 0.25, 0.25]), np.random.default_rng(0), 4).tolist()
    [0, 0, 1, 2]
    """
    top = float(np.max(log_weights, initial=-math.inf))
    if not math.isfinite(top):
        raise InputError("All weights are zero", instead="more draws, or a prior that reaches")
    edges = np.cumsum(np.exp(log_weights - top))
    places = (rng.random() + np.arange(n)) / n * edges[-1]
    # A rounding step past the last edge must not fall off the end, nor on a zero weight.
    last = int(np.flatnonzero(log_weights > -math.inf)[-1])
    found: NDArray[np.int64] = np.searchsorted(edges, places, side="right").astype(np.int64)
    return np.minimum(found, last)


def adaptive_importance(
    log_target: LogDensity,
    prior_draw: Draw,
    rng: np.random.Generator,
    n: int,
    rounds: int,
    components: int = 4,
) -> Draws:
    """Draw from a distribution known up to a factor.

    Parameters
    ----------
    log_target : callable
        (m, d) points -> (m,) log of the unnormalised density, prior included; -inf outside.
    prior_draw : callable
        (rng, m) -> (m, d) points that cover everything the target may reach.
    rng : numpy.random.Generator
    n : int
        Draws per round, at least 10 times the dimension.
    rounds : int
        Rounds after the prior draws, at least 1; the last one is returned.
    components : int
        Components of the mixture besides the wide one.

    Returns
    -------
    Draws

    Raises
    ------
    InputError
        If the target is zero at all prior draws, is nan or +inf, or numbers are too small.

    Notes
    -----
    Population Monte Carlo with Student mixtures, shares, centres and scales updated by one
    weighted step of expectation-maximisation per round: O. Cappe, R. Douc, A. Guillin, J.-M.
    Marin and C. P. Robert, 'Adaptive importance sampling in general mixture classes', Statistics
    and Computing 18 (2008) 447-459. Weights too uneven to fit to are tempered first.
    Checked on Gaussian posteriors in tests/unit/decide/test_sampling.py.

    Examples
    --------
    >>> draws = adaptive_importance(
    ...     lambda x: -0.5 * ((x[:, 0] - 3.0) / 0.1) ** 2,
    ...     lambda rng, m: rng.normal(0.0, 2.0, (m, 1)),
    ...     np.random.default_rng(1), 2000, 4)
    >>> print(f"{draws.mean()[0]:.1f}")
    3.0
    """
    points = np.asarray(prior_draw(rng, n), dtype=np.float64)
    if points.ndim != 2 or len(points) != n or n < 10 * points.shape[1] or rounds < 1:
        raise InputError(
            "Draws, their number or the rounds do not fit",
            given=f"{points.shape}, n {n}, rounds {rounds}",
            allowed="(n, d) points, n of 10 d or more, 1 round or more",
        )
    wide = _single(points)
    log_target_at = _evaluated(log_target, points)
    log_weights = log_target_at - _log_sum(wide.log_components(points))
    sizes = [effective_sample_size(log_weights)]
    if sizes[0] == 0.0:
        raise InputError("The target is zero at every prior draw", instead="a wider prior")
    mixture = _started(points, _tempered(log_weights), wide, rng, components)
    for number in range(rounds):
        points = mixture.draw(rng, n)
        log_target_at = _evaluated(log_target, points)
        parts = mixture.log_components(points)
        log_weights = log_target_at - _log_sum(parts)
        sizes.append(effective_sample_size(log_weights))
        if number + 1 < rounds and sizes[-1] > 0.0:
            mixture = _refitted(mixture, points, parts, _tempered(log_weights), wide)
    total = float(_log_sum(log_weights[None, :])[0])
    normalised = log_weights - total if total > -math.inf else log_weights
    return Draws(points, normalised, sizes[-1], total - math.log(n), tuple(sizes))


def _evaluated(log_target: LogDensity, points: Floats) -> Floats:
    values = np.asarray(log_target(points), dtype=np.float64)
    if values.shape != (len(points),) or np.isnan(values).any() or np.isposinf(values).any():
        raise InputError(
            "The target must give one log density per point",
            given=f"shape {values.shape}",
            allowed="numbers or -inf, never nan or +inf",
        )
    return values


def _log_sum(logs: Floats) -> Floats:
    """log of the sum of exponentials along the last axis; -inf where all are."""
    top = logs.max(axis=-1)
    base = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        result: Floats = np.log(np.exp(logs - base[..., None]).sum(axis=-1)) + base
    return result


def _tempered(log_weights: Floats) -> Floats:
    """Weights that sum to one, flattened just enough for a fit to have something to rest on."""
    least = max(_LEAST_SHARE * len(log_weights), 2.0)
    finite = np.isfinite(log_weights)
    power = 1.0
    if effective_sample_size(log_weights) < least:
        low, high = 0.0, 1.0
        for _ in range(30):
            power = 0.5 * (low + high)
            scaled = np.where(finite, power * np.where(finite, log_weights, 0.0), -np.inf)
            if effective_sample_size(scaled) < least:
                high = power
            else:
                low = power
        power = low
    scaled = np.where(finite, power * np.where(finite, log_weights, 0.0), -np.inf)
    weights = np.exp(scaled - scaled.max())
    result: Floats = weights / weights.sum()
    return result


def _factor(covariance: Floats, floor: Floats) -> Floats:
    """Cholesky factor, with a little of the prior's variance so that it always exists."""
    return np.asarray(np.linalg.cholesky(covariance + np.diag(floor)), dtype=np.float64)


def _spread(points: Floats, weights: Floats, centre: Floats) -> Floats:
    apart = points - centre
    result: Floats = (apart * weights[:, None]).T @ apart
    return result


def _single(points: Floats) -> _Mixture:
    """One wide component: the mean and twice the covariance of the points."""
    weights: Floats = np.ones(len(points)) / len(points)
    centre: Floats = weights @ points
    covariance = _spread(points, weights, centre)
    floor = 1e-9 * np.diagonal(covariance) + 1e-300
    factor = _factor(2.0 * covariance, floor)
    return _Mixture(np.ones(1), centre[None, :], factor[None, :, :])


def _floor(wide: _Mixture) -> Floats:
    factor = wide.factors[0]
    result: Floats = 1e-10 * np.diagonal(factor @ factor.T)
    return result


def _with_wide(shares: Floats, centres: Floats, factors: Floats, wide: _Mixture) -> _Mixture:
    scaled = (1.0 - _WIDE_SHARE) * shares / shares.sum()
    return _Mixture(
        np.append(scaled, _WIDE_SHARE),
        np.concatenate([centres, wide.centres]),
        np.concatenate([factors, wide.factors]),
    )


def _started(
    points: Floats, weights: Floats, wide: _Mixture, rng: np.random.Generator, components: int
) -> _Mixture:
    """Components centred on resampled points, each as wide as all of them together."""
    centre = weights @ points
    covariance = _spread(points, weights, centre)
    with np.errstate(divide="ignore"):
        chosen = systematic(np.log(weights), rng, components)
    factor = _factor(covariance, _floor(wide))
    return _with_wide(
        np.ones(components), points[chosen], np.repeat(factor[None], components, axis=0), wide
    )


def _refitted(
    mixture: _Mixture, points: Floats, parts: Floats, weights: Floats, wide: _Mixture
) -> _Mixture:
    """One weighted step of expectation-maximisation; components that explain nothing go."""
    belongs = np.exp(parts - _log_sum(parts)[:, None])[:, :-1] * weights[:, None]
    d = points.shape[1]
    shares: list[float] = []
    centres: list[Floats] = []
    factors: list[Floats] = []
    for k in range(belongs.shape[1]):
        share = float(belongs[:, k].sum())
        if share < 1e-3 or effective_sample_size(np.log(belongs[:, k] + 1e-300)) < 2 * d:
            continue
        apart = np.linalg.solve(mixture.factors[k], (points - mixture.centres[k]).T)
        # Student components: far points count less (the expected precision of their draw).
        pull = (_DEGREES + d) / (_DEGREES + np.einsum("dn,dn->n", apart, apart))
        weight = belongs[:, k] * pull
        centre = weight @ points / weight.sum()
        shares.append(share)
        centres.append(centre)
        factors.append(_factor(_spread(points, weight / share, centre), _floor(wide)))
    if not shares:  # nothing to hold on to: one component over everything weighted
        centre = weights @ points
        covariance = _spread(points, weights, centre)
        shares, centres, factors = [1.0], [centre], [_factor(covariance, _floor(wide))]
    return _with_wide(np.array(shares), np.array(centres), np.array(factors), wide)
