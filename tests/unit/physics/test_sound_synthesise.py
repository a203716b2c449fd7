"""The synthesiser: repeatable, labelled, and what it was asked for."""

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics.sound.synthesise import cycle_mean_speed, synthesise


def test_the_same_seed_makes_the_same_samples_and_another_does_not() -> None:
    one, two, other = (synthesise([0, 360], duration_s=2.0, rate=8000, seed=s) for s in (5, 5, 6))
    assert np.array_equal(one.samples, two.samples)
    assert not np.array_equal(one.samples, other.samples)


def test_it_says_it_is_synthetic() -> None:
    assert synthesise([0], duration_s=1.0, rate=8000).label.startswith("synthetic")


def test_length_level_and_rate_are_as_asked() -> None:
    made = synthesise([0, 180], duration_s=3.0, rate=22_050, level=0.25)
    assert made.samples.size == 66_150
    assert np.max(np.abs(made.samples)) == pytest.approx(0.25)


def test_cycles_vary_as_asked() -> None:
    made = synthesise([0], speed_rpm=1200.0, duration_s=60.0, rate=8000, variation=0.02)
    lengths = np.diff(made.cycle_times_s)
    assert np.std(lengths) / np.mean(lengths) == pytest.approx(0.02, rel=0.1)
    assert 120.0 / np.mean(lengths) == pytest.approx(1200.0, rel=0.003)


def test_speed_follows_its_corners() -> None:
    made = synthesise([0], speed_rpm=((0, 1000), (2, 3000), (4, 3000)), duration_s=4.0, rate=8000,
                      variation=0.0)  # fmt: skip
    assert made.speed_rpm_at([1.0, 3.0]) == pytest.approx([2000, 3000], rel=0.01)


def test_mean_speed_over_one_cycle() -> None:
    edges = np.cumsum([0.0, 0.1, 0.12, 0.1, 0.12])
    middle = (edges[1] + edges[2]) / 2
    assert cycle_mean_speed(edges, [middle])[0] == pytest.approx(1000.0)


def test_strengths_must_be_one_for_each_firing() -> None:
    with pytest.raises(InputError, match="strengths"):
        synthesise([0, 360], strengths=[1.0, 1.0, 1.0])
