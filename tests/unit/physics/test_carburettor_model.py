"""The carburettor model: signs, limits, the floating piston, what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics.carburettor import kernels, model
from tickover.physics.carburettor.parts import (
    Air,
    Breathing,
    Carburettor,
    Needle,
    Setting,
    needle_diameter,
)

NEEDLE = Needle("N", (0.0, 0.030, 0.034, 0.050, 0.060), (2.49e-3, 2.49e-3, 2.44e-3, 2.1e-3, 1.7e-3))
SLIDE = Carburettor(bore=26e-3, needle_jet=2.6e-3)
ENGINE = Breathing(100e-6)
SETTING = Setting(0.38e-3, 1.5, 2.5e-3, NEEDLE, 3, 0.95e-3)
OPENINGS = np.array([0.0, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 3 / 4, 1.0])
SPEEDS = np.array([1200.0, 2500, 3800, 5200, 7000, 8200, 9000])
NONE = np.zeros(4)


def change(at=None, **moved):
    points = at or model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    return model.ln_lambda(points, SETTING.with_(**moved), NONE) - model.ln_lambda(
        points, SETTING, NONE
    )


def test_an_invented_but_sane_carburettor_burns_somewhere_near_petrol():
    at = model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    lam = np.exp(model.ln_lambda(at, SETTING, NONE))
    assert np.all((lam > 0.7) & (lam < 1.2))


@pytest.mark.parametrize(
    "moved",
    [{"pilot_jet": 0.40e-3}, {"screw_turns": 2.0}, {"clip": 4}, {"main_jet": 0.98e-3},
     {"cutaway": 2.0e-3}],
)  # fmt: skip
def test_every_step_to_more_fuel_is_richer_everywhere(moved):
    assert np.all(change(**moved) <= 1e-9)
    assert change(**moved).min() < -0.005


def test_an_air_screw_turned_out_is_leaner_where_a_mixture_screw_is_richer():
    air_screw = Carburettor(bore=26e-3, needle_jet=2.6e-3, screw="air", screw_area=0.6e-6)
    at = model.points(air_screw, ENGINE, Air(), OPENINGS, SPEEDS)
    assert change(at, screw_turns=2.0)[0] > 0.005
    assert change(screw_turns=2.0)[0] < -0.005


def test_main_jet_and_needle_act_in_series_so_neither_passes_its_own_limit():
    at = model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    huge = model.fuel_flows(at, SETTING.with_(main_jet=5e-3), NONE)[:, 1]
    needle = 0.62 * model.annulus(at, SETTING)
    head = np.array([kernels.nozzle_signal(s, SETTING.cutaway, at.fixed) for s in at.states])
    most = needle * np.sqrt(2.0 * 740.0 * np.maximum(head, 1.0) + 1e3)
    assert np.all(huge <= most)


def test_fuel_does_not_flow_when_the_slide_gives_no_signal():
    still = np.array([101325.0, 1e-6, 0.02, 0.0, 101325.0])
    at = model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    flow = kernels.main_fuel(still, 2.5e-3, 1e-3, 1e-7, 0, 0, 0, at.fixed, at.air)
    running = kernels.main_fuel(at.states[-1], 2.5e-3, 1e-3, 1e-7, 0, 0, 0, at.fixed, at.air)
    assert flow < 0.01 * running


def test_a_bowl_open_to_the_room_enriches_when_the_box_pulls_and_a_vented_one_does_not():
    depression = 500.0
    open_bowl = Carburettor(bore=26e-3, needle_jet=2.6e-3, bowl_vent="air")
    vented = Carburettor(bore=26e-3, needle_jet=2.6e-3, bowl_vent="box")
    opening, speed = np.array([1.0]), np.array([9000.0])
    flow = model.points(SLIDE, ENGINE, Air(), opening, speed).states[0, 1]
    box = Air(box_resistance=depression / flow**2)
    base = model.ln_lambda(model.points(SLIDE, ENGINE, Air(), opening, speed), SETTING, NONE)[0]
    richer = model.ln_lambda(model.points(open_bowl, ENGINE, box, opening, speed), SETTING, NONE)
    alike = model.ln_lambda(model.points(vented, ENGINE, box, opening, speed), SETTING, NONE)
    assert richer[0] < base - 0.10
    assert abs(alike[0] - base) < 0.02


def test_filling_hardly_moves_the_mixture_at_full_throttle():
    opening, speed = np.array([1.0]), np.array([7000.0])
    lam = [
        model.ln_lambda(
            model.points(SLIDE, Breathing(100e-6, filling=f), Air(), opening, speed), SETTING, NONE
        )[0]
        for f in (0.88, 0.924)
    ]
    assert abs(lam[1] - lam[0]) < 0.01


def test_a_floating_piston_keeps_its_drop_until_it_is_fully_up():
    carburettor = Carburettor(bore=32e-3, needle_jet=2.6e-3, kind="constant velocity")
    engine = Breathing(200e-6)
    openings = np.array([0.1, 0.3, 0.6, 1.0, 1.0])
    speeds = np.array([2500.0, 3500, 5000, 3000, 9500])
    at = model.points(carburettor, engine, Air(), openings, speeds)
    lift, drop = at.lift_share, at.states[:, 3]
    floating = (lift > 0.06) & (lift < 0.999)
    assert floating.sum() >= 3
    assert np.allclose(drop[floating], 1600.0, rtol=1e-6)
    up = lift >= 0.999
    assert np.all(drop[up] >= 1600.0 * 0.999)


def test_a_wide_grip_at_low_speed_leaves_the_piston_low():
    carburettor = Carburettor(bore=32e-3, needle_jet=2.6e-3, kind="constant velocity")
    at = model.points(
        carburettor, Breathing(200e-6), Air(), np.array([1.0, 1.0]), np.array([2500.0, 8500.0])
    )
    assert at.lift_share[0] < 0.6 * at.lift_share[1]


def test_the_map_is_masked_where_it_means_nothing():
    openings = np.array([0.5, 0.5, 0.0, 0.0, 0.02])
    speeds = np.array([2500.0, 5000.0, 1200.0, 6000.0, 9000.0])
    at = model.points(SLIDE, ENGINE, Air(), openings, speeds)
    assert model.meaningful(at).tolist() == [False, True, True, False, False]


def test_an_anchored_model_says_what_it_was_told_of_the_known_set_up():
    at = model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    truth = np.array([0.25, -0.12, 0.15, -0.2])
    told = model.ln_lambda(at, SETTING, truth)
    found = model.anchor(at, SETTING, told)
    assert np.max(np.abs(model.ln_lambda(at, SETTING, found) - told)) < 0.03


def test_slopes_are_the_slopes():
    at = model.points(SLIDE, ENGINE, Air(), OPENINGS, SPEEDS)
    factors = np.array([0.1, -0.1, 0.2, 0.05])
    slopes = model.ln_lambda_slopes(at, SETTING, factors)
    for k in range(4):
        up, down = factors.copy(), factors.copy()
        up[k] += 1e-3
        down[k] -= 1e-3
        middle = (model.ln_lambda(at, SETTING, up) - model.ln_lambda(at, SETTING, down)) / 2e-3
        assert np.allclose(slopes[:, k + 1], middle, atol=2e-4)


def test_a_higher_groove_hangs_the_needle_thinner_in_its_jet():
    by_clip = [needle_diameter(NEEDLE, clip, 0.010)[0] for clip in range(1, 6)]
    assert by_clip == sorted(set(by_clip), reverse=True)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: SETTING.with_(clip=6), "no such clip groove"),
        (lambda: SETTING.with_(clip=0), "1 .top, leanest. to 5"),
        (lambda: Needle("x", (0.0, 0.0), (2e-3, 2e-3)), "go down from the top groove"),
        (lambda: Needle("x", (0.0,), (2e-3,)), "two places"),
        (lambda: Carburettor(bore=0.26, needle_jet=2.6e-3), "bore"),
        (lambda: SETTING.with_(screw_turns=-1.0), "Screw turns"),
        (lambda: Air(pressure=10.0), "Air pressure"),
    ],
)
def test_parts_no_carburettor_has_are_refused(make, says):
    with pytest.raises(InputError, match=says):
        make()
