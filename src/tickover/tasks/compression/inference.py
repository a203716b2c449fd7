"""From readings to causes: what is shared is drawn, what is a cylinder's own is summed over.

Given what is shared, the cylinders tell nothing of one another, so each cylinder's faults and
their sizes are summed on a grid; only a gasket ties two together. What is shared (and the size of
an engine-wide fault) is drawn by adaptive importance sampling, once for each engine-wide fault,
whose evidence then weighs them against one another.

Of the eleven shared numbers the readings tell only a few combinations: along these the draws are
adapted; across them they come straight from the prior. Adapting in all of them would leave a few
draws in a hundred to count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.sampling import adaptive_importance
from tickover.errors import InputError
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression import shared as s
from tickover.tasks.compression.described import PSI
from tickover.tasks.compression.likelihood import (
    GASKET_ODDS,
    GRID,
    NODES,
    SPREAD_ODDS,
    Likelihoods,
    Problem,
    node,
    ring_leaks,
)

Floats = NDArray[np.float64]

CAUSES = (
    h.SOUND, h.RING, h.INLET, h.EXHAUST, h.HELD_INLET, h.HELD_EXHAUST, h.GASKET, h.LOW_RATIO,
    h.HIGH_RATIO, h.SLIDE, h.LATE_CAM, h.EARLY_CAM, h.SLOW_CRANKING, h.GAUGE, h.OTHER,
)  # fmt: skip

#: Effective draws of a fault that matters, below which it is drawn again with more.
ENOUGH = 60.0

#: Bins of a predicted reading [Pa], and of a predicted leak-down area [ln scaled mm2].
PRESSURE_BINS = np.linspace(0.0, 260.0, 53) * PSI
LEAK_BINS = np.linspace(math.log(0.05), math.log(24.0), 33)


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """What is believed after the readings.

    Parameters
    ----------
    local : array, shape (cylinders, CAUSES)
        Probability of each cause per cylinder; rows sum to 1
    evidence : array, shape (cylinders, CAUSES)
        ln of probability over prior probability: what the readings alone say
    engine : dict of str to float
        Probability of each engine-wide fault, "sound" for none
    leak : array, shape (cylinders, 3)
        10, 50 and 90 percent points of the whole leak [mm2]
    outcomes : dict of str to array, shape (cylinders, bins, CAUSES)
        Of checks not yet made: P(bin and cause), by kind
    ess : float
        Effective sample size behind the probabilities
    emulator_rms : float
        Share of the absolute pressure [1]
    """

    local: Floats
    evidence: Floats
    engine: dict[str, float]
    leak: Floats
    outcomes: dict[str, Floats]
    ess: float
    emulator_rms: float


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """Posterior under one engine-wide fault; log_weight up to a constant."""

    fault: h.WholeEngine
    log_weight: float
    weights: Floats
    draws: Floats
    size: Floats
    found: Likelihoods
    local: Floats  # (cylinders, LOCAL + gasket)
    nodes: Floats  # (cylinders, NODES) of the whole leak
    ess: float


def infer(problem: Problem, seed: int, *, draws: int = 240, rounds: int = 2) -> Posterior:
    """Causes per cylinder.

    Parameters
    ----------
    problem : Problem
    seed : int
        Of the draws; the same seed gives the same numbers
    draws : int
        Per engine-wide fault and round
    rounds : int
        Of adaptation

    Returns
    -------
    Posterior

    Raises
    ------
    InputError
        If there is nothing to infer from, or no cause known here gives such readings.
    """
    if not problem.kinds and not any(x is not None for x in problem.leak_seen):
        raise InputError("There is no reading to judge by", instead="a dry reading per cylinder")
    rng = np.random.default_rng(seed)
    faults = h.whole_engine(problem.day)
    found = [_one_fault(problem, fault, rng, draws, rounds) for fault in faults]
    top = max((p.log_weight for p in found if p is not None), default=0.0)
    for i, part in enumerate(found):
        # Much evidence leaves few draws that count: draw again where it matters.
        if part is not None and part.log_weight > top - 4.0 and part.ess < ENOUGH:
            again = _one_fault(problem, part.fault, rng, 3 * draws, rounds + 3)
            if again is not None and again.ess > part.ess:
                found[i] = again
    parts = [part for part in found if part is not None]
    if not parts:
        raise InputError(
            "No cause known here gives such readings",
            allowed="gauge readings of one engine, each with its right unit",
        )
    return _merged(problem, parts)


def _informed(problem: Problem, fault: h.WholeEngine) -> Floats:
    """Directions the readings can tell, as orthonormal columns over the standardised prior.

    Slopes of the readings of sound cylinders, and of the ring leak where a leak-down figure is
    there; the last row stands for the size of the engine-wide fault.
    """
    d = problem.prior.mean.size
    has_size = fault.name != h.SOUND
    columns = []
    if fault.name != h.OTHER:
        steps = np.concatenate((np.eye(d), -np.eye(d))) * 0.5
        at = problem.prior.mean + problem.prior.sd * steps
        size = np.full(2 * d, 0.5 * (fault.low + fault.high))
        moved = problem.moved(at, fault, size)
        rings = np.exp(moved[:, s.RINGS])[:, None] / problem.scale
        for kind in problem.kinds:
            shown = problem.shown(moved, rings, fault, size, kind)[:, 0]
            columns.append(shown[:d] - shown[d:])
        if any(x is not None for x in problem.leak_seen):
            columns.append(np.eye(d)[s.RINGS])
    width = d + int(has_size)
    table = np.zeros((width, len(columns) + int(has_size)))
    for k, column in enumerate(columns):
        norm = float(np.linalg.norm(column))
        table[:d, k] = column / norm if norm > 0.0 else 0.0
    if has_size:
        table[-1, -1] = 1.0
    basis, sizes, _ = np.linalg.svd(table, full_matrices=False)
    return np.asarray(basis[:, sizes > 0.03], dtype=np.float64)


def _one_fault(
    problem: Problem, fault: h.WholeEngine, rng: np.random.Generator, n: int, rounds: int
) -> _Part | None:
    basis = _informed(problem, fault)
    d = problem.prior.mean.size
    last: dict[str, object] = {}

    def log_target(along: Floats) -> Floats:
        # Across the informed directions: a fresh draw of the prior for every point.
        across = rng.standard_normal((len(along), basis.shape[0]))
        whole = across - (across @ basis) @ basis.T + along @ basis.T
        draws = problem.prior.mean + problem.prior.sd * whole[:, :d]
        size = np.zeros(len(along))
        if fault.name != h.SOUND:
            size = fault.low + (fault.high - fault.low) * _share(whole[:, -1])
        found = problem.of_draws(draws, fault, size)
        last["draws"], last["size"], last["found"] = draws, size, found
        density: Floats = found.log_total - 0.5 * np.sum(along * along, axis=1)
        return density

    def prior_draw(random: np.random.Generator, m: int) -> Floats:
        points: Floats = random.standard_normal((m, basis.shape[1]))
        return points

    try:
        drawn = adaptive_importance(log_target, prior_draw, rng, n, rounds)
    except InputError:
        return None  # the readings cannot come from this fault at all
    if not math.isfinite(drawn.log_evidence):
        return None
    draws, size, found = last["draws"], last["size"], last["found"]
    assert isinstance(draws, np.ndarray)
    assert isinstance(size, np.ndarray)
    assert isinstance(found, Likelihoods)
    log_weight = (
        drawn.log_evidence - 0.5 * basis.shape[1] * math.log(2.0 * math.pi) + math.log(fault.prior)
    )
    local, nodes = _marginals(problem, found, fault, draws, size, drawn.weights)
    return _Part(fault, log_weight, drawn.weights, draws, size, found, local, nodes, drawn.ess)


def _share(z: Floats) -> Floats:
    """The normal law's distribution function: a standard draw becomes an even one on 0..1."""
    # Within 2e-4 of the normal law (a logistic with a cubic): a map of the size, not a law.
    share: Floats = 1.0 / (1.0 + np.exp(-1.5976 * z - 0.07056 * z**3))
    return share


