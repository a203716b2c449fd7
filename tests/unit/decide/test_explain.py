"""Explanations against plain simulation: draw faults and values, keep what looks like the data."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tickover.decide.explain import Cause, Seen, Shift, explain
from tickover.errors import InputError

NOISE = 0.3


def simulate(seen: Seen, causes, background, draws: int, seed: int):
    """Accepted draws: which causes were at work, and the lasting values, by brute force."""
    rng = np.random.default_rng(seed)
    sets = [()] + [(k,) for k in range(len(causes))]
    sets += [
        (a, b)
        for a, b in itertools.combinations(range(len(causes)), 2)
        if not set(causes[a].items) & set(causes[b].items)
    ]
    odds = np.array([np.prod([causes[k].odds for k in chosen]) for chosen in sets])
    picked = rng.choice(len(sets), size=draws, p=odds / odds.sum())
    warm = rng.random(draws) < background.odds / (1 + background.odds)
    values = seen.mean + seen.spread * rng.standard_normal((draws, seen.mean.size))
    lasting = values.copy()
    common = np.where(warm, 2.0 * rng.standard_normal(draws), 0.0)
    shown = values + common[:, None]
    for k, cause in enumerate(causes):
        rows = np.flatnonzero([k in sets[s] for s in picked])
        amount = cause.draw(rng, rows.size)
        for item in cause.items:
            shown[rows, item] += cause.sign_of(item) * amount
            if not cause.passing:
                lasting[rows, item] += cause.sign_of(item) * amount
    read = shown + NOISE * rng.standard_normal(shown.shape)
    fits = ((read >= seen.low) & (read <= seen.high)).all(axis=1)
    at_work = np.array([[k in sets[s] for k in range(len(causes))] for s in picked[fits]])
    return at_work, warm[fits], lasting[fits], np.array([not sets[s] for s in picked[fits]])


class Drawn(Cause):
    """A cause that can be simulated: normal about a middle, or exponential outwards."""

    def draw(self, rng, size):
        if self.label == "deep":
            return -4.0 * rng.exponential(size=size)
        if self.label == "away":
            return rng.uniform(-6.0, 0.0, size)
        middle = 5.0 if self.label == "exchanged" else 0.0
        spread = 0.5 if self.label == "exchanged" else 6.0
        return middle + spread * rng.standard_normal(size)


def case():
    seen = Seen(
        np.array([0.0, 1.0, 0.0]), np.array([1.0, 1.0, 1.5]),
        np.array([3.0, -np.inf, -1.5]), np.array([7.0, -1.5, 1.5]), NOISE,
    )  # fmt: skip
    causes = [
        Drawn("exchanged", (0, 1), 0.05, Shift.normal(5.0, 0.5), (1, -1)),
        Drawn("wrong", (0,), 0.10, Shift.normal(0.0, 6.0)),
        Drawn("wrong", (1,), 0.10, Shift.normal(0.0, 6.0)),
        Drawn("deep", (1,), 0.15, Shift.one_sided(-4.0)),
        Drawn("away", (1,), 0.20, Shift.within(-6.0, 0.0), passing=True),
        Drawn("deep", (2,), 0.10, Shift.one_sided(-4.0)),
    ]
    background = Drawn("warm", (0, 1, 2), 0.3, Shift.normal(0.0, 2.0), passing=True)
    return seen, causes, background


@pytest.fixture(scope="module")
def both():
    seen, causes, background = case()
    found = explain(seen, causes, background)
    parts = [simulate(seen, causes, background, 400_000, seed) for seed in range(4)]
    return found, [np.concatenate(columns) for columns in zip(*parts, strict=True)]


def test_probability_of_every_cause_agrees_with_simulation(both) -> None:
    found, (at_work, warm, _, none) = both
    count = len(at_work)
    assert count > 5000
    for k, probability in enumerate(found.probability):
        share = at_work[:, k].mean()
        # Four standard errors of a proportion, and half a percent for the grid of shifts.
        allowed = 4 * np.sqrt(share * (1 - share) / count) + 0.005
        assert abs(probability - share) < allowed, (k, probability, share)
    assert abs(found.background - warm.mean()) < 0.03
    assert abs(found.nothing - (none & ~warm).mean()) < 0.02


def test_lasting_values_agree_with_simulation(both) -> None:
    found, (_, _, lasting, _) = both
    for item in range(3):
        grid, chance = found.mixture(item)
        mean = grid @ chance
        spread = np.sqrt((grid - mean) ** 2 @ chance)
        assert mean == pytest.approx(lasting[:, item].mean(), abs=0.12)
        assert spread == pytest.approx(lasting[:, item].std(), abs=0.15)


def test_joint_draws_have_the_same_margins(both) -> None:
    found, _ = both
    drawn = found.draws(np.random.default_rng(7), 8000)
    for item in range(3):
        grid, chance = found.mixture(item)
        assert drawn[:, item].mean() == pytest.approx(grid @ chance, abs=0.12)


def test_data_a_cause_foresees_raise_it() -> None:
    far = Seen(np.zeros(1), np.ones(1), np.array([8.0]), np.array([9.0]), NOISE)
    near = Seen(np.zeros(1), np.ones(1), np.array([-0.5]), np.array([0.5]), NOISE)
    cause = [Cause("moved", (0,), 0.01, Shift.normal(0.0, 6.0))]
    assert explain(far, cause).probability[0] > 0.99
    assert explain(near, cause).probability[0] < 0.01


def test_nothing_seen_and_backward_intervals_are_refused() -> None:
    empty = np.zeros(0)
    with pytest.raises(InputError):
        explain(Seen(empty, empty, empty, empty, NOISE), [])
    with pytest.raises(InputError):
        Seen(np.zeros(1), np.ones(1), np.array([2.0]), np.array([1.0]), NOISE)
    with pytest.raises(InputError):
        Shift.normal(0.0, 0.0)
    with pytest.raises(InputError):
        Shift.one_sided(0.0)
