"""Fits cold and hot."""

import pytest

from tickover.errors import InputError
from tickover.physics import expansion


def test_same_metal_same_heat_keeps_the_clearance_in_proportion():
    hot = expansion.clearance_hot(0.0561, 0.0560, 11e-6, 11e-6, 393.15, 393.15)
    assert hot == pytest.approx(0.1e-3 * (1 + 11e-4))


def test_heated_case_lets_the_bearing_drop_in():
    kelvin = expansion.temperature_to_drop_in(0.05197, 0.052, 21.5e-6, 0.02e-3)
    left = expansion.clearance_hot(0.05197, 0.052, 21.5e-6, 12e-6, kelvin, 293.15)
    assert left == pytest.approx(0.02e-3, abs=1e-9)


def test_loose_fit_needs_no_heat():
    assert expansion.temperature_to_drop_in(0.0521, 0.052, 21.5e-6, 0.0) == 293.15


def test_impossible_parts_are_refused():
    with pytest.raises(InputError):
        expansion.thermal_growth(-1.0, 1e-5, 10.0)
    with pytest.raises(InputError):
        expansion.temperature_to_drop_in(0.05, 0.05, 0.0, 0.0)
