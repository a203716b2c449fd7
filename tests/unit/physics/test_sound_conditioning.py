"""Making a recording ready: rate, hum, clipping, pauses."""

import numpy as np
import pytest

from tickover.physics.sound.conditioning import (
    band_passed,
    clipped_share,
    condition,
    decimated,
    pause_share,
    sounding_part,
    without_hum,
)
from tickover.physics.sound.synthesise import synthesise

RATE = 4000.0


def tone(hertz: float, seconds: float = 10.0, rate: float = RATE) -> np.ndarray:
    return np.sin(2 * np.pi * hertz * np.arange(int(seconds * rate)) / rate).astype(np.float32)


@pytest.mark.parametrize("rate", [8000.0, 16_000.0, 44_100.0, 48_000.0, 96_000.0])
def test_decimation_keeps_tones_below_1600_and_their_place(rate: float) -> None:
    thin, low = decimated(tone(440.0, 2.0, rate), rate)
    expected = np.sin(2 * np.pi * 440.0 * np.arange(thin.size) / low)
    middle = slice(200, -200)
    assert np.max(np.abs(thin[middle] - expected[middle])) < 0.02
    assert 3900 < low < 4100


def test_decimation_leaves_nothing_of_what_would_fold_back() -> None:
    thin, _ = decimated(tone(3300.0, 2.0, 48_000.0), 48_000.0)
    assert np.max(np.abs(thin[200:-200])) < 0.01


def test_band_pass_keeps_the_middle_and_stops_the_ends() -> None:
    for hertz, least, most in ((20.0, 0.0, 0.02), (200.0, 0.98, 1.02), (1990.0, 0.0, 0.2)):
        passed = band_passed(tone(hertz), RATE, (45.0, 1900.0))[2000:-2000]
        assert least <= np.max(np.abs(passed)) <= most


@pytest.mark.parametrize("mains", [50.0, 49.93, 60.0, 60.05])
def test_mains_lines_go_and_the_noise_stays(mains: float) -> None:
    chance = np.random.default_rng(4)
    noise = chance.standard_normal(int(12 * RATE)).astype(np.float32)
    hum = sum(3.0 / k * tone(k * mains, 12.0) for k in (1, 2, 3, 5))
    clean, found = without_hum(noise + hum, RATE)
    assert found == pytest.approx(mains, abs=0.03)
    left = clean - noise
    assert np.mean(left**2) < 0.02 * np.mean(hum**2)


def test_an_engine_firing_at_mains_frequency_is_left_alone() -> None:
    made = synthesise([0, 180, 360, 540], speed_rpm=1500.0, duration_s=10.0, rate=16_000, seed=4)
    assert condition(made.samples, made.rate).hum_share < 0.05


def test_hum_is_measured_in_an_engine_recording() -> None:
    made = synthesise([0, 360], duration_s=10.0, rate=16_000, hum_hz=50.0, hum_db=0.0)
    ready = condition(made.samples, made.rate)
    assert 0.3 < ready.hum_share < 0.7
    assert ready.hum_hz == pytest.approx(50.0, abs=0.03)


def test_flat_tops_are_counted() -> None:
    wave = np.random.default_rng(1).standard_normal(40_000).astype(np.float32)
    assert clipped_share(wave) < 1e-3
    # A normal wave spends 2 x 6.7 % beyond 1.5 deviations, most of it in single samples.
    assert 0.005 < clipped_share(np.clip(wave, -1.5, 1.5)) < 0.134


def test_pauses_are_quarter_seconds_not_the_time_between_firings() -> None:
    loud = np.random.default_rng(2).standard_normal(40_000).astype(np.float32)
    loud[8000:12_000] *= 0.01
    assert pause_share(loud, RATE) == pytest.approx(0.1, abs=0.011)
    slow = synthesise([0], speed_rpm=500.0, duration_s=10.0, rate=16_000)
    assert condition(slow.samples, slow.rate).pauses == 0.0


def test_quiet_before_the_start_is_left_out_but_not_one_inside() -> None:
    sound = np.random.default_rng(3).standard_normal(40_000).astype(np.float32)
    sound[:8000] *= 0.001
    sound[20_000:24_000] *= 0.001
    sound[-4000:] *= 0.001
    assert sounding_part(sound, RATE) == (8000, 36_000)
