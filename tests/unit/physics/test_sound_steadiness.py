"""Idle, drift, variation and blips from tracks and marks made by hand."""

import numpy as np
import pytest

from tickover.physics.sound.marks import Marks
from tickover.physics.sound.steadiness import (
    cycle_variation,
    find_blips,
    idle_drift,
    idle_frames,
    idle_level,
)

HOP_S = 0.025
TIMES = np.arange(0.0125, 24.0, HOP_S)


def track(*corners: tuple[float, float]) -> np.ndarray:
    when, rpm = zip(*corners, strict=True)
    return np.interp(TIMES, when, rpm)


BLIPPED = track((0, 1100), (8, 1100), (8.4, 4100), (8.8, 4100), (10.0, 1100), (24, 1100))
HANGING = track((0, 1000), (8, 1000), (8.4, 4000), (9.2, 1900), (12.5, 1700), (13.0, 1000))
NEVER_BACK = track((0, 1000), (10, 1000), (10.4, 4000), (11.2, 1800), (24, 1750))


def test_a_blip_is_timed() -> None:
    (blip,) = find_blips(TIMES, BLIPPED)
    assert blip.peak_rpm == pytest.approx(4100, rel=0.01)
    assert blip.idle_before_rpm == pytest.approx(1100, rel=0.01)
    assert blip.rise_s == pytest.approx(0.8 * 0.4, abs=HOP_S)
    assert blip.fall_s == pytest.approx(0.6 * 1.2, abs=HOP_S)
    # The peak holds 0.4 s, then 1.2 s less the last 88 of 3000 rpm.
    assert blip.settle_s == pytest.approx(0.4 + 1.2 * (1 - 88 / 3000), abs=2 * HOP_S)
    assert not blip.hanging


def test_a_hanging_idle_is_told_and_so_is_one_that_never_comes_back() -> None:
    (hangs,) = find_blips(TIMES, HANGING)
    assert hangs.hanging
    assert hangs.settle_s is not None
    (never,) = find_blips(TIMES, NEVER_BACK)
    assert never.hanging
    assert never.settle_s is None


def test_an_idle_that_hangs_high_above_a_low_peak_is_told() -> None:
    """Level at 1.8 times the idle, above three tenths of the way up to a peak of 3000."""
    high = track(
        (0, 1100), (8, 1100), (8.4, 3000), (9.0, 1980), (11.5, 1980), (12, 1100), (24, 1100)
    )
    (blip,) = find_blips(TIMES, high)
    assert blip.hanging


def test_an_engine_that_settles_softly_does_not_hang() -> None:
    """The last of the way decays with a time constant of 0.4 s."""
    soft = BLIPPED.copy()
    after = TIMES > 8.8
    soft[after] = 1100 + 3000 * np.exp(-(TIMES[after] - 8.8) / 0.4)
    (blip,) = find_blips(TIMES, soft)
    assert not blip.hanging
    assert blip.settle_s == pytest.approx(0.4 + 0.4 * np.log(3000 / 88), abs=2 * HOP_S)


def test_what_begins_as_the_recording_ends_is_no_blip() -> None:
    assert find_blips(TIMES, track((0, 1100), (23.6, 1100), (24, 2200))) == ()
    assert len(find_blips(TIMES, track((0, 1100), (22.6, 1100), (23, 2200), (24, 2200)))) == 1


def test_steady_running_and_slow_drift_are_no_blips() -> None:
    assert find_blips(TIMES, track((0, 1500), (24, 1000))) == ()
    wobble = 1100 * (1 + 0.03 * np.sin(TIMES * 3))
    assert find_blips(TIMES, wobble) == ()


def test_idle_frames_leave_out_the_blip_and_its_flanks() -> None:
    idle = idle_frames(BLIPPED, HOP_S)
    assert np.all(idle[TIMES < 7.5])
    assert not np.any(idle[(TIMES > 8.0) & (TIMES < 9.9)])
    assert np.all(idle[TIMES > 10.6])


def test_idle_level_follows_a_warming_engine() -> None:
    warming = track((0, 1500), (24, 1100))
    level = idle_level(warming, HOP_S)
    assert np.max(np.abs(level / warming - 1.0)) < 0.08


@pytest.mark.parametrize("slope", [-20.0, 0.0, 12.0])
def test_drift_is_the_slope_and_its_interval_holds_it(slope: float) -> None:
    chance = np.random.default_rng(int(slope) + 50)
    speed = 1200 + slope / 60 * TIMES + 4 * chance.standard_normal(TIMES.size)
    drift = idle_drift(TIMES, speed, np.ones(TIMES.size, dtype=bool))
    assert drift is not None
    assert drift.rpm_per_minute == pytest.approx(slope, abs=4.0)
    assert drift.low <= slope <= drift.high


def test_drift_needs_ten_seconds_of_idling() -> None:
    speed = np.full(TIMES.size, 1200.0)
    assert idle_drift(TIMES, speed, TIMES < 7.0) is None


@pytest.mark.parametrize("variation", [0.0025, 0.01, 0.04])
def test_variation_of_given_cycle_lengths(variation: float) -> None:
    chance = np.random.default_rng(3)
    lengths = 0.11 * (1 + variation * chance.standard_normal(400))
    starts = np.cumsum(lengths)[:, None]
    marks = Marks(starts, np.exp(-np.arange(40) / 6.0)[None, :], 4, 2000.0, 1.0)
    found = cycle_variation(marks, np.ones(400, dtype=bool), fit=0.999)
    assert found is not None
    # Standard error of a deviation from 400 lengths is 3.5 %; the taken-out wander adds to it.
    assert found.value == pytest.approx(variation, rel=0.12)
    assert found.low < variation < found.high * 1.05
    assert found.floor < found.value


def test_slow_wandering_is_not_cycle_variation() -> None:
    lengths = 0.11 * (1 + 0.05 * np.sin(np.arange(400) / 60.0))
    marks = Marks(np.cumsum(lengths)[:, None], np.exp(-np.arange(40) / 6.0)[None, :], 4, 2e3, 1.0)
    found = cycle_variation(marks, np.ones(400, dtype=bool), fit=0.999)
    assert found is not None
    assert found.value < 0.002


def test_variation_needs_twenty_cycles() -> None:
    marks = Marks(np.arange(15.0)[:, None] * 0.1, np.ones((1, 8)), 2, 2000.0, 1.0)
    assert cycle_variation(marks, np.ones(15, dtype=bool), fit=0.9) is None
