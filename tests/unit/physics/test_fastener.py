"""Preload and its spread, stress while tightening, order and stages."""

import math

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics import fastener, tightening
from tickover.physics.bands import Band
from tickover.physics.metrology import Estimate
from tickover.physics.thread import thread

M8 = thread("M8")


def test_first_order_spread_agrees_with_drawing_lots():
    torque, mu = Estimate(25.0, 0.5), Band(0.11, 0.13)
    ours = fastener.preload(torque, M8, mu, mu, 0.011).estimate
    draw = np.random.default_rng(1)
    n = 200_000
    arms = (
        M8.pitch / (2 * math.pi)
        + 0.5 * M8.pitch_diameter * draw.uniform(0.11, 0.13, n) / math.cos(math.radians(30))
        + 0.5 * 0.011 * draw.uniform(0.11, 0.13, n)
    )
    pulls = draw.normal(25.0, 0.5, n) / arms
    assert ours.value == pytest.approx(pulls.mean(), rel=0.003)  # second order left out
    assert ours.uncertainty == pytest.approx(pulls.std(), rel=0.02)


def test_exact_friction_and_torque_leave_no_spread():
    pull = fastener.preload(Estimate(25.0), M8, 0.12, 0.12, 0.011)
    assert pull.estimate.uncertainty == 0.0
    assert pull.extremes.low == pytest.approx(pull.extremes.high)


def test_extremes_take_the_wrench_at_two_standard_uncertainties():
    pull = fastener.preload(Estimate(25.0, 0.5), M8, 0.12, 0.12, 0.011)
    assert pull.extremes.high / pull.estimate.value == pytest.approx(26.0 / 25.0)
    assert pull.extremes.low / pull.estimate.value == pytest.approx(24.0 / 25.0)


def test_frictionless_screw_turns_all_torque_into_pull():
    arm = fastener.torque_per_preload(M8, 0.0, 0.0, 0.011)
    assert arm * 2 * math.pi == pytest.approx(M8.pitch)


def test_twist_adds_to_stress():
    plain = 16e3 / M8.stress_area
    assert fastener.tightening_stress(16e3, M8, 0.12) > 1.1 * plain
    assert fastener.tightening_stress(0.0, M8, 0.12) == 0.0


def test_share_of_proof():
    pull = fastener.preload(Estimate(25.0), M8, 0.12, 0.12, 0.011)
    share = fastener.share_of_proof(pull, M8, "8.8")
    assert share.low == pytest.approx(pull.estimate.value / 21233, rel=1e-3)


@pytest.mark.parametrize("grade", ["8", "8,8", "7.7", ""])
def test_unknown_class_is_refused_with_the_list(grade):
    with pytest.raises(InputError, match=r"10\.9"):
        fastener.proof_stress(grade, 0.008)


def test_impossible_sums_are_refused():
    with pytest.raises(InputError):
        fastener.preload(Estimate(0.0), M8, 0.12, 0.12, 0.011)
    with pytest.raises(InputError):
        fastener.torque_per_preload(M8, -0.1, 0.1, 0.011)
    with pytest.raises(InputError):
        fastener.torque_per_preload(M8, 0.1, 0.1, 0.0)
    with pytest.raises(InputError, match="so easily"):
        fastener.friction_of_factor(0.01, M8, 0.011)


def test_head_with_eight_studs_goes_inside_first_and_crosswise():
    # four columns 60 apart, two rows 80 apart: 0 2 4 6 above, 1 3 5 7 below
    studs = [(x, y) for x in (0, 60, 120, 180) for y in (0, 80)]
    # inner four corner to corner (2-5, 4-3), then the outer four (6-1, 7-0)
    assert tightening.tightening_order(studs) == (2, 5, 4, 3, 6, 1, 7, 0)


def test_round_cover_makes_a_star():
    six = [(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]
    assert tightening.tightening_order(six) == (0, 3, 1, 4, 2, 5)


def test_single_screw():
    assert tightening.tightening_order([(3.0, 4.0)]) == (0,)


@pytest.mark.parametrize("points", [[], [(0, 0), (0, 0)], [(0, math.nan)]])
def test_order_of_nonsense_is_refused(points):
    with pytest.raises(InputError):
        tightening.tightening_order(points)


@pytest.mark.parametrize("shares", [(), (0.5,), (0.5, 0.5, 1.0), (0.0, 1.0), (0.7, 0.5, 1.0)])
def test_stages_must_rise_to_one(shares):
    with pytest.raises(InputError, match="rise"):
        tightening.torque_stages(24.0, shares)


def test_no_stages_of_no_torque():
    with pytest.raises(InputError, match="above zero"):
        tightening.torque_stages(0.0)
