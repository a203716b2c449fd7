"""Throttle flow against isentropic tables (gamma 1.4)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tickover.physics.carburettor import kernels, model
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor
from tickover.physics.orifice import mass_flow

R = 287.05287


@pytest.mark.parametrize(
    ("upstream", "downstream", "temperature", "grams"),
    [
        (100e3, 40e3, 293.15, 0.23604477),
        (200e3, 100e3, 300.0, 0.46666873),
        (200e3, 150e3, 300.0, 0.41243432),
        (110e3, 100e3, 293.15, 0.1536156),
        (101325.0, 90e3, 288.15, 0.15628238),
    ],
)
def test_flow_through_a_square_millimetre(upstream, downstream, temperature, grams):
    # Isentropic formula with R 287.05287, worked out apart; 1e-6 is the printing.
    number = kernels.flow_number(downstream / upstream)
    flow = 1e-6 * upstream / math.sqrt(R * temperature) * number
    assert 1000 * flow == pytest.approx(grams, rel=1e-6)


def test_choking_where_the_tables_have_mach_one():
    # NACA Report 1135: p/p0 0.5283 at Mach 1; the flow factor is sqrt(gamma) (2/(g+1))^3.
    assert pytest.approx(0.52828179, abs=1e-8) == kernels.CRITICAL_RATIO
    assert kernels.flow_number(0.3) == pytest.approx(0.68473146, abs=1e-8)
    assert kernels.flow_number(0.3) == kernels.flow_number(0.5)


@pytest.mark.parametrize(
    ("pressure_ratio", "area_ratio"),
    [(0.993031, 5.821829), (0.972497, 2.963520), (0.939470, 2.035065), (0.843019, 1.339844)],
)
def test_flow_falls_below_choking_as_the_area_ratio_of_naca_1135(pressure_ratio, area_ratio):
    share = kernels.flow_number(pressure_ratio) / kernels.flow_number(0.3)
    assert share == pytest.approx(1.0 / area_ratio, rel=5e-5)


def test_a_half_open_circle_is_half_a_circle_and_a_segment_is_a_segment():
    assert kernels.segment_share(0.5) == pytest.approx(0.5, abs=1e-12)
    # Geometry: a chord at a quarter of the diameter cuts off pi/3 - sqrt(3)/4 over pi.
    quarter = (math.pi / 3 - math.sqrt(3) / 4) / math.pi
    assert kernels.segment_share(0.25) == pytest.approx(quarter, rel=1e-12)
    assert kernels.segment_share(0.75) == pytest.approx(1 - quarter, rel=1e-12)


def test_manifold_pressure_is_where_the_slide_gives_what_the_cylinder_takes():
    carburettor, engine, air = Carburettor(28e-3, 2.8e-3), Breathing(150e-6), Air()
    openings = np.array([0.0, 0.05, 0.2, 0.5, 1.0])
    speeds = np.array([1200.0, 3000.0, 5000.0, 7000.0, 9000.0])
    at = model.points(carburettor, engine, air, openings, speeds)
    for pressure, flow, lift, _, inlet in at.states:
        u = math.sqrt(1 - pressure / inlet)
        area = 0.25 * math.pi * 28e-3**2 * kernels.segment_share(lift)
        area *= kernels.share_of_area(u, at.fixed[2], at.fixed[25])
        given = mass_flow(area, inlet, air.temperature, pressure)
        assert given == pytest.approx(flow, rel=1e-6)