def _marginals(
    problem: Problem,
    found: Likelihoods,
    fault: h.WholeEngine,
    draws: Floats,
    size: Floats,
    weights: Floats,
) -> tuple[Floats, Floats]:
    count = len(problem.readings)
    joined = 1.0 + np.sum(found.pairs, axis=0) if found.pairs else np.ones(len(draws))
    with_pair = [np.zeros(len(draws)) for _ in range(count)]
    for (i, j), odds in zip(problem.pairs, found.pairs, strict=True):
        with_pair[i] = with_pair[i] + odds / joined
        with_pair[j] = with_pair[j] + odds / joined
    moved = problem.moved(draws, fault, size)
    rings = np.exp(moved[:, s.RINGS]) / problem.scale
    local = np.zeros((count, len(h.LOCAL) + 1))
    nodes = np.zeros((count, NODES.size))
    for i in range(count):
        free = 1.0 - with_pair[i]
        share = found.causes[i] * problem.local_prior[i] / found.alone[i][:, None]
        local[i, :-1] = (weights * free) @ share
        local[i, -1] = weights @ with_pair[i]
        odds = _combo_odds(problem, i)
        spread = _rows_to_one(found.combos[i] * odds) * (weights * free)[:, None]
        whole = ring_leaks(rings) + GRID.seat
        np.add.at(nodes[i], node(whole).ravel(), spread.ravel())
        if local[i, -1] > 1e-6:
            seats = _rows_to_one(found.gaskets[i] * GASKET_ODDS)
            spread = seats * (weights * with_pair[i])[:, None]
            whole = rings[:, None] + h.SEAT_SIZES
            np.add.at(nodes[i], node(whole).ravel(), spread.ravel())
    return local, nodes


