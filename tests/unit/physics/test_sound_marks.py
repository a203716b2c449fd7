"""Marks, slot strengths, octave check: on the package's synthetic engine."""

from functools import cache

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics.sound.conditioning import condition
from tickover.physics.sound.marks import (
    Marks,
    cycle_count,
    explained,
    find_marks,
    mark_signal,
    mean_speed,
    slot_places,
)
from tickover.physics.sound.octave import MISSING_DB, every_second_missing_db
from tickover.physics.sound.orders import firing_fractions
from tickover.physics.sound.slots import (
    best_rotation,
    depth,
    echo_fill_db,
    slot_strengths,
    slot_windows,
    whitened,
)
from tickover.physics.sound.synthesise import SyntheticRecording, synthesise
from tickover.physics.sound.tracking import Track

MARK_S = 0.0006
"""Two samples at 4 kHz: the marks are sought at 2 kHz and refined between samples."""


@cache
def marked(
    angles: tuple[float, ...],
    rpm: float = 1100.0,
    strengths: tuple[float, ...] | None = None,
    factor: float = 1.0,
) -> tuple[SyntheticRecording, Marks, np.ndarray]:
    """A made engine with marks found from its true speed times `factor`."""
    made = synthesise(
        angles, speed_rpm=rpm, duration_s=8.0, rate=16_000, seed=11, strengths=strengths
    )
    ready = condition(made.samples, made.rate)
    signal, rate = mark_signal(ready.samples, ready.rate)
    times = np.arange(0.0125, 8.0, 0.025)
    track = Track(times, factor * made.speed_rpm_at(times), np.ones(times.size))
    return made, find_marks(signal, rate, firing_fractions(angles), track), signal


@pytest.mark.parametrize(
    "angles", [(0,), (0, 360), (0, 180), (0, 270), (0, 240, 480), (0, 180, 360, 540)]
)
def test_cycle_lengths_are_the_true_ones(angles: tuple[float, ...]) -> None:
    made, marks, _ = marked(angles)
    found = np.diff(marks.times_s[:, 0])
    # Which slot is called first is free on an even engine: take the nearest true firing.
    offsets = [
        np.median(np.abs(made.firing_times_s[:, slot][:, None] - marks.times_s[:, 0]).min(axis=0))
        for slot in range(len(angles))
    ]
    true = made.firing_times_s[:, int(np.argmin(offsets))]
    nearest = np.abs(true[:, None] - marks.times_s[:, 0]).argmin(axis=0)
    right = np.diff(nearest) == 1
    assert np.mean(right) > 0.97
    errors = (found - np.diff(true[nearest]))[right]
    assert np.median(np.abs(errors)) < MARK_S


def test_marks_of_an_uneven_engine_keep_its_gaps() -> None:
    _, marks, _ = marked((0, 270))
    assert slot_places(marks.times_s)[1] == pytest.approx(0.375, abs=0.02)


def test_every_firing_is_marked_once() -> None:
    made, marks, _ = marked((0, 180, 360, 540))
    assert marks.agreement > 0.98
    assert np.all(np.diff(marks.times_s.ravel()) > 0)
    assert abs(marks.times_s.shape[0] - made.firing_times_s.shape[0]) <= 2


def test_mean_speed_counts_cycles() -> None:
    times = np.arange(40)[:, None] * 0.1 + np.array([0.0, 0.05])
    marks = Marks(times, np.zeros((2, 4)), 1, 2000.0, 1.0)
    assert mean_speed(marks, np.array([1.0, 2.0, 3.0]), 0.15) == pytest.approx(1200.0)
    assert cycle_count(marks, np.array([-0.1, 0.0, 0.55, 4.1])) == pytest.approx([-1, 0, 5.5, 41])


def test_pulses_explain_an_engine_and_not_noise() -> None:
    _, marks, signal = marked((0, 360))
    every = np.ones(marks.times_s.shape[0], dtype=bool)
    assert explained(signal, marks, every) > 0.7
    noise = np.random.default_rng(5).standard_normal(signal.size)
    assert explained(noise, marks, every) < 0.05


@pytest.mark.parametrize(
    ("angles", "strengths"),
    [((0, 360), (1, 0.5)), ((0, 240, 480), (1, 0.5, 1)), ((0, 180, 360, 540), (1, 1, 1, 0.5)),
     ((0, 270), (0.5, 1))],
)  # fmt: skip
def test_half_strength_is_heard_as_about_half(
    angles: tuple[float, ...], strengths: tuple[float, ...]
) -> None:
    _, marks, signal = marked(angles, strengths=strengths)
    every = np.ones(marks.times_s.shape[0], dtype=bool)
    fractions = firing_fractions(angles)
    found = slot_strengths(
        slot_windows(signal, marks, fractions, every),
        slot_windows(whitened(signal), marks, fractions, every),
    )
    # Pipes of the made engine differ by 10 % in length and 5 % in loudness.
    assert depth(found.strength)[1] == pytest.approx(0.5, abs=0.13)
    assert np.all(found.low <= found.strength)
    assert np.all(found.high >= found.strength)


