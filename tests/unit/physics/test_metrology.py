"""Uncertainty of readings and clearances."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics import metrology
from tickover.physics.metrology import Estimate


def test_repeating_shrinks_scatter_but_not_the_instrument():
    few = metrology.mean_of_readings([10.0, 10.2], instrument=0.05)
    many = metrology.mean_of_readings([10.0, 10.2] * 200, instrument=0.05)
    assert few.uncertainty == pytest.approx(math.hypot(0.1, 0.05))
    assert 0.05 < many.uncertainty < 0.051


def test_single_reading_has_the_instruments_uncertainty():
    assert metrology.mean_of_readings([3.0], 0.02) == Estimate(3.0, 0.02)


@pytest.mark.parametrize("readings", [[], [math.nan], [1.0, math.inf]])
def test_no_mean_without_numbers(readings):
    with pytest.raises(InputError):
        metrology.mean_of_readings(readings)


def test_clearance_combines_both_parts():
    gap = metrology.clearance(Estimate(0.05604, 3e-6), Estimate(0.05600, 4e-6))
    assert gap.value == pytest.approx(40e-6)
    assert gap.uncertainty == pytest.approx(5e-6)


def test_interference_is_negative_clearance():
    assert metrology.clearance(Estimate(0.0519), Estimate(0.0520)).value < 0


def test_missing_uncertainty_is_refused():
    with pytest.raises(InputError):
        metrology.combined_uncertainty(1.0, math.nan)
    with pytest.raises(InputError):
        Estimate(1.0, -0.1)


@pytest.mark.parametrize(("freedom", "probability"), [(0, 0.95), (3, 0.0), (3, 1.0)])
def test_impossible_coverage_is_refused(freedom, probability):
    with pytest.raises(InputError):
        metrology.coverage_factor(freedom, probability)
