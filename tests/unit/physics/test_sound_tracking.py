"""Combs, scores and the best path."""

import itertools

import numpy as np
import pytest

from tickover.physics.sound import tracking
from tickover.physics.sound.conditioning import condition
from tickover.physics.sound.orders import firing_fractions
from tickover.physics.sound.spectra import HOP_S, frame_times, whitened_frames
from tickover.physics.sound.synthesise import synthesise
from tickover.physics.sound.templates import (
    combs,
    line_weights,
    speed_grid,
    variants,
    window_of,
)

FOUR = firing_fractions([0, 180, 360, 540])


def test_grid_covers_the_range_in_steps_of_three_quarters_of_a_percent() -> None:
    grid = speed_grid(300.0, 13_000.0)
    assert grid[0] == pytest.approx(300.0)
    assert grid[-1] >= 13_000.0
    assert np.diff(np.log(grid)) == pytest.approx(0.0075)


def test_every_speed_has_a_window_of_two_to_ten_cycles_where_windows_allow() -> None:
    speeds = np.geomspace(400.0, 9000.0, 60)
    windows = np.asarray([0.8, 0.4, 0.2, 0.1])[window_of(speeds)]
    cycles = windows * speeds / 120.0
    assert np.all((cycles > 2.0) & (cycles < 10.0))


def test_patterns_of_an_even_engine_are_two_and_of_an_uneven_one_each_slot() -> None:
    assert len(variants(FOUR, weak=True)) == 2
    assert len(variants(FOUR, weak=False)) == 1
    assert len(variants(firing_fractions([0, 180, 270, 450]), weak=True)) == 5


def test_combs_are_zero_mean_and_of_length_one() -> None:
    frequency = np.arange(50.0, 1100.0, 1.0)
    matrix = combs(FOUR, speed_grid(900.0, 1400.0), frequency, 0.8, variants(FOUR, True)).matrix
    assert np.max(np.abs(matrix.mean(axis=2))) < 1e-6
    assert np.linalg.norm(matrix, axis=2) == pytest.approx(1.0, abs=1e-4)


def test_a_comb_stands_on_its_own_firing_lines() -> None:
    frequency = np.arange(20.0, 400.0, 0.5)
    row = combs(FOUR, np.array([1200.0]), frequency, 0.8, variants(FOUR, False)).matrix[0, 0]
    for line in (40.0, 80.0, 120.0):
        assert row[np.searchsorted(frequency, line)] > 0.05
        assert row[np.searchsorted(frequency, line + 20.0)] < 0.0


def test_a_weak_cylinder_brings_the_lines_between() -> None:
    weak = line_weights(FOUR, np.array([1, 1, 1, 0.3]), 4)
    assert np.all(weak[1:4] > 0.2)
    assert line_weights(FOUR, np.ones(4), 4)[1:4] == pytest.approx(0.0, abs=1e-12)


def test_whitening_removes_slope_and_keeps_lines() -> None:
    rate = 4000.0
    chance = np.random.default_rng(3)
    sloped = np.convolve(chance.standard_normal(40_000), np.exp(-np.arange(60) / 8.0), "same")
    line = 2.0 * np.sin(2 * np.pi * 400.0 * np.arange(40_000) / rate)
    frames = whitened_frames(
        (sloped + line).astype(np.float32), rate, 0.4, (50.0, 1100.0), frame_times(10.0)
    )
    mean = frames.values.mean(axis=0)
    low, high = mean[frames.frequency < 200].mean(), mean[frames.frequency > 900].mean()
    assert abs(low - high) < 0.1
    assert frames.frequency[np.argmax(mean)] == pytest.approx(400.0, abs=2.0)


@pytest.mark.parametrize("seed", range(5))
def test_best_path_is_the_best_of_all_paths(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Against trying every one of 5^5 paths."""
    monkeypatch.setattr(tracking, "STEPS_PER_HOP", 2)
    monkeypatch.setattr(tracking, "STEP_COST", 0.2)
    scores = np.random.default_rng(seed).random((5, 5)).astype(np.float32)

    def worth(path: tuple[int, ...]) -> float:
        steps = np.abs(np.diff(path))
        if np.any(steps > 2):
            return -np.inf
        return float(scores[range(5), path].sum() - 0.2 * steps.sum())

    best = max(itertools.product(range(5), repeat=5), key=worth)
    assert worth(tuple(tracking.best_path(scores))) == pytest.approx(worth(best), abs=1e-5)


def test_a_jump_larger_than_a_crank_can_make_is_not_followed() -> None:
    scores = np.zeros((9, 80), dtype=np.float32)
    scores[:, 10] = 0.5
    scores[4, 70] = 0.9
    assert np.all(tracking.best_path(scores) == 10)


@pytest.mark.parametrize("rpm", [700.0, 1130.0, 2600.0])
def test_track_follows_a_made_engine_within_one_grid_step(rpm: float) -> None:
    made = synthesise([0, 180, 360, 540], speed_rpm=rpm, duration_s=5.0, rate=16_000, seed=3)
    ready = condition(made.samples, made.rate)
    speeds = speed_grid(500.0, 4000.0)
    times, scores = tracking.score_map(
        ready.samples, ready.rate, FOUR, speeds, variants(FOUR, weak=True)
    )
    track = tracking.track_speed(times, scores, speeds)
    assert times.size == round(5.0 / HOP_S)
    inner = slice(20, -20)
    true = made.speed_rpm_at(times[inner])
    assert np.median(np.abs(track.speed_rpm[inner] / true - 1.0)) < 0.0075
