"""Blind trials, the small version: the advice on carburettors whose truth is crank-resolved.

The full table is docs/tables/mixture-blind.md, made by bench/blind_mixture.py. Here 14 machines of
other seeds; limits are those of the full trials, widened by what 14 machines scatter.
"""

from __future__ import annotations

import numpy as np
import pytest
from support_mixture import blind
from support_mixture.crank_truth import truth

from tickover.physics.carburettor.parts import Carburettor, Needle, Setting

MACHINES = 14


@pytest.fixture(scope="module")
def outcomes():
    found = []
    for number in range(MACHINES):
        rng = np.random.default_rng([404, number])
        found.append(blind.run(blind.bench(rng), rng))
    return found


def test_three_rounds_of_numbers_bring_the_error_down_to_about_six_percent(outcomes):
    rms = np.array([o.rms for o in outcomes])
    pooled = np.sqrt((rms**2).mean(axis=0))
    assert pooled[0] > 0.12  # there was something to set right
    assert pooled[3] < 0.07
    assert pooled[3] < 0.45 * pooled[0]


def test_hardly_any_machine_is_left_lean_above_half_throttle(outcomes):
    lean = np.array([o.leanest_high[3] for o in outcomes])
    assert np.sum(lean > 0.05) <= 1
    assert lean.max() < 0.09


def test_intervals_hold_the_truth_about_as_often_as_they_say(outcomes):
    in68 = np.mean([o.inside_68 for o in outcomes])
    in90 = np.mean([o.inside_90 for o in outcomes])
    assert 0.58 < in68 < 0.82
    assert 0.82 < in90 < 0.97


def test_the_truth_is_a_carburettor_too():
    """More jet is richer, height of lift and speed move it, and it repeats itself."""
    needle = Needle("n", (0.0, 0.03, 0.06), (2.49e-3, 2.49e-3, 1.7e-3))
    carburettor = Carburettor(bore=26e-3, needle_jet=2.6e-3)
    real = truth(carburettor, 100e-6, np.random.default_rng(0))
    setting = Setting(0.38e-3, 1.5, 2.5e-3, needle, 3, 0.95e-3)
    t, n = np.array([0.0, 0.25, 1.0]), np.array([1200.0, 5000.0, 7500.0])
    base = real.lambdas(setting, t, n)
    again = truth(carburettor, 100e-6, np.random.default_rng(0)).lambdas(setting, t, n)
    assert np.array_equal(base, again)
    jet = real.lambdas(setting.with_(main_jet=1.0e-3), t, n)
    assert jet[2] < 0.97 * base[2]
    assert real.lambdas(setting.with_(pilot_jet=0.42e-3), t, n)[0] < 0.95 * base[0]
    assert real.lambdas(setting.with_(clip=5), t, n)[1] < 0.97 * base[1]
