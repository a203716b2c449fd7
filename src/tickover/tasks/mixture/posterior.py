"""What the readings say about this carburettor: a posterior over factors and what the model misses.

ln lambda at a reading = model(factors; jets, air) + discrepancy (+ the sensor's own offset) +
noise. The unknowns are the four ln-factors and the whitened discrepancy at the readings; the most
probable values come from damped Newton steps, the uncertainty from the curvature there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.physics.carburettor import model
from tickover.physics.carburettor.discrepancy import Discrepancy, correlation, covariance
from tickover.physics.carburettor.model import Points
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Setting
from tickover.tasks.mixture.bounds import Believed, match_moments
from tickover.tasks.mixture.likelihood import cost, evidence_of, gradient_of
from tickover.tasks.mixture.readings import Reading, check_together
from tickover.tasks.mixture.target import Target

Floats = NDArray[np.float64]

_UNKNOWN = -1
"""Round number of jets not fitted yet."""


_UNPROVEN = 0.20
"""How far off jets may be that nobody has shown to be right: what a hundred invented machines with
jets at random were off by before any advice (ln lambda, standard deviation) [-]"""


@dataclass(frozen=True, slots=True)
class Round:
    """One set-up as it was run, with the readings taken in it."""

    setting: Setting
    readings: tuple[Reading, ...]
    air: Air = field(default_factory=Air)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before the first reading.

    Parameters
    ----------
    spread : tuple of float, length 4
        Standard deviations of the ln-factors pilot, main, needle, cutaway [-]
    discrepancy : Discrepancy
    sensor_offset : float
        Standard deviation of an offset common to all numbers of one sensor [-]
    word_offset : float
        The same for all words: one eye calls rich what another calls right [-]
    change : float
        How far the model may be wrong about the effect of each adjuster, as a share of it [-]
    word_edge, word_noise : float
        'About right' reaches this far to either side of the target, and how sharp that edge is
        (ln lambda) [-]
    """

    spread: tuple[float, float, float, float] = (0.35, 0.30, 0.30, 0.30)
    discrepancy: Discrepancy = field(default_factory=Discrepancy)
    sensor_offset: float = 0.015
    word_offset: float = 0.03
    change: float = 0.25
    word_edge: float = 0.055
    word_noise: float = 0.05


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is believed after the readings.

    Parameters
    ----------
    factors : array, shape (4,)
        Most probable ln-factors [-]
    whitened : array, shape (n,)
        Most probable discrepancy at the readings, whitened [-]
    covariance : array, shape (4 + n, 4 + n)
    """

    factors: Floats
    whitened: Floats
    covariance: Floats
    openings: Floats
    speeds_rpm: Floats
    rounds: NDArray[np.int64]
    root: Floats
    settings: tuple[Setting, ...]
    prior: Prior
    steps: int


@dataclass(frozen=True, slots=True)
class Prediction:
    """ln lambda at points: mean, and how to get any spread from it."""

    mean: Floats
    covariance: Floats

    @property
    def spread(self) -> Floats:
        """Standard deviation at each point, shape (n,) [-]."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


