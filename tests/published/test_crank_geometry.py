"""Slider-crank tables computed independently with 20 to 30 digits from the geometry.

Formulas as in J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2 (equation
numbers from memory); the values were computed with mpmath 1.4.1, apart from this package, and the
degree-wheel tables with plain double precision to the printed thousandth.
"""

import math

import numpy as np
import pytest

from tickover.physics import crank, swept

MM = 1e-3
PICOMETRE = 1e-12  # the tables carry 12 digits; anything worse is lost precision
THOUSANDTH = 0.0006 * MM  # printed to 0.001 mm

STROKE_56_ROD_110 = {
    1: 0.00534997647,
    5: 0.133621606953,
    10: 0.532892237960,
    20: 2.10626578836,
    30: 4.64583511815,
    36: 6.58569876920,
    45: 9.99749816898,
    60: 16.7060113520,
    90: 31.6233108242,
    120: 44.7060113520,
    150: 53.1432577301,
    180: 56.0,
}
OTHERS = [
    (100.0, 200.0, 30, 8.26738148093),
    (100.0, 200.0, 90, 56.3508326896),
    (62.2, 105.0, 36, 7.54306687462),
    (57.0, 112.5, 20, 2.14184564869),
]
INVERSE = {
    0.5: 9.68526989652,
    1: 13.7228378282,
    2: 19.4810056638,
    3: 23.9515758966,
    5: 31.1666158169,
}
DEGREE_WHEEL = {
    (70.0, 130.0): {5: 0.169, 10: 0.674, 20: 2.663, 28: 5.139, 30: 5.872, 35: 7.889, 38: 9.218},
    (82.0, 152.4): {5: 0.198, 10: 0.789, 20: 3.119, 28: 6.020, 30: 6.878, 35: 9.240, 38: 10.797},
}


@pytest.mark.parametrize(("degrees", "drop"), STROKE_56_ROD_110.items())
def test_drop_of_stroke_56_rod_110(degrees, drop):
    ours = crank.piston_drop(math.radians(degrees), 28 * MM, 110 * MM)
    assert ours == pytest.approx(drop * MM, abs=PICOMETRE)


@pytest.mark.parametrize(("stroke", "rod", "degrees", "drop"), OTHERS)
def test_drop_of_other_engines(stroke, rod, degrees, drop):
    ours = crank.piston_drop(math.radians(degrees), 0.5 * stroke * MM, rod * MM)
    assert ours == pytest.approx(drop * MM, abs=PICOMETRE)


@pytest.mark.parametrize(("drop", "degrees"), INVERSE.items())
def test_angle_from_drop(drop, degrees):
    ours = crank.crank_angle_from_drop(drop * MM, 28 * MM, 110 * MM)
    assert math.degrees(ours) == pytest.approx(degrees, abs=1e-10)


@pytest.mark.parametrize(
    ("stroke", "rod", "degrees", "drop"),
    [(*engine, a, x) for engine, table in DEGREE_WHEEL.items() for a, x in table.items()],
)
def test_degree_wheel_tables(stroke, rod, degrees, drop):
    ours = crank.piston_drop(math.radians(degrees), 0.5 * stroke * MM, rod * MM)
    assert ours == pytest.approx(drop * MM, abs=THOUSANDTH)


@pytest.mark.parametrize(("stroke", "rod", "drop"), [(70.0, 130.0, 39.80), (82.0, 152.4, 46.62)])
def test_degree_wheel_at_90(stroke, rod, drop):
    ours = crank.piston_drop(math.pi / 2, 0.5 * stroke * MM, rod * MM)
    assert ours == pytest.approx(drop * MM, abs=0.006 * MM)  # printed to 0.01 mm


def test_greatest_speed_of_stroke_56_rod_110():
    angle = crank.angle_of_greatest_speed(28 * MM, 110 * MM)
    assert math.degrees(angle) == pytest.approx(76.5138076367, abs=1e-8)
    speed = crank.piston_speed(angle, 28 * MM, 110 * MM, 1.0) / (28 * MM)
    assert speed == pytest.approx(1.03200616094, abs=1e-9)
    omega = 2 * math.pi * 8000 / 60
    assert crank.piston_speed(angle, 28 * MM, 110 * MM, omega) == pytest.approx(
        24.2080009, abs=1e-6
    )
    mean = crank.mean_piston_speed(56 * MM, 8000 / 60)
    assert mean == pytest.approx(14.9333333, abs=1e-6)
    assert crank.piston_speed(angle, 28 * MM, 110 * MM, omega) / mean == pytest.approx(
        1.62107148684, abs=1e-9
    )


def test_speed_where_crank_and_rod_are_square():
    angle = math.atan(110 / 28)
    assert math.degrees(angle) == pytest.approx(75.71890426, abs=1e-8)
    speed = crank.piston_speed(angle, 28 * MM, 110 * MM, 1.0) / (28 * MM)
    assert speed == pytest.approx(1.03188826354, abs=1e-9)


def test_greatest_speed_of_rod_twice_the_stroke():
    angle = crank.angle_of_greatest_speed(1.0, 4.0)
    assert math.degrees(angle) == pytest.approx(76.7209779186, abs=1e-8)
    speed = crank.piston_speed(angle, 1.0, 4.0, 1.0)
    assert speed == pytest.approx(1.03088269851, abs=1e-9)
    assert speed * math.pi / 2 == pytest.approx(1.61930675618, abs=1e-9)


def test_acceleration_at_the_ends_at_8000_rpm():
    omega = 2 * math.pi * 8000 / 60
    top = crank.piston_acceleration(0.0, 28 * MM, 110 * MM, omega)
    bottom = crank.piston_acceleration(math.pi, 28 * MM, 110 * MM, omega)
    assert top == pytest.approx(24653.674, abs=1e-3)
    assert bottom == pytest.approx(-14649.284, abs=1e-3)


def test_volume_of_bore_56_stroke_56_ratio_9_5():
    volume_swept = swept.displacement(56 * MM, 56 * MM)
    assert volume_swept * 1e6 == pytest.approx(137.9284839, abs=1e-7)
    angles = np.radians([30.0, 90.0, 140.0, 180.0])
    volume = swept.cylinder_volume(angles, 56 * MM, 28 * MM, 110 * MM, 9.5)
    assert volume / (volume_swept / 8.5) == pytest.approx(
        [1.705171402, 5.799966822, 8.730695623, 9.5], abs=1e-8
    )


@pytest.mark.parametrize(
    ("after_bdc", "ratio"), [(30, 9.06638733), (40, 8.73069562), (50, 8.30234183), (60, 7.78573387)]
)
def test_effective_ratio_from_inlet_closing(after_bdc, ratio):
    ours = swept.effective_ratio(math.radians(after_bdc), 28 * MM, 110 * MM, 9.5)
    assert ours == pytest.approx(ratio, abs=1e-8)
