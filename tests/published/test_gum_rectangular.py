"""JCGM 100:2008 (GUM): rectangular, triangular and resolution uncertainties, combination."""

import math

import pytest

from tickover.physics import metrology
from tickover.quantities import places_known, show


def test_rectangular_of_one_and_a_half():
    # GUM 4.3.7 family: a = 1.5 gives 0.87
    assert metrology.rectangular_uncertainty(1.5) == pytest.approx(0.866025, abs=1e-6)


def test_resolution_of_one():
    # GUM F.2.2.1: u = 0.29 of the step
    assert metrology.resolution_uncertainty(1.0) == pytest.approx(0.288675, abs=1e-6)


def test_triangular_is_a_over_root_six():
    assert metrology.triangular_uncertainty(1.0) ** 2 == pytest.approx(1 / 6, rel=1e-12)


def test_micrometer_and_blade():
    # DIN 863 micrometer +-4 um; blade +-5 um; +-4 and +-2.5 um combined, k = 2
    assert metrology.rectangular_uncertainty(4.0) == pytest.approx(2.3094, rel=1e-4)
    assert metrology.rectangular_uncertainty(5.0) == pytest.approx(2.8868, rel=1e-4)
    both = metrology.combined_uncertainty(
        metrology.rectangular_uncertainty(4.0), metrology.rectangular_uncertainty(2.5)
    )
    assert both == pytest.approx(2.7234, rel=1e-4)
    assert metrology.Estimate(0.0, both).expanded() == pytest.approx(5.4467, rel=1e-4)


def test_coverage_with_many_readings_is_the_normal_one():
    assert metrology.coverage_factor(math.inf) == pytest.approx(2.0, abs=1e-3)
    assert metrology.coverage_factor(math.inf, 0.95) == pytest.approx(1.959964, abs=1e-6)


@pytest.mark.parametrize("probability", [0.6827, 0.95, 0.99])
def test_coverage_with_two_readings_is_the_cauchy_one(probability):
    # With one degree of freedom Student's distribution is Cauchy's: t = tan(pi p / 2).
    ours = metrology.coverage_factor(1, probability)
    assert ours == pytest.approx(math.tan(0.5 * math.pi * probability), rel=1e-9)


def test_the_resistance_of_the_guide():
    # GUM 7.2.6: y = 10.05762 ohm with u = 27 mohm is rounded to 10.058 ohm
    places = places_known(0.027, "ohm", "resistance")
    assert show(10.05762, "ohm", "resistance", places) == "10.058 Ω"


@pytest.mark.parametrize(
    ("uncertainty_m", "places"),
    # the rule of 7.2.6 worked by hand: 0.0034 and 0.0099 mm have four places, 0.00996 is 0.010
    [(3.4e-6, 4), (9.9e-6, 4), (9.96e-6, 3), (1.0e-5, 3), (5.4e-5, 3), (1.2e-3, 2)],
)
def test_the_place_of_the_second_digit(uncertainty_m, places):
    # 1.2 mm would have one place; lengths at the bench always show two
    assert places_known(uncertainty_m, "mm", "length") == places