def fit(
    carburettor: Carburettor,
    engine: Breathing,
    rounds: Sequence[Round],
    target: Target,
    anchor: Floats,
    prior: Prior | None = None,
) -> Posterior:
    """Fit factors and discrepancy to the readings of all rounds.

    Parameters
    ----------
    carburettor : Carburettor
    engine : Breathing
    rounds : sequence of Round
        In the order they were run. A known-good set-up is a round too.
    target : Target
        What the words are measured by.
    anchor : array, shape (4,)
        Prior mean of the ln-factors, from `model.anchor` [-]
    prior : Prior, optional

    Returns
    -------
    Posterior

    Raises
    ------
    InputError
        If there is no reading at all, or readings of a round contradict each other.
    """
    beliefs = prior or Prior()
    used = [r for r in rounds if r.readings]
    if not used:
        raise InputError(
            "There is nothing to fit",
            allowed="one reading or more",
            instead="a first reading, best at three quarters open",
        )
    for one in used:
        check_together(one.readings)
    at = [
        model.points(
            carburettor,
            engine,
            one.air,
            np.array([r.opening for r in one.readings]),
            np.array([r.speed_rpm for r in one.readings]),
        )
        for one in used
    ]
    readings = [r for one in used for r in one.readings]
    data = evidence_of(readings, target, beliefs.word_edge, beliefs.word_noise)
    openings = np.concatenate([p.openings for p in at])
    speeds = np.concatenate([p.speeds_rpm for p in at])
    number = np.concatenate(
        [np.full(len(one.readings), i, dtype=np.int64) for i, one in enumerate(used)]
    )
    k = covariance(beliefs.discrepancy, openings, speeds, number, openings, speeds, number)
    k += _of_changes(used, at, anchor, beliefs, number)
    measured = data.is_number.astype(float)
    k += beliefs.sensor_offset**2 * np.outer(measured, measured)
    k += beliefs.word_offset**2 * np.outer(1.0 - measured, 1.0 - measured)
    root = np.asarray(np.linalg.cholesky(k + 1e-8 * np.eye(len(readings))), dtype=np.float64)
    spread = np.array(beliefs.spread)

    def slopes(theta: Floats) -> Floats:
        return np.concatenate(
            [model.ln_lambda_slopes(p, one.setting, theta) for p, one in zip(at, used, strict=True)]
        )

    n = len(readings)
    theta = anchor.copy()
    u = np.zeros(n)
    damping = 1e-4
    now = slopes(theta)
    worth = cost(data, now[:, 0] + root @ u, theta, u, anchor, spread)
    steps = 0
    for _ in range(60):
        steps += 1
        predicted = now[:, 0] + root @ u
        gradient, weight = gradient_of(data, predicted)
        jacobian = np.hstack([now[:, 1:], root])
        slope = jacobian.T @ gradient
        slope[:4] -= (theta - anchor) / spread**2
        slope[4:] -= u
        curvature = jacobian.T @ (weight[:, None] * jacobian)
        curvature[np.arange(4), np.arange(4)] += 1.0 / spread**2
        curvature[np.arange(4, n + 4), np.arange(4, n + 4)] += 1.0
        step = np.linalg.solve(curvature + damping * np.diag(np.diag(curvature)), slope)
        tried_theta = theta + np.clip(step[:4], -0.4, 0.4)
        tried_u = u + step[4:]
        tried = slopes(tried_theta)
        tried_worth = cost(data, tried[:, 0] + root @ tried_u, tried_theta, tried_u, anchor, spread)
        if tried_worth <= worth:
            settled = worth - tried_worth < 1e-7 * (1.0 + abs(worth))
            theta, u, now, worth = tried_theta, tried_u, tried, tried_worth
            damping = max(damping * 0.2, 1e-9)
            if settled:
                break
        else:
            damping = max(damping * 10.0, 1e-3)
            if damping > 1e8:
                break
    if data.is_number.all():
        _, weight = gradient_of(data, now[:, 0] + root @ u)
        jacobian = np.hstack([now[:, 1:], root])
        curvature = jacobian.T @ (weight[:, None] * jacobian)
        curvature[np.arange(4), np.arange(4)] += 1.0 / spread**2
        curvature[np.arange(4, n + 4), np.arange(4, n + 4)] += 1.0
        believed = Believed(
            np.concatenate([theta, u]), np.asarray(np.linalg.inv(curvature), dtype=np.float64)
        )
    else:

        def line(x: Floats) -> tuple[Floats, Floats]:
            there = slopes(x[:4])
            return there[:, 0] + root @ x[4:], np.hstack([there[:, 1:], root])

        believed = match_moments(
            data,
            line,
            np.concatenate([anchor, np.zeros(n)]),
            np.concatenate([1.0 / spread**2, np.ones(n)]),
            np.concatenate([theta, u]),
        )
    return Posterior(
        factors=believed.mean[:4],
        whitened=believed.mean[4:],
        covariance=believed.covariance,
        openings=openings,
        speeds_rpm=speeds,
        rounds=number,
        root=root,
        settings=tuple(one.setting for one in used),
        prior=beliefs,
        steps=steps,
    )


def start_from(at: Points, setting: Setting, target: Target, known_good: bool) -> Floats:
    """Prior mean of the ln-factors, from the first set-up there was.

    Parameters
    ----------
    at : Points
        Along the road line, in the air of that set-up.
    setting : Setting
    target : Target
    known_good : bool
        Whether it was seen to run right, or is only what happened to be in.

    Returns
    -------
    array, shape (4,)
        [-]
    """
    wanted = np.log(target.at(at.openings))
    if known_good:
        return model.anchor(at, setting, wanted)
    return model.anchor(at, setting, wanted, miss_size=_UNPROVEN)


