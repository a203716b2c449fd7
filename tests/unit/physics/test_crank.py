"""Crank, rod and piston beyond the published tables: offsets, arrays, refusals."""

import math

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics import crank, rotor, swept


def test_offset_lengthens_the_stroke_a_little():
    plain = crank.stroke(0.035, 0.130)
    offset = crank.stroke(0.035, 0.130, 0.005)
    assert plain < offset < plain + 0.1e-3


def test_offset_by_hand():
    # Crank 3, rod 5, offset 4 at the far angle: pin height by Pythagoras for a crank at 90 deg
    # from the axis: sideways 3 - 1 = 2, height sqrt(25 - 4); top sqrt(64 - 1).
    top, phase = math.sqrt(63.0), math.asin(1.0 / 8.0)
    drop = crank.piston_drop(math.pi / 2 - phase, 3.0, 5.0, 1.0)
    assert drop == pytest.approx(top - math.sqrt(21.0), abs=1e-12)


def test_offset_makes_before_and_after_differ():
    before = crank.crank_angle_from_drop(0.002, 0.035, 0.130, 0.003)
    after = crank.crank_angle_from_drop(0.002, 0.035, 0.130, 0.003, before_tdc=False)
    assert abs(before - after) > 1e-4
    assert crank.crank_angle_from_drop(0.002, 0.035, 0.130) == pytest.approx(
        crank.crank_angle_from_drop(0.002, 0.035, 0.130, before_tdc=False)
    )


def test_whole_curve_at_once():
    angles = np.linspace(-math.pi, math.pi, 721)
    drop = crank.piston_drop(angles, 0.028, 0.110)
    assert drop.shape == angles.shape
    assert drop.min() == pytest.approx(0.0, abs=1e-12)
    assert drop.max() == pytest.approx(0.056, abs=1e-12)


def test_bottom_dead_centre_is_within_reach():
    angle = crank.crank_angle_from_drop(0.056, 0.028, 0.110)
    assert angle == pytest.approx(math.pi, abs=1e-6)


@pytest.mark.parametrize("drop", [-0.001, 0.057, math.nan])
def test_impossible_drop_is_refused(drop):
    with pytest.raises(InputError, match="Piston drop"):
        crank.crank_angle_from_drop(drop, 0.028, 0.110)


def test_rod_shorter_than_the_crank_is_refused_with_a_hint_about_the_stroke():
    with pytest.raises(InputError, match="half the stroke"):
        crank.piston_drop(0.1, 0.110, 0.028)


def test_ratio_of_one_is_refused():
    with pytest.raises(InputError, match="compression ratio"):
        swept.cylinder_volume(0.0, 0.056, 0.028, 0.110, 1.0)


def test_arc_and_angle_are_inverse():
    angle = math.radians(28.0)
    assert rotor.angle_from_rotor_arc(rotor.rotor_arc(angle, 0.083), 0.083) == pytest.approx(angle)
    with pytest.raises(InputError, match="Rotor"):
        rotor.rotor_arc(angle, 0.0)
