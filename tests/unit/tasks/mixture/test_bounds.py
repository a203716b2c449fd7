"""Words as bounds: the mean and spread they leave, against fine grids and a long chain of draws."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from support_mixture import blind

from tickover.physics.carburettor import model
from tickover.physics.carburettor.parts import Air
from tickover.tasks.mixture.bounds import match_moments
from tickover.tasks.mixture.likelihood import LEANEST, RICHEST, evidence_of
from tickover.tasks.mixture.posterior import Prior, Round, fit, predict, start_from
from tickover.tasks.mixture.readings import Reading, parse_sign
from tickover.tasks.mixture.target import Target

TARGET = Target()
EDGE, SOFT = Prior().word_edge, Prior().word_noise


def said(word, opening=1.0, speed=7000.0):
    return Reading(opening, speed, sign=parse_sign(word))


def by_grid(word, prior_sd):
    """Mean and spread of ln lambda after one word, the prior centred on the target."""
    wanted = float(np.log(TARGET.at(np.array([1.0]))[0]))
    x = np.linspace(wanted - 8.0 * prior_sd, wanted + 8.0 * prior_sd, 200_001)
    low, high = {
        "rich": (np.log(RICHEST), wanted - EDGE),
        "about right": (wanted - EDGE, wanted + EDGE),
        "lean": (wanted + EDGE, np.log(LEANEST)),
    }[word]
    weight = norm.pdf(x, wanted, prior_sd) * (
        norm.cdf((high - x) / SOFT) - norm.cdf((low - x) / SOFT)
    )
    weight /= weight.sum()
    mean = (weight * x).sum()
    return mean, np.sqrt((weight * (x - mean) ** 2).sum())


@pytest.mark.parametrize("word", ["rich", "about right", "lean"])
@pytest.mark.parametrize("prior_sd", [0.05, 0.15, 0.4])
def test_one_word_leaves_the_moments_of_the_bound_itself(word, prior_sd):
    data = evidence_of([said(word)], TARGET, EDGE, SOFT)
    wanted = np.log(TARGET.at(np.array([1.0])))
    told = match_moments(data, lambda x: (x, np.eye(1)), wanted, np.array([prior_sd**-2.0]), wanted)
    mean, spread = by_grid(word, prior_sd)
    # One bound and one unknown: nothing is left out, only the grid rounds.
    assert told.mean[0] == pytest.approx(mean, abs=1e-4)
    assert np.sqrt(told.covariance[0, 0]) == pytest.approx(spread, rel=1e-3)


def test_many_words_agree_with_a_long_chain_of_draws():
    """Elliptical slice sampling on the bent model, twelve words; the chain is right by itself."""
    one = blind.bench(np.random.default_rng(8))
    openings = blind.MAP_OPENINGS[list(blind._READ[0])]
    speeds = blind.MAP_SPEEDS[list(blind._READ[0])]
    words = ["rich"] * 5 + ["about right"] * 3 + ["rich"] * 4
    readings = tuple(said(w, float(o), float(s)) for w, o, s in
                     zip(words, openings, speeds, strict=True))  # fmt: skip
    anchor = np.zeros(4)
    post = fit(one.carburettor, one.engine, [Round(one.fitted, readings)], TARGET, anchor)
    at = model.points(one.carburettor, one.engine, Air(), openings, speeds)
    data = evidence_of(readings, TARGET, EDGE, SOFT)
    spread = np.array(Prior().spread)

    def ln_lambda(x):
        return model.ln_lambda(at, one.fitted, anchor + spread * x[:4]) + post.root @ x[4:]

    def log_chance(value):
        inside = norm.cdf((data.high - value) / data.noise) - norm.cdf(
            (data.low - value) / data.noise
        )
        return np.log(np.maximum(inside, 1e-300)).sum()

    rng = np.random.default_rng(1)
    x = np.zeros(16)
    now = log_chance(ln_lambda(x))
    kept = []
    for step in range(5000):
        other = rng.standard_normal(16)
        angle = rng.uniform(0.0, 2.0 * np.pi)
        low, high = angle - 2.0 * np.pi, angle
        least = now + np.log(rng.uniform())
        while True:
            tried = x * np.cos(angle) + other * np.sin(angle)
            value = ln_lambda(tried)
            if (chance := log_chance(value)) > least:
                x, now = tried, chance
                break
            low, high = (angle, high) if angle < 0.0 else (low, angle)
            angle = rng.uniform(low, high)
        if step > 200:
            kept.append(value)
    # What words measure holds an eye's own offset: the root does, the prediction does not.
    chain = np.array(kept)
    slopes = model.ln_lambda_slopes(at, one.fitted, post.factors)[:, 1:]
    jacobian = np.hstack([slopes, post.root])
    told = model.ln_lambda(at, one.fitted, post.factors) + post.root @ post.whitened
    width = np.sqrt(np.einsum("ik,kl,il->i", jacobian, post.covariance, jacobian))
    # 5000 steps of a chain that remembers: a fifth of a standard deviation.
    assert np.all(np.abs(told - chain.mean(axis=0)) < 0.2 * chain.std(axis=0) + 0.01)
    assert np.all(np.abs(width / chain.std(axis=0) - 1.0) < 0.2)


def test_rich_everywhere_is_richer_than_its_edge_and_still_runs():
    one = blind.bench(np.random.default_rng(8))
    openings = blind.MAP_OPENINGS[list(blind._READ[0])]
    speeds = blind.MAP_SPEEDS[list(blind._READ[0])]
    readings = tuple(said("rich", float(o), float(s)) for o, s in
                     zip(openings, speeds, strict=True))  # fmt: skip
    anchor = start_from(blind.road(one), one.fitted, TARGET, known_good=False)
    post = fit(one.carburettor, one.engine, [Round(one.fitted, readings)], TARGET, anchor)
    at = model.points(one.carburettor, one.engine, Air(), openings, speeds)
    told = predict(post, at, one.fitted)
    error = told.mean - np.log(TARGET.at(openings))
    assert np.all(error < -EDGE)
    assert np.all(told.mean > np.log(RICHEST))


def test_jets_nobody_has_shown_right_bend_the_model_less():
    """Clip at an end: taken for right, needle and slide are bent until it is; else less."""
    one = blind.bench(np.random.default_rng(8))
    at = blind.road(one)
    wanted = np.log(TARGET.at(at.openings))
    for clip in (1, 5):
        odd = one.fitted.with_(clip=clip)
        seen_right, happened = (start_from(at, odd, TARGET, known) for known in (True, False))
        assert np.abs(model.ln_lambda(at, odd, seen_right) - wanted).mean() < 0.05
        assert np.abs(happened[2:]).max() < 0.8 * np.abs(seen_right[2:]).max()
