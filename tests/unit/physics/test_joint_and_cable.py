"""Soldered laps, cable lengths, pulls and proof; and no brake cables."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics import cable, solder_joint


def test_tube_lap_carries_the_tube():
    lap = solder_joint.tube_lap_length(230e6, 0.019, 1.6e-3, 170e6, 0.8)
    wall_pull = 230e6 * math.pi / 4 * (0.019**2 - 0.0158**2)
    assert 0.8 * 170e6 * math.pi * 0.019 * lap == pytest.approx(wall_pull, rel=1e-9)


def test_nipple_lap_carries_the_cable():
    lap = solder_joint.nipple_lap_length(2135.0, 1.59e-3, 37e6, 0.8)
    assert 0.8 * 37e6 * math.pi * 1.59e-3 * lap == pytest.approx(2135.0)


def test_gap_closes_on_a_bronze_plug_and_opens_on_a_steel_one_in_bronze():
    cold = solder_joint.gap_at_heat(0.0101, 0.0100, 11.7e-6, 18e-6, 0.0)
    assert cold == pytest.approx(50e-6)
    assert solder_joint.gap_at_heat(0.0101, 0.0100, 11.7e-6, 18e-6, 650.0) < cold
    assert solder_joint.gap_at_heat(0.0101, 0.0100, 18e-6, 11.7e-6, 650.0) > cold


@pytest.mark.parametrize("fill", [0.0, 1.1, -0.5])
def test_fill_is_a_share(fill):
    with pytest.raises(InputError, match="between 0 and 1"):
        solder_joint.lap_length(400e6, 1e-3, 170e6, fill)


def test_wall_thicker_than_the_tube_is_refused():
    with pytest.raises(InputError, match="thicker"):
        solder_joint.tube_lap_length(230e6, 3e-3, 2e-3, 170e6)


@pytest.mark.parametrize("use", ["brake", "front brake", "Rear Brake", "BRAKE"])
def test_brake_cables_are_refused_everywhere(use):
    with pytest.raises(InputError, match="not made at home"):
        cable.cable_lengths(use, 0.9, 0.016, 0.03, 0.045, 0.012)
    with pytest.raises(InputError, match="not made at home"):
        cable.proof_pull(use, 900.0, 2135.0, 600.0)


def test_unnamed_use_is_refused_with_the_list():
    with pytest.raises(InputError, match="clutch"):
        cable.refuse_brakes("washing line")


def test_lengths_add_up():
    cut = cable.cable_lengths("throttle", 0.900, 0.016, 0.030, 0.045, 0.030, adjuster_out=0.006)
    assert cut.outer + 0.016 + 0.006 == pytest.approx(0.900)
    assert cut.inner == pytest.approx(0.900 + 0.030 + 0.045)
    assert cut.spare_travel == pytest.approx(0.015)


def test_nipple_that_would_meet_its_seat_is_refused():
    with pytest.raises(InputError, match="meet its seat"):
        cable.cable_lengths("clutch", 0.9, 0.016, 0.03, 0.010, 0.012)


def test_caps_longer_than_the_route_are_refused():
    with pytest.raises(InputError, match="longer than the route"):
        cable.cable_lengths("clutch", 0.010, 0.016, 0.03, 0.045, 0.012)


def test_grip_angle_is_the_pull_turned_round():
    angle = cable.grip_angle_to_open(0.026, 0.016, 0.001)
    assert cable.grip_pull(angle, 0.016) == pytest.approx(0.027)


def test_stretch_by_hand():
    assert cable.stretch(1000.0, 1.0, 1e-6, 100e9) == pytest.approx(0.01)
    with pytest.raises(InputError):
        cable.stretch(1000.0, 1.0, 0.0, 100e9)


def test_proof_pull_needs_a_load_between_use_and_breaking():
    with pytest.raises(InputError, match="would break"):
        cable.proof_pull("clutch", 2200.0, 2135.0, 600.0)
    with pytest.raises(InputError, match="less than"):
        cable.proof_pull("clutch", 500.0, 2135.0, 600.0)
    with pytest.raises(TypeError):
        cable.proof_pull("clutch", breaking_load=2135.0, working_load=600.0)  # no rule of thumb
    pull = cable.proof_pull("clutch", 900.0, 2000.0, 600.0)
    assert pull.share_of_breaking == pytest.approx(0.45)