def test_a_dead_slot_is_heard_as_nearly_nothing() -> None:
    _, marks, signal = marked((0, 180, 360, 540), strengths=(1, 0, 1, 1))
    every = np.ones(marks.times_s.shape[0], dtype=bool)
    windows = slot_windows(signal, marks, firing_fractions([0, 180, 360, 540]), every)
    assert depth(slot_strengths(windows).strength)[1] > 0.7


def test_strengths_of_pure_pulses_are_exact() -> None:
    pulse = np.sin(np.arange(50) / 5.0) * np.exp(-np.arange(50) / 15.0)
    truth = np.array([1.0, 0.7, 1.0, 1.2])
    windows = truth[:, None, None] * np.tile(pulse, (4, 40, 1))
    found = slot_strengths(windows)
    assert found.strength == pytest.approx(truth / 1.0, abs=1e-9)
    assert found.alike == pytest.approx(1.0)
    assert found.deviation == pytest.approx(0.0, abs=1e-9)


def test_interval_of_noisy_pulses_holds_the_truth() -> None:
    chance = np.random.default_rng(8)
    pulse = np.exp(-np.arange(40) / 8.0)
    held = 0
    for _ in range(40):
        windows = np.array([1.0, 0.6])[:, None, None] * np.tile(pulse, (2, 80, 1))
        windows = windows + 0.5 * chance.standard_normal(windows.shape)
        found = slot_strengths(windows)
        held += found.low[1] <= 0.6 <= found.high[1]
    assert held >= 33  # 95 % of 40 is 38; five fewer has less than 1 % of chance


def test_a_slot_that_fires_early_and_late_is_not_taken_for_a_weak_one() -> None:
    """Its average pulse is smeared to two thirds, its loudness is not."""
    chance = np.random.default_rng(4)
    pulse = np.sin(np.arange(60) / 2.5) * np.exp(-np.arange(60) / 10.0)
    windows = np.tile(pulse, (2, 120, 1))
    for row in windows[1]:
        row[:] = np.roll(row, chance.integers(-4, 5))
    smeared = np.linalg.norm(windows[1].mean(axis=0)) / np.linalg.norm(pulse)
    found = slot_strengths(windows + 0.1 * chance.standard_normal(windows.shape))
    assert smeared < 0.72
    assert found.strength[1] > 0.8


def test_one_slot_or_few_cycles_are_refused() -> None:
    with pytest.raises(InputError, match="two slots"):
        slot_strengths(np.ones((1, 50, 10)))
    with pytest.raises(InputError, match="enough cycles"):
        slot_strengths(np.ones((2, 10, 10)))


def test_echo_fill_tells_a_dying_pulse_from_one_that_lasts_and_ignores_noise() -> None:
    chance = np.random.default_rng(9)
    short = np.tile(np.exp(-np.arange(60) / 4.0), (2, 200, 1))
    lasting = np.tile(np.exp(-np.arange(60) / 60.0), (2, 200, 1))
    noise = 0.3 * chance.standard_normal(short.shape)
    assert echo_fill_db(short + noise) < -20.0
    assert echo_fill_db(lasting + noise) > -12.0


def test_echo_fill_of_windows_of_a_few_samples_is_a_number() -> None:
    """At the highest speeds a window holds eight samples, fewer than the parts it is cut into."""
    short = np.tile(np.exp(-np.arange(8) / 2.0), (2, 30, 1))
    assert np.isfinite(echo_fill_db(short))


def test_whitening_flattens_a_resonance() -> None:
    from scipy.signal import lfilter

    rung = lfilter([1], [1, -1.8, 0.95], np.random.default_rng(2).standard_normal(20_000))
    lines = np.abs(np.fft.rfft(whitened(rung))) ** 2
    parts = lines[: lines.size // 20 * 20].reshape(20, -1).mean(axis=1)
    assert parts.max() / parts.min() < 1.6


@pytest.mark.parametrize("shift", [0, 1, 2, 3])
def test_the_turn_between_two_recordings_is_found(shift: int) -> None:
    chance = np.random.default_rng(4)
    pulses = chance.standard_normal((4, 60))
    later = np.roll(pulses, -shift, axis=0) + 0.3 * chance.standard_normal((4, 60))
    found, clear = best_rotation(pulses, later, np.arange(4) / 4)
    assert (found, clear) == (shift, True)


def test_an_uneven_engine_has_only_one_turn() -> None:
    chance = np.random.default_rng(5)
    pulses = chance.standard_normal((2, 30))
    assert best_rotation(pulses, pulses[::-1], np.array([0.0, 0.375])) == (0, True)


@pytest.mark.parametrize("angles", [(0, 360), (0, 240, 480), (0, 180, 360, 540)])
def test_half_the_speed_lacks_every_second_line_and_the_right_speed_does_not(
    angles: tuple[float, ...],
) -> None:
    _, right, signal = marked(angles)
    _, half, _ = marked(angles, factor=0.5)
    level = every_second_missing_db(signal, right, angles)
    missing = every_second_missing_db(signal, half, angles)
    assert level is not None
    assert missing is not None
    assert level > MISSING_DB
    assert missing < MISSING_DB


def test_uneven_engines_have_no_octave_check() -> None:
    _, marks, signal = marked((0, 270))
    assert every_second_missing_db(signal, marks, (0, 270)) is None
