"""Before and after on the same engine, and what is not claimed."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics.sound.synthesise import synthesise
from tickover.tasks.listen import Listening, Refusal, analyse, compare

FOUR = (0.0, 180.0, 360.0, 540.0)


@cache
def heard(
    strengths: tuple[float, ...], speed: float = 1100.0, skip: int = 0, variation: float = 0.01
) -> Listening:
    """One seed is one engine: the same pipes. `skip` samples off the front turn the slots."""
    made = synthesise(
        FOUR, speed_rpm=speed, duration_s=14.0, rate=16_000, seed=41, strengths=strengths,
        pipe_spread=0.2, variation=variation,
    )  # fmt: skip
    return analyse(made.samples[skip:], made.rate, FOUR, about_rpm=1000)


def test_the_same_recording_has_not_changed() -> None:
    change = compare(heard((1, 1, 1, 1)), heard((1, 1, 1, 1)))
    assert change.refused is None
    assert change.rotation == 0
    assert change.changed_slots == ()
    assert change.idle_rpm is not None
    assert change.idle_rpm.difference == 0.0
    assert not change.idle_rpm.sure


@pytest.mark.parametrize("lost", [0.4, 0.3])
def test_one_slot_that_lost_strength_is_found_whatever_the_turn(lost: float) -> None:
    earlier = heard((1, 1, 1, 1))
    later = heard((1, 1, 1 - lost, 1), skip=int(0.06 * 16_000))
    change = compare(earlier, later)
    assert change.slots is not None
    assert change.rotation_clear
    lowest = int(np.argmin([slot.difference for slot in change.slots]))
    assert lowest in change.changed_slots
    assert change.slots[lowest].difference == pytest.approx(-lost, abs=0.13)


def test_idle_and_steadiness_changes_have_signs_and_intervals() -> None:
    change = compare(heard((1, 1, 1, 1)), heard((1, 1, 1, 1), speed=1250.0, variation=0.03))
    assert change.idle_rpm is not None
    assert change.idle_rpm.difference == pytest.approx(150, abs=15)
    assert change.idle_rpm.sure
    assert change.variation_percent is not None
    assert change.variation_percent.difference > 0.7
    assert change.variation_percent.sure


def test_a_refused_recording_cannot_be_compared() -> None:
    bad = replace(heard((1, 1, 1, 1)), refused=Refusal("silent", "The recording is silent.", "x"))
    change = compare(heard((1, 1, 1, 1)), bad)
    assert change.refused is not None
    assert "later" in change.refused
    assert change.idle_rpm is None


def test_other_firing_patterns_are_not_compared() -> None:
    with pytest.raises(InputError, match="firing patterns"):
        compare(heard((1, 1, 1, 1)), replace(heard((1, 1, 1, 1)), firing_angles_deg=(0.0, 180.0)))


def test_slots_missing_in_one_are_told() -> None:
    one = heard((1, 1, 1, 1))
    other = replace(one, slots=None, why={"slots": "The recording is overloaded."})
    change = compare(one, other)
    assert change.slots is None
    assert change.why == ("Later recording: The recording is overloaded.",)