def _rows_to_one(table: Floats) -> Floats:
    share: Floats = table / np.maximum(table.sum(axis=1, keepdims=True), 1e-300)
    return share


def _combo_odds(problem: Problem, i: int) -> Floats:
    """Prior of every combination of own leaks of cylinder i, causes summed."""
    prior = problem.local_prior[i] * problem.heard[i]
    odds = np.zeros(GRID.seat.size)
    odds[GRID.sound] = prior[0] * SPREAD_ODDS
    odds[GRID.ring] = prior[1] * h.size_weights(h.RING, h.RING_SIZES)
    for column, cause in enumerate(h.LEAKS_PAST_SEAT, start=2):
        odds[GRID.seats] += prior[column] * h.size_weights(cause, h.SEAT_SIZES)
    return odds


def _said(local: str, engine: str) -> str:
    """A cylinder with nothing of its own has the engine's fault."""
    return engine if local == h.SOUND else local


def _merged(problem: Problem, parts: list[_Part]) -> Posterior:
    top = max(p.log_weight for p in parts)
    odds = np.array([math.exp(p.log_weight - top) for p in parts])
    odds /= odds.sum()
    count = len(problem.readings)
    own, whole = np.zeros((count, len(CAUSES))), np.zeros((count, len(CAUSES)))
    nodes = np.zeros((count, NODES.size))
    for part, weight in zip(parts, odds, strict=True):
        for column, name in enumerate(h.LOCAL):
            into = whole if name == h.SOUND and part.fault.name != h.SOUND else own
            into[:, CAUSES.index(_said(name, part.fault.name))] += weight * part.local[:, column]
        own[:, CAUSES.index(h.GASKET)] += weight * part.local[:, -1]
        nodes += weight * part.nodes
    total = (own + whole).sum(axis=1, keepdims=True)
    own, whole = own / total, whole / total
    own_prior, whole_prior = _prior_causes(problem)
    # A shut throttle may be one slide's or all of them: the likelier of the two speaks.
    ours = own >= whole
    evidence = np.log(
        np.maximum(np.where(ours, own, whole), 1e-12)
        / np.maximum(np.where(ours, own_prior, whole_prior), 1e-12)
    )
    return Posterior(
        local=own + whole,
        evidence=evidence,
        engine={p.fault.name: float(w) for p, w in zip(parts, odds, strict=True)},
        leak=_quantiles(nodes) * problem.scale,
        outcomes=_outcomes(problem, parts, odds),
        ess=1.0 / float(sum(w * w / max(p.ess, 1e-9) for p, w in zip(parts, odds, strict=True))),
        emulator_rms=problem.emulator.rms,
    )


