"""The fit: right peak, honest width, words, outliers, rounds."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from support_mixture import blind

from tickover.errors import InputError
from tickover.physics.carburettor import model
from tickover.physics.carburettor.discrepancy import covariance
from tickover.physics.carburettor.parts import Air
from tickover.tasks.mixture.likelihood import cost, evidence_of, gradient_of
from tickover.tasks.mixture.posterior import Posterior, Prior, Round, fit, predict
from tickover.tasks.mixture.readings import Reading, parse_sign
from tickover.tasks.mixture.target import Target

BENCH = blind.bench(np.random.default_rng(3))
TARGET = Target()
OPENINGS = blind.MAP_OPENINGS[list(blind._READ[0])]
SPEEDS = blind.MAP_SPEEDS[list(blind._READ[0])]
NONE = np.zeros(4)


def made_up(factors, noise=0.0, setting=BENCH.fitted, seed=0) -> tuple[Reading, ...]:
    at = model.points(BENCH.carburettor, BENCH.engine, Air(), OPENINGS, SPEEDS)
    ln = model.ln_lambda(at, setting, factors)
    ln = ln + noise * np.random.default_rng(seed).standard_normal(ln.size)
    return tuple(
        Reading(float(o), float(s), lam=float(np.exp(v)), spread=max(noise, 0.01))
        for o, s, v in zip(OPENINGS, SPEEDS, ln, strict=True)
    )


def fitted(*rounds, prior=None) -> Posterior:
    return fit(BENCH.carburettor, BENCH.engine, rounds, TARGET, NONE, prior)


def test_factors_that_made_the_readings_are_found_within_their_width():
    truth = np.array([0.2, -0.15, 0.2, 0.1])
    post = fitted(Round(BENCH.fitted, made_up(truth)))
    sd = np.sqrt(np.diag(post.covariance))[:4]
    assert np.all(np.abs(post.factors - truth) < 2.5 * sd)
    assert sd[1] < 0.15  # the main jet is what full-throttle readings tell most of


def test_the_peak_is_the_one_a_general_minimiser_finds():
    """The same cost, handed to BFGS from another start."""
    readings = made_up(np.array([0.1, 0.1, -0.1, 0.1]), noise=0.02, seed=4)
    words = (
        Reading(0.3, 5000.0, sign=parse_sign("rich")),
        Reading(0.9, 8000.0, sign=parse_sign("about right")),
    )
    post = fitted(Round(BENCH.fitted, readings + words))
    data = evidence_of(readings + words, TARGET, Prior().word_edge, Prior().word_noise)
    at = model.points(
        BENCH.carburettor, BENCH.engine, Air(), post.openings.copy(), post.speeds_rpm.copy()
    )
    spread = np.array(Prior().spread)

    def value(x):
        ln = model.ln_lambda(at, BENCH.fitted, x[:4]) + post.root @ x[4:]
        return cost(data, ln, x[:4], x[4:], NONE, spread)

    best = minimize(value, np.zeros(4 + post.openings.size), method="BFGS",
                    options={"maxiter": 4000, "gtol": 1e-6})  # fmt: skip
    ours = value(np.concatenate([post.factors, post.whitened]))
    assert ours <= best.fun + 1e-3


def test_the_root_is_that_of_discrepancy_and_sensor_offset():
    post = fitted(Round(BENCH.fitted, made_up(NONE)))
    prior = Prior()
    k = covariance(prior.discrepancy, post.openings, post.speeds_rpm, post.rounds,
                   post.openings, post.speeds_rpm, post.rounds)  # fmt: skip
    assert np.allclose(post.root @ post.root.T, k + prior.sensor_offset**2, atol=1e-7)


def test_more_readings_make_the_map_surer():
    few = fitted(Round(BENCH.fitted, made_up(NONE)[:3]))
    many = fitted(Round(BENCH.fitted, made_up(NONE)))
    at = model.points(BENCH.carburettor, BENCH.engine, Air(), blind.MAP_OPENINGS, blind.MAP_SPEEDS)
    assert predict(many, at, BENCH.fitted).spread.mean() < 0.8 * (
        predict(few, at, BENCH.fitted).spread.mean()
    )


def test_a_new_setting_is_less_sure_than_the_one_that_was_read_and_the_further_the_less():
    post = fitted(Round(BENCH.fitted, made_up(NONE)))
    at = model.points(BENCH.carburettor, BENCH.engine, Air(), np.array([1.0]), np.array([7500.0]))
    spread = [
        predict(post, at, BENCH.fitted.with_(main_jet=BENCH.fitted.main_jet * f)).spread[0]
        for f in (1.0, 0.95, 0.85)
    ]
    assert spread[0] < spread[1] < spread[2]


def test_words_pull_to_their_side():
    at = model.points(BENCH.carburettor, BENCH.engine, Air(), np.array([0.75]), np.array([7000.0]))
    means = []
    for word in ("rich", "about right", "lean"):
        rows = tuple(Reading(t, 7000.0, sign=parse_sign(word)) for t in (0.5, 0.75, 1.0))
        means.append(predict(fitted(Round(BENCH.fitted, rows)), at, BENCH.fitted).mean[0])
    target = np.log(TARGET.at(np.array([0.75]))[0])
    assert means[0] < means[1] < means[2]
    assert means[0] < target < means[2]


def test_one_misfire_does_not_move_the_map_much():
    good = made_up(NONE, noise=0.01)
    bad = list(good)
    bad[9] = Reading(bad[9].opening, bad[9].speed_rpm, lam=bad[9].lam * 1.4, spread=0.01)
    at = model.points(BENCH.carburettor, BENCH.engine, Air(), blind.MAP_OPENINGS, blind.MAP_SPEEDS)
    clean = predict(fitted(Round(BENCH.fitted, good)), at, BENCH.fitted).mean
    dirty = predict(fitted(Round(BENCH.fitted, tuple(bad))), at, BENCH.fitted).mean
    assert np.median(np.abs(dirty - clean)) < 0.04


def test_slopes_of_the_likelihood_are_slopes():
    readings = (
        Reading(0.5, 6000.0, lam=0.9),
        *(Reading(0.5, 6000.0, sign=parse_sign(w)) for w in ("rich", "lean", "about right")),
    )
    data = evidence_of(readings, TARGET, 0.055, 0.05)
    zero = np.zeros(4)
    for shift in (-0.4, -0.1, 0.0, 0.07, 0.3):
        ln = np.log(0.92) + shift + np.array([0.0, 0.01, -0.02, 0.03])
        gradient, weight = gradient_of(data, ln)
        assert np.all(weight > 0)
        for i in range(4):
            step = np.zeros(4)
            step[i] = 1e-6
            up = cost(data, ln + step, zero, zero, zero, np.ones(4))
            down = cost(data, ln - step, zero, zero, zero, np.ones(4))
            assert gradient[i] == pytest.approx(-(up - down) / 2e-6, rel=1e-3, abs=1e-4)


def test_nothing_to_fit_is_said():
    with pytest.raises(InputError, match="nothing to fit"):
        fitted(Round(BENCH.fitted, ()))