def _of_changes(
    rounds: Sequence[Round],
    at: Sequence[Points],
    factors: Floats,
    prior: Prior,
    number: NDArray[np.int64],
) -> Floats:
    """Extra covariance of earlier rounds: the model is not sure what a change of jets did.

    The last round is the reference, because the next change starts from it.
    """
    last = rounds[-1].setting
    parts = [
        effects(points, last, one.setting, factors) for points, one in zip(at, rounds, strict=True)
    ]
    each = np.concatenate(parts, axis=1)
    openings = np.concatenate([points.openings for points in at])
    speeds = np.concatenate([points.speeds_rpm for points in at])
    alike = correlation(prior.discrepancy, openings, speeds, openings, speeds)
    same = number[:, None] == number[None, :]
    return np.where(same, prior.change**2 * alike * (each.T @ each), 0.0)


def effects(at: Points, before: Setting, after: Setting, factors: Floats) -> Floats:
    """What each adjuster alone does to ln lambda on the way from one setting to another.

    Two changes that cancel are not sure because they cancel: each is believed only so far.

    Parameters
    ----------
    at : Points
    before, after : Setting
    factors : array, shape (4,)

    Returns
    -------
    array, shape (5, n)
        Pilot jet, screw, cutaway, needle with its clip, main jet [-]
    """
    base = model.ln_lambda(at, before, factors)
    out = np.zeros((5, base.size))
    for row, moved in enumerate(_one_by_one(before, after)):
        if moved != before:
            out[row] = model.ln_lambda(at, moved, factors) - base
    return out


def _one_by_one(before: Setting, after: Setting) -> tuple[Setting, ...]:
    return (
        before.with_(pilot_jet=after.pilot_jet),
        before.with_(screw_turns=after.screw_turns),
        before.with_(cutaway=after.cutaway),
        before.with_(needle=after.needle, clip=after.clip),
        before.with_(main_jet=after.main_jet),
    )


@dataclass(frozen=True, slots=True)
class Transfer:
    """How the discrepancy at points follows from that at the readings; no jets in it."""

    weights: Floats
    mean: Floats
    left: Floats


def transfer(posterior: Posterior, at: Points, setting: Setting | None) -> Transfer:
    """Carry the discrepancy from the readings to points of a map.

    Parameters
    ----------
    posterior : Posterior
    at : Points
    setting : Setting or None
        The jets in which the points are meant; None for jets not run yet.

    Returns
    -------
    Transfer
        Weights on the whitened discrepancy, shape (m, n), its mean, shape (m,), and the
        covariance that no reading touches, shape (m, m).
    """
    number = posterior.settings.index(setting) if setting in posterior.settings else _UNKNOWN
    rounds = np.full(at.openings.size, number, dtype=np.int64)
    shape = posterior.prior.discrepancy
    cross = covariance(
        shape, at.openings, at.speeds_rpm, rounds,
        posterior.openings, posterior.speeds_rpm, posterior.rounds,
    )  # fmt: skip
    own = covariance(shape, at.openings, at.speeds_rpm, rounds, at.openings, at.speeds_rpm, rounds)
    weights = np.asarray(np.linalg.solve(posterior.root, cross.T).T, dtype=np.float64)
    return Transfer(weights, weights @ posterior.whitened, own - weights @ weights.T)


def predict(
    posterior: Posterior, at: Points, setting: Setting, carried: Transfer | None = None
) -> Prediction:
    """ln lambda at points for a setting, with its covariance.

    Parameters
    ----------
    posterior : Posterior
    at : Points
    setting : Setting
    carried : Transfer, optional
        If it was worked out before for these points.

    Returns
    -------
    Prediction
    """
    carried = carried or transfer(posterior, at, setting)
    slopes = model.ln_lambda_slopes(at, setting, posterior.factors)
    jacobian = np.hstack([slopes[:, 1:], carried.weights])
    covariance_ = jacobian @ posterior.covariance @ jacobian.T + carried.left
    if setting not in posterior.settings:
        each = effects(at, posterior.settings[-1], setting, posterior.factors)
        alike = correlation(
            posterior.prior.discrepancy, at.openings, at.speeds_rpm, at.openings, at.speeds_rpm
        )
        covariance_ = covariance_ + posterior.prior.change**2 * alike * (each.T @ each)
    return Prediction(mean=slopes[:, 0] + carried.mean, covariance=covariance_)
