"""Moist-air density against CIPM-2007 check points and CoolProp's humid-air equation of state.

A. Picard, R. S. Davis, M. Glaser, K. Fujii, Metrologia 45 (2008) 149-155. Points computed from the
formula with 400 ppm carbon dioxide; the two outside its stated range (15 to 27 degrees C) are
marked by their temperature."""

import pytest

from tickover.physics.atmosphere import air_density, saturation_vapour_pressure

POINTS = [
    (20.0, 0.50, 101325.0, 1.199314),
    (20.0, 0.50, 100000.0, 1.183557),
    (25.0, 0.0, 99000.0, 1.157118),
    (25.0, 0.50, 101325.0, 1.177315),
    (15.0, 0.0, 101325.0, 1.225521),
    (30.0, 0.80, 100000.0, 1.134777),
    (10.0, 0.70, 90000.0, 1.103782),
]
LAST_DIGIT = 1e-6


@pytest.mark.parametrize(("celsius", "humidity", "pressure", "density"), POINTS)
def test_density_at_the_check_points(celsius, humidity, pressure, density):
    ours = air_density(pressure, celsius + 273.15, humidity)
    assert ours == pytest.approx(density, abs=LAST_DIGIT)


@pytest.mark.parametrize(("celsius", "humidity", "pressure", "density"), POINTS)
def test_density_agrees_with_a_reference_equation_of_state(celsius, humidity, pressure, density):
    cool = pytest.importorskip("CoolProp.HumidAirProp")
    args = ("T", celsius + 273.15, "P", pressure, "R", humidity)
    specific = cool.HAPropsSI("V", *args) / (1.0 + cool.HAPropsSI("W", *args))
    ours = air_density(pressure, celsius + 273.15, humidity)
    assert ours == pytest.approx(1.0 / specific, rel=1e-4)


@pytest.mark.parametrize(
    ("celsius", "pascal"),
    [(0, 611.21), (10, 1228.1), (15, 1705.7), (20, 2339.2), (25, 3169.8), (30, 4246.8)],
)
def test_saturation_pressure_is_the_formulas(celsius, pascal):
    assert saturation_vapour_pressure(celsius + 273.15) == pytest.approx(pascal, rel=5e-5)
