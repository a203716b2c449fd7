"""Battery, cables and gas: behaviour and refusals."""

import pytest

from tickover.errors import InputError
from tickover.physics import battery
from tickover.physics.bands import Band


def test_more_voltage_never_means_less_charge():
    last = battery.state_of_charge(11.0)
    for step in range(1, 25):
        now = battery.state_of_charge(11.0 + 0.08 * step)
        assert now.low >= last.low
        assert now.high >= last.high
        last = now


def test_inexact_meter_widens_the_band():
    exact, coarse = battery.state_of_charge(12.3), battery.state_of_charge(12.3, meter=0.05)
    assert coarse.low < exact.low
    assert coarse.high > exact.high


@pytest.mark.parametrize(("volts", "cells"), [(-1.0, 6), (24.0, 6), (12.6, 3), (12.6, 0)])
def test_voltage_of_another_battery_is_refused(volts, cells):
    with pytest.raises(InputError):
        battery.state_of_charge(volts, cells)


def test_dip_by_hand():
    assert battery.internal_resistance(12.5, 10.5, 100.0).low == pytest.approx(0.020)


@pytest.mark.parametrize(
    ("rest", "crank", "amps"), [(12.5, 12.5, 100.0), (12.5, 12.6, 100.0), (12.5, 10.0, Band(0, 90))]
)
def test_no_dip_or_no_current_is_refused(rest, crank, amps):
    with pytest.raises(InputError):
        battery.internal_resistance(rest, crank, amps)


def test_bad_joint_stands_out_of_sound_copper():
    sound = battery.cable_drop(Band(90.0, 100.0), 0.6, 16e-6)
    bad = battery.cable_drop(Band(90.0, 100.0), 0.6, 16e-6, joints=Band(5e-3, 5e-3))
    assert bad.low > sound.high
    assert sound.low == pytest.approx(90.0 * 0.6 / (58e6 * 16e-6))


def test_impossible_acid_is_refused():
    with pytest.raises(InputError, match="gravity"):
        battery.rest_voltage(1.9)


def test_gas_of_no_cells_is_refused():
    with pytest.raises(InputError):
        battery.hydrogen_given_off(3600.0, 0)
