"""What holds for any carburettor: monotony, conservation, scales."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tickover.physics.carburettor import kernels, model
from tickover.physics.carburettor.discrepancy import Discrepancy, covariance
from tickover.physics.carburettor.jets import in_series
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Needle, Setting

bores = st.floats(18e-3, 42e-3)
openings = st.floats(0.0, 1.0)
speeds = st.floats(1000.0, 12000.0)
factors = st.lists(st.floats(-0.6, 0.6), min_size=4, max_size=4).map(np.array)


def machine(bore):
    needle = Needle("n", (0.0, 0.030, 0.080), (0.095 * bore, 0.094 * bore, 0.055 * bore), clips=5)
    carburettor = Carburettor(bore=bore, needle_jet=0.1 * bore)
    engine = Breathing(100e-6 * (bore / 26e-3) ** 2.3)
    setting = Setting(0.0145 * bore, 1.5, 0.1 * bore, needle, 3, 0.037 * bore)
    return carburettor, engine, setting


@given(bores, openings, speeds)
def test_air_is_conserved_and_pressure_stays_between_nothing_and_the_room(bore, opening, speed):
    carburettor, engine, _ = machine(bore)
    at = model.points(carburettor, engine, Air(), np.array([opening]), np.array([speed]))
    pressure, flow, lift, drop, inlet = at.states[0]
    assert 0.0 < pressure <= inlet
    assert 0.0 <= drop < inlet
    assert 0.0 < lift <= 1.0
    slope, offset = kernels.cylinder_line(speed, at.fixed, at.air)
    assert flow == slope * pressure - offset


@given(bores, st.floats(0.02, 0.95), speeds)
def test_opening_further_never_takes_less_air(bore, opening, speed):
    carburettor, engine, _ = machine(bore)
    at = model.points(
        carburettor, engine, Air(), np.array([opening, opening + 0.05]), np.array([speed, speed])
    )
    assert at.states[1, 1] >= at.states[0, 1] * (1.0 - 1e-9)


@given(bores, openings, speeds, factors, st.floats(1.001, 1.3))
def test_a_larger_jet_never_leans(bore, opening, speed, ln_factors, grow):
    carburettor, engine, setting = machine(bore)
    at = model.points(carburettor, engine, Air(), np.array([opening]), np.array([speed]))
    base = model.ln_lambda(at, setting, ln_factors)[0]
    for moved in (
        setting.with_(main_jet=setting.main_jet * grow),
        setting.with_(pilot_jet=setting.pilot_jet * grow),
        setting.with_(screw_turns=setting.screw_turns * grow),
        setting.with_(clip=5),
    ):
        assert model.ln_lambda(at, moved, ln_factors)[0] <= base + 1e-12


@given(bores, openings, speeds, factors)
def test_fuel_is_the_sum_of_its_two_ways_and_none_is_negative(bore, opening, speed, ln_factors):
    carburettor, engine, setting = machine(bore)
    at = model.points(carburettor, engine, Air(), np.array([opening]), np.array([speed]))
    flows = model.fuel_flows(at, setting, ln_factors)[0]
    assert np.all(flows >= 0.0)
    lam = at.states[0, 1] / (at.air[4] * flows.sum())
    assert np.isclose(np.exp(model.ln_lambda(at, setting, ln_factors)[0]), lam, rtol=1e-12)


@given(st.floats(1e-8, 1e-5), st.floats(1e-8, 1e-5))
def test_two_jets_in_a_row_pass_less_than_either(first, second):
    both = in_series(first, second)
    assert both < min(first, second)
    assert in_series(second, first) == both


@given(
    st.lists(st.tuples(openings, speeds), min_size=2, max_size=12, unique=True),
    st.floats(0.02, 0.2),
)
def test_what_the_model_misses_has_a_valid_covariance(points, size):
    t = np.array([p[0] for p in points])
    n = np.array([p[1] for p in points])
    rounds = np.arange(t.size) % 3
    k = covariance(
        Discrepancy(size=size, size_high=0.6 * size, anew=0.1), t, n, rounds, t, n, rounds
    )
    assert np.allclose(k, k.T)
    here = np.interp(np.sqrt(t), [0.5, np.sqrt(0.5)], [size, 0.6 * size])
    assert np.allclose(np.diag(k), here**2)
    assert np.linalg.eigvalsh(k).min() > -1e-9
