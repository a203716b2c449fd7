"""Isentropic flow against NACA Report 1135, "Equations, Tables, and Charts for Compressible Flow"
(1953), tables I and II, gamma 1.4. The table's pages were not seen; the figures are those quoted
from it in handbooks, and those that follow from its equations."""

import math

import pytest

from tickover.physics.orifice import critical_ratio, flow_factor, isentropic_ratios, mass_flow

PRINTED = 0.5e-4  # the tables print four figures

#: Mach, T/T0, p/p0, rho/rho0, A/A*
TABLE = [
    (0.1, 0.9980, 0.9930, 0.9950, 5.8218),
    (0.2, 0.992063, 0.972497, 0.980277, 2.9635),
    (
        0.3,
        0.982318,
        0.939470,
        0.956380,
        2.035065,
    ),  # a printed copy has 2.0350, cut off instead of rounded
    (0.5, 0.9524, 0.8430, 0.8852, 1.3398),
    (0.8, 0.886525, 0.656022, 0.739992, 1.038230),
    (1.0, 0.8333, 0.5283, 0.6339, 1.0),
    (2.0, 0.555556, 0.127805, 0.230048, 1.687500),
]


@pytest.mark.parametrize(("mach", "temperature", "pressure", "density", "area"), TABLE)
def test_ratios_are_those_of_the_table(mach, temperature, pressure, density, area):
    ours = isentropic_ratios(mach)
    assert ours.temperature == pytest.approx(temperature, abs=PRINTED)
    assert ours.pressure == pytest.approx(pressure, abs=PRINTED)
    assert ours.density == pytest.approx(density, abs=PRINTED)
    assert ours.area == pytest.approx(area, abs=PRINTED)


@pytest.mark.parametrize(
    ("gamma", "ratio", "factor"),
    [
        (1.30, 0.54572773, 0.66726235),
        (1.35, 0.53685122, 0.67614488),
        (1.40, 0.52828179, 0.68473146),
        (5 / 3, 0.48713929, 0.72618438),
    ],
)
def test_choking_ratio_and_flow_follow_from_the_equations(gamma, ratio, factor):
    assert critical_ratio(gamma) == pytest.approx(ratio, abs=1e-7)
    assert flow_factor(0.3, gamma) == pytest.approx(factor, abs=1e-7)


def test_choking_ratio_agrees_with_a_general_fluids_library():
    fluids = pytest.importorskip("fluids")
    theirs = fluids.P_critical_flow(100e3, 1.4) / 100e3
    assert critical_ratio(1.4) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    ("up", "down", "temperature", "grams"),
    [
        (100e3, 50e3, 293.15, 0.23604477),
        (100e3, 20e3, 293.15, 0.23604477),
        (200e3, 100e3, 300.0, 0.46666873),
        (200e3, 150e3, 300.0, 0.41243432),
        (110e3, 100e3, 293.15, 0.1536156),
        (101325.0, 90e3, 288.15, 0.15628238),
    ],
)
def test_mass_flow_through_one_square_millimetre(up, down, temperature, grams):
    assert 1000 * mass_flow(1e-6, up, temperature, down) == pytest.approx(grams, rel=1e-6)


@pytest.mark.parametrize("mach", [0.05, 0.2, 0.5, 0.9, 1.0])
def test_flow_factor_and_area_table_describe_the_same_flow(mach):
    # A/A* is by definition the choked factor over the factor at that pressure.
    state = isentropic_ratios(mach)
    assert flow_factor(0.0) / flow_factor(state.pressure) == pytest.approx(state.area, rel=1e-9)
    assert math.isclose(state.density * state.temperature, state.pressure, rel_tol=1e-12)
