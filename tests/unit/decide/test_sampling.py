"""Adaptive importance sampling against Gaussian posteriors known in closed form.

Linear model y = A x + s e with x ~ N(0, 1): covariance (1 + A'A/s^2)^-1, mean cov A'y/s^2, and
evidence from the Gaussian integral (any textbook on linear regression; C. M. Bishop, 'Pattern
Recognition and Machine Learning', Springer 2006, equations 3.49-3.51).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from tickover.decide.sampling import (
    adaptive_importance,
    effective_sample_size,
    systematic,
)
from tickover.errors import InputError

Floats = NDArray[np.float64]


@pytest.mark.parametrize(("d", "noise", "rounds"), [(1, 0.1, 3), (2, 0.05, 5), (4, 0.05, 9)])
def test_gaussian_posterior_is_recovered(d: int, noise: float, rounds: int) -> None:
    rng = np.random.default_rng(d)
    design = rng.normal(size=(3 * d, d))
    data = design @ rng.normal(size=d) + noise * rng.normal(size=3 * d)
    covariance = np.linalg.inv(np.eye(d) + design.T @ design / noise**2)
    mean = covariance @ design.T @ data / noise**2

    def log_target(x: Floats) -> Floats:
        misfit = ((data - x @ design.T) ** 2).sum(axis=1) / noise**2
        result: Floats = -0.5 * (x**2).sum(axis=1) - 0.5 * misfit
        return result

    draws = adaptive_importance(
        log_target, lambda r, n: r.normal(size=(n, d)), np.random.default_rng(7), 4000, rounds
    )
    assert draws.ess > 0.6 * 4000
    # Four Monte Carlo standard errors of a mean, a variance and a log evidence.
    sd = np.sqrt(np.diagonal(covariance))
    tolerance = 4.0 / math.sqrt(draws.ess)
    assert (np.abs(draws.mean() - mean) < tolerance * sd).all()
    ratio = np.diagonal(draws.covariance()) / np.diagonal(covariance)
    assert (np.abs(ratio - 1.0) < tolerance * math.sqrt(2.0)).all()
    evidence = (
        0.5 * np.linalg.slogdet(covariance)[1]
        + 0.5 * d * math.log(2.0 * math.pi)
        + float(log_target(mean[None, :])[0])
    )
    assert draws.log_evidence == pytest.approx(evidence, abs=tolerance)
    assert draws.weights.sum() == pytest.approx(1.0)


def test_prior_draws_alone_fail_where_adaption_succeeds() -> None:
    draws = adaptive_importance(
        lambda x: -0.5 * ((x - 1.0) ** 2).sum(axis=1) / 0.01**2,
        lambda r, n: r.normal(size=(n, 3)),
        np.random.default_rng(3),
        3000,
        10,
    )
    assert draws.ess_by_round[0] < 10.0
    assert draws.ess > 1500.0


def test_two_separate_peaks_keep_their_shares() -> None:
    def log_target(x: Floats) -> Floats:
        left = -0.5 * ((x + 3.0) ** 2).sum(axis=1) / 0.01 + math.log(0.25)
        right = -0.5 * ((x - 3.0) ** 2).sum(axis=1) / 0.01 + math.log(0.75)
        result: Floats = np.logaddexp(left, right)
        return result

    draws = adaptive_importance(
        log_target, lambda r, n: 3.0 * r.normal(size=(n, 2)), np.random.default_rng(1), 4000, 8
    )
    share = float(draws.weights[draws.points[:, 0] > 0.0].sum())
    assert share == pytest.approx(0.75, abs=4.0 * math.sqrt(0.75 * 0.25 / draws.ess))


def test_hard_edges_of_the_target_are_respected() -> None:
    draws = adaptive_importance(
        lambda x: np.where((x[:, 0] > 0.2) & (x[:, 0] < 0.4), 0.0, -np.inf),
        lambda r, n: r.random((n, 1)),
        np.random.default_rng(1),
        3000,
        4,
    )
    assert math.exp(draws.log_evidence) == pytest.approx(0.2, abs=4 * 0.2 / math.sqrt(draws.ess))
    assert (draws.resampled(np.random.default_rng(2), 500) > 0.2).all()


def test_systematic_resampling_gives_each_its_rounded_share() -> None:
    rng = np.random.default_rng(0)
    weights = rng.dirichlet(np.ones(30))
    for _ in range(50):
        counts = np.bincount(systematic(np.log(weights), rng, 200), minlength=30)
        assert (np.abs(counts - 200 * weights) < 1.0).all()


def test_systematic_never_picks_a_zero_weight() -> None:
    with np.errstate(divide="ignore"):
        logs = np.log(np.array([0.0, 0.5, 0.0, 0.5, 0.0]))
    assert set(systematic(logs, np.random.default_rng(1), 1000).tolist()) == {1, 3}


def test_effective_sample_size_of_one_heavy_draw_is_one() -> None:
    assert effective_sample_size(np.array([0.0, -800.0, -900.0])) == pytest.approx(1.0)
    assert effective_sample_size(np.array([-np.inf, -np.inf])) == 0.0


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_targets_that_are_no_log_density_are_refused(value: float) -> None:
    with pytest.raises(InputError, match="log density"):
        adaptive_importance(
            lambda x: np.full(len(x), value),
            lambda r, n: r.normal(size=(n, 1)),
            np.random.default_rng(1),
            100,
            2,
        )


def test_target_out_of_reach_of_the_prior_is_said_so() -> None:
    with pytest.raises(InputError, match="zero at every prior draw"):
        adaptive_importance(
            lambda x: np.full(len(x), -np.inf),
            lambda r, n: r.normal(size=(n, 1)),
            np.random.default_rng(1),
            100,
            2,
        )
