"""Jets against Torricelli with a measured discharge, and marks against geometry."""

from __future__ import annotations

import math

import pytest

from tickover.errors import InputError
from tickover.physics.carburettor.jets import (
    MeasuredPair,
    bore_from_timed_flow,
    bore_of_mark,
    in_series,
    jet_flow,
)
from tickover.physics.fuelsystem import head_pressure

RELATIVE = 1e-5  # the figures are printed to six digits


@pytest.mark.parametrize(
    ("bore_mm", "drop", "discharge", "grams", "cm3_per_minute"),
    [
        (1.00, 1000.0, 1.0, 0.958701, 77.2108),
        (1.00, 1000.0, 0.8, 0.766961, 61.7686),
        (1.00, 2000.0, 0.8, 1.084646, 87.3540),
        (1.10, 1000.0, 0.8, 0.928022, 74.7400),
        (0.38, 1000.0, 0.8, 0.110749, 8.9194),
    ],
)
def test_flow_through_a_jet(bore_mm, drop, discharge, grams, cm3_per_minute):
    # m = C (pi/4) d^2 sqrt(2 rho dp) with rho 745 kg/m3, worked out apart.
    flow = jet_flow(bore_mm / 1000, drop, 745.0, discharge)
    assert 1000 * flow == pytest.approx(grams, rel=RELATIVE)
    assert flow / 745.0 * 60e6 == pytest.approx(cm3_per_minute, rel=RELATIVE)


def test_flow_goes_with_the_square_of_the_bore_and_the_root_of_the_head():
    base = jet_flow(1e-3, 1000.0, 745.0, 0.8)
    assert jet_flow(1.02e-3, 1000.0, 745.0, 0.8) / base == pytest.approx(1.0404, rel=1e-9)
    assert jet_flow(1.05e-3, 1000.0, 745.0, 0.8) / base == pytest.approx(1.1025, rel=1e-9)
    assert jet_flow(1e-3, 2000.0, 745.0, 0.8) / base == pytest.approx(math.sqrt(2.0), rel=1e-9)


def test_a_timed_flow_gives_back_the_bore_through_torricelli_s_speed():
    # v = sqrt(2 g H), and the density drops out: water and petrol time the same jet alike.
    for density in (745.0, 998.2):
        mass = jet_flow(0.94e-3, head_pressure(0.5, density), density, 0.72)
        seconds = 100e-6 / (mass / density)
        assert bore_from_timed_flow(100e-6, seconds, 0.5, 0.72) == pytest.approx(0.94e-3, rel=1e-9)


def test_two_like_holes_in_a_row_pass_what_one_of_root_half_passes():
    assert in_series(2.0, 2.0) == pytest.approx(math.sqrt(2.0), rel=1e-12)


def test_marks_by_bore_are_hundredths_of_a_millimetre():
    # Common practice, no source.
    assert bore_of_mark(130.0, "bore") == pytest.approx(1.30e-3, rel=1e-12)


def test_marks_by_flow_convert_only_with_a_measured_pair_of_the_family():
    pair = MeasuredPair(100.0, 0.90e-3)
    twice = bore_of_mark(200.0, "flow", pair)
    # Twice the flow is root two the bore; check it by Torricelli itself.
    assert jet_flow(twice, 1000.0, 745.0, 0.8) == pytest.approx(
        2.0 * jet_flow(0.90e-3, 1000.0, 745.0, 0.8), rel=1e-9
    )
    with pytest.raises(InputError, match="timing its flow"):
        bore_of_mark(200.0, "flow")
