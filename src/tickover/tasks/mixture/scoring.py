"""What a setting is expected to be worth, with the whole uncertainty.

The expected loss of a normal unknown has a closed form, so nothing is sampled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.carburettor import model
from tickover.physics.carburettor.model import Points
from tickover.physics.carburettor.parts import Setting
from tickover.tasks.mixture.drawer import Drawer, minutes_for, prices
from tickover.tasks.mixture.posterior import Posterior, Transfer, predict
from tickover.tasks.mixture.target import HALF_THROTTLE, LEAN_MARGIN, Target

Floats = NDArray[np.float64]

_DRAWS = 2000


@dataclass(frozen=True, slots=True)
class Taste:
    """What weighs how much, as loss in (ln lambda)^2 averaged over the map.

    Parameters
    ----------
    lean_weight : float
        Above half throttle a lean error counts this many times a rich one of its size [-]
    lean_weight_low : float
        The same at and below a quarter open; in between it grows evenly [-]
    rich_bias : float
        Aim this much richer than the target above half throttle [-]
    chance_weight : float
        Loss for each unit of probability of a point above half throttle over 5 % lean.
    minute, money : float
        Loss for a minute on the stand, and for a unit of money.
    shortlist : int
        How many settings are scored with the whole uncertainty.
    lean_cap : float
        No setting is advised before a richer one while the chance of any point above half throttle
        over 5 % lean is more than this: rich first, then step down (common practice, no source)
        [-]
    """

    lean_weight: float = 4.0
    lean_weight_low: float = 1.0
    rich_bias: float = 0.025
    chance_weight: float = 0.002
    minute: float = 4e-6
    money: float = 4e-6
    shortlist: int = 400
    lean_cap: float = 0.10


@dataclass(frozen=True, slots=True)
class Choice:
    """A setting with what it is expected to be worth."""

    setting: Setting
    loss: float
    error: float
    """Expected root mean square of ln(lambda/target) over the map [-]"""
    minutes: float
    money: float


def bias(at: Points, taste: Taste) -> Floats:
    """Richer than the target by so much, growing in from a quarter to half throttle."""
    return taste.rich_bias * _high_share(at)


def lean_weights(at: Points, taste: Taste) -> Floats:
    """How many times a rich error a lean one counts at each point, shape (n,) [-]."""
    return taste.lean_weight_low + (taste.lean_weight - taste.lean_weight_low) * _high_share(at)


def _high_share(at: Points) -> Floats:
    """0 up to a quarter open, 1 from half throttle on."""
    return np.clip((at.openings - 0.25) / (HALF_THROTTLE - 0.25), 0.0, 1.0)


def score(
    posterior: Posterior, at: Points, drawer: Drawer, fitted: Setting, settings: list[Setting],
    target: Target, taste: Taste, carried: Transfer,
) -> list[Choice]:  # fmt: skip
    """Expected loss of each setting with the whole uncertainty.

    Parameters
    ----------
    posterior : Posterior
    at : Points
        Points of the map that mean something.
    drawer : Drawer
    fitted : Setting
        What is in now: effort and money count from it.
    settings : list of Setting
    target : Target
    taste : Taste
    carried : Transfer
        The discrepancy carried to the points.

    Returns
    -------
    list of Choice
        In the order of `settings`.
    """
    from scipy.special import ndtr

    from tickover.physics.carburettor import kernels

    m, n = len(settings), at.openings.size
    jets = np.array([model.setting_numbers(setting) for setting in settings])
    rings: dict[tuple[object, int], Floats] = {}
    ring = np.empty((m, n))
    for i, setting in enumerate(settings):
        key = (setting.needle.name, setting.clip)
        if key not in rings:
            rings[key] = model.annulus(at, setting)
        ring[i] = rings[key]
    slopes = np.empty((m, n, 5))
    kernels.slopes_of_many(slopes, at.states, jets, ring, posterior.factors, at.fixed, at.air)
    mean = slopes[:, :, 0] + carried.mean
    jacobian = slopes[:, :, 1:]
    cov_tt = posterior.covariance[:4, :4]
    crossed = carried.weights @ posterior.covariance[4:, :4]
    own = np.einsum("nk,kl,nl->n", carried.weights, posterior.covariance[4:, 4:], carried.weights)
    variance = (
        np.einsum("mnk,kl,mnl->mn", jacobian, cov_tt, jacobian)
        + 2.0 * np.einsum("mnk,nk->mn", jacobian, crossed)
        + own
        + np.diag(carried.left)
    )
    variance = variance + posterior.prior.change**2 * _effects_squared(posterior, at, settings)
    sd = np.sqrt(np.maximum(variance, 1e-12))
    error = mean - np.log(target.at(at.openings))
    off = error + bias(at, taste)
    z = off / sd
    above = ndtr(z)
    density = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    second = off**2 + sd**2
    lean = second * above + off * sd * density
    loss = (second + (lean_weights(at, taste) - 1.0) * lean).mean(axis=1)
    high = at.openings >= HALF_THROTTLE
    chance = ndtr((error - LEAN_MARGIN) / sd)[:, high]
    worst = chance.max(axis=1) if high.any() else np.zeros(m)
    loss = loss + taste.chance_weight * worst
    rms = np.sqrt((error**2 + sd**2).mean(axis=1))
    money_for = prices(drawer)
    choices = []
    for i, setting in enumerate(settings):
        minutes = minutes_for(drawer, fitted, setting)
        money = money_for.of(setting) if setting != fitted else 0.0
        total = float(loss[i]) + taste.minute * minutes + taste.money * money
        choices.append(Choice(setting, total, float(rms[i]), minutes, money))
    return choices


def chance_of_lean(
    posterior: Posterior, at: Points, setting: Setting, target: Target,
    carried: Transfer | None = None,
) -> float:  # fmt: skip
    """Probability of any point above half throttle over 5 % lean, from seeded draws.

    Parameters
    ----------
    posterior : Posterior
    at : Points
        Points of the map that mean something.
    setting : Setting
    target : Target
    carried : Transfer, optional
        If it was worked out before for these points.

    Returns
    -------
    float
        Points go together: less than the sum of their chances, no less than the likeliest [-]
    """
    high = at.openings >= HALF_THROTTLE
    if not high.any():
        return 0.0
    told = predict(posterior, at, setting, carried)
    covariance = told.covariance[np.ix_(high, high)]
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    draws = np.random.default_rng(1).standard_normal((_DRAWS, int(high.sum())))
    edge = np.log(target.at(at.openings[high]) * (1.0 + LEAN_MARGIN)) - told.mean[high]
    return float(np.mean((draws @ root.T > edge).any(axis=1)))


def _effects_squared(posterior: Posterior, at: Points, settings: list[Setting]) -> Floats:
    """Sum of the squared effects of each adjuster since the last round, shape (m, n).

    An adjuster has few values, so each effect is worked out once.
    """
    last = posterior.settings[-1]
    base = model.ln_lambda(at, last, posterior.factors)
    known: dict[tuple[object, ...], Floats] = {}
    out = np.zeros((len(settings), at.openings.size))
    for i, setting in enumerate(settings):
        for key, moved in (
            (("pilot", setting.pilot_jet), {"pilot_jet": setting.pilot_jet}),
            (("screw", setting.screw_turns), {"screw_turns": setting.screw_turns}),
            (("cutaway", setting.cutaway), {"cutaway": setting.cutaway}),
            (
                ("needle", setting.needle.name, setting.needle.jet_below_clip, setting.clip),
                {"needle": setting.needle, "clip": setting.clip},
            ),
            (("main", setting.main_jet), {"main_jet": setting.main_jet}),
        ):
            if key not in known:
                changed = last.with_(**moved)
                effect = model.ln_lambda(at, changed, posterior.factors) - base
                known[key] = effect * effect
            out[i] += known[key]
    return out