def _prior_causes(problem: Problem) -> tuple[Floats, Floats]:
    """Prior probability of each cause, a cylinder's own and the whole engine's."""
    own = np.zeros((len(problem.readings), len(CAUSES)))
    whole = np.zeros_like(own)
    in_pair = np.zeros(len(problem.readings))
    for pair in problem.pairs:
        in_pair[list(pair)] += problem.gasket_prior
    for fault in h.whole_engine(problem.day):
        for column, name in enumerate(h.LOCAL):
            into = whole if name == h.SOUND and fault.name != h.SOUND else own
            said = CAUSES.index(_said(name, fault.name))
            into[:, said] += fault.prior * problem.local_prior[:, column]
    own *= (1.0 - in_pair)[:, None]
    whole *= (1.0 - in_pair)[:, None]
    own[:, CAUSES.index(h.GASKET)] += in_pair
    return own, whole


def _quantiles(nodes: Floats) -> Floats:
    points = np.empty((len(nodes), 3))
    for i, row in enumerate(nodes):
        climb = np.cumsum(row) / max(float(row.sum()), 1e-300)
        points[i] = np.interp((0.1, 0.5, 0.9), climb, NODES)
    return points


_LEAK_GROUPS: tuple[tuple[str, slice, Floats], ...] = (
    (h.SOUND, GRID.sound, SPREAD_ODDS),
    (h.RING, GRID.ring, h.size_weights(h.RING, h.RING_SIZES)),
    *((c, GRID.seats, h.size_weights(c, h.SEAT_SIZES)) for c in h.LEAKS_PAST_SEAT),
    (h.GASKET, GRID.seats, GASKET_ODDS),
)


def _outcomes(problem: Problem, parts: list[_Part], odds: Floats) -> dict[str, Floats]:
    """Of the checks not yet made: P(bin and cause) per cylinder, shape (cylinders, bins, CAUSES).

    Other ratios and shut slides of one cylinder count as its sound rings do.
    """
    count = len(problem.readings)
    pressure, leak = PRESSURE_BINS.size - 1, LEAK_BINS.size - 1
    found = {k: np.zeros((count, pressure, len(CAUSES))) for k in ("wet", "slow")}
    found["leakdown"] = np.zeros((count, leak, len(CAUSES)))
    for part, weight in zip(parts, odds, strict=True):
        if weight < 2e-3 or part.fault.name == h.OTHER:
            continue
        keep = _thinned(part.weights, 40)
        base, size = part.draws[keep], part.size[keep]
        shown = problem.predict(base, part.fault, size, ("slow", "wet"), others=False)
        ring = ring_leaks(shown.rings)
        values = {
            "slow": np.take_along_axis(shown.nodes["slow"], shown.at, axis=1),
            "wet": np.take_along_axis(shown.nodes["wet"], shown.soaked[1], axis=1),
            "leakdown": np.log(ring + GRID.seat),
        }
        bins = {k: _bins(v, PRESSURE_BINS) for k, v in values.items() if k != "leakdown"}
        bins["leakdown"] = _bins(values["leakdown"], LEAK_BINS)
        for i in range(count):
            combos = part.found.combos[i][keep]
            for name, where, sizes in _LEAK_GROUPS:
                weights = combos[:, where] * sizes
                whole = float(weights.sum())
                if whole <= 0.0:
                    continue
                column = -1 if name == h.GASKET else h.LOCAL.index(name)
                share = float(part.local[i, column])
                if name == h.SOUND:
                    share += float(part.local[i, [6, 7, 8]].sum())
                weights = weights * (weight * share / whole)
                cause = CAUSES.index(_said(name, part.fault.name))
                for kind, at in bins.items():
                    np.add.at(found[kind][i, :, cause], at[:, where].ravel(), weights.ravel())
    return found


def _thinned(weights: Floats, n: int) -> NDArray[np.intp]:
    """Draws evenly spaced along the cumulated weights: n of them, some more than once."""
    climb = np.cumsum(weights)
    places = (np.arange(n) + 0.5) / n * climb[-1]
    found: NDArray[np.intp] = np.minimum(np.searchsorted(climb, places), len(climb) - 1)
    return found


def _bins(values: Floats, edges: Floats) -> NDArray[np.intp]:
    at = ((values - edges[0]) / (edges[1] - edges[0])).astype(np.intp)
    kept: NDArray[np.intp] = np.clip(at, 0, edges.size - 2)
    return kept
