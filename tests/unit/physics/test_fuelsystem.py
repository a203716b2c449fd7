"""Fuel: filling, leaks, heads, flow and demand."""

import pytest

from tickover.errors import InputError
from tickover.physics import fuelsystem
from tickover.physics.bands import Band


def test_bowl_by_hand():
    assert fuelsystem.bowl_volume(0.05, 0.04, 0.03).low == pytest.approx(60e-6)


def test_bowl_full_of_float_is_refused():
    with pytest.raises(InputError, match="than it holds"):
        fuelsystem.bowl_volume(0.05, 0.04, 0.03, 70e-6)


def test_four_carburettors_swallow_about_half_a_litre():
    # common practice, no source: about half a litre to fill a dry system with four carburettors
    fill = fuelsystem.fill_volume(
        4,
        fuelsystem.bowl_volume(0.065, 0.055, 0.032, Band(15e-6, 35e-6)),
        [(0.007, 1.5), (0.006, 0.6)],
        Band(30e-6, 80e-6),
    )
    assert 0.3e-3 < fill.low < 0.5e-3 < fill.high * 1.05 < 0.7e-3


def test_fill_counts_every_part():
    fill = fuelsystem.fill_volume(2, 50e-6, [(0.01, 1.0)], 20e-6)
    assert fill.low == pytest.approx(120e-6 + 78.5398e-6, rel=1e-6)
    with pytest.raises(InputError):
        fuelsystem.fill_volume(-1, 50e-6)
    with pytest.raises(InputError):
        fuelsystem.fill_volume(1, 50e-6, [(-0.01, 1.0)])


def test_water_column_presses_like_the_fuel():
    water = fuelsystem.height_of_test_column(0.45, 745.0, 1000.0)
    assert fuelsystem.head_pressure(water, 1000.0) == pytest.approx(
        fuelsystem.head_pressure(0.45, 745.0)
    )


def test_flow_at_the_tested_height_is_the_test():
    assert fuelsystem.gravity_flow(6e-6, 0.3, 0.3) == Band(6e-6, 6e-6)


def test_quarter_of_the_height_gives_a_quarter_to_a_half_of_the_flow():
    band = fuelsystem.gravity_flow(6e-6, 0.40, 0.10)
    assert band.low == pytest.approx(1.5e-6)  # filters: flow follows height
    assert band.high == pytest.approx(3.0e-6)  # taps and bends: flow follows its root


def test_demand_by_hand():
    # 1 l a turn-pair: 0.5 l/turn * 100/s * 1.2 kg/m3 / 12 / 750
    need = fuelsystem.full_load_demand(1e-3, 100.0, 1.0, 12.0, 1.2, 750.0)
    assert need.low == pytest.approx(0.5e-3 * 100 * 1.2 / 12 / 750)


def test_demand_of_a_fuel_without_weight_is_refused():
    with pytest.raises(InputError):
        fuelsystem.full_load_demand(1e-3, 100.0, 1.0, 12.0, 1.2, 0.0)
