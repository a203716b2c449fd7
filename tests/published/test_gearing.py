"""Road speed and dial constants: kinematics worked by hand, mile by its definition."""

import pytest

from tickover.engine import parse_engine_file
from tickover.errors import InputError
from tickover.physics import gearing
from tickover.physics.bands import Band
from tickover.tasks.regearing import regeared

TOP = 58 / 28 * 46 / 19
C = 1.975


@pytest.mark.parametrize(
    ("rpm", "gear", "final", "kmh"),
    [(1000, 1.0, 46 / 19, 23.63), (3000, 1.0, 46 / 19, 70.89), (5000, 1.0, 46 / 19, 118.14),
     (4000, 1.70, 46 / 19, 55.60), (5000, 1.0, 46 / 18, 111.93)],
)  # fmt: skip
def test_speed_in_gear(rpm, gear, final, kmh):
    speed = gearing.road_speed(rpm / 60, 58 / 28 * gear * final, C)
    assert 3.6 * speed == pytest.approx(kmh, abs=0.01)


def test_engine_speed_at_100():
    assert 60 * gearing.engine_speed(100 / 3.6, TOP, C) == pytest.approx(4232, abs=0.5)


def test_wheel_turns_per_km():
    assert 1e3 * gearing.turns_per_metre(C).low == pytest.approx(506.3, abs=0.05)


def test_dial_of_1600_turns_a_mile():
    # 1600 a mile is 994.19 a km, 1000 a km is 1609.34 a mile: 1 mi = 1.609344 km exactly.
    assert gearing.shown_over_true(1600 / gearing.MILE, 1.0).low * 1e3 == pytest.approx(
        994.19, abs=0.01
    )
    assert gearing.shown_over_true(1.0, 1 / gearing.MILE).low == pytest.approx(1609.34, abs=0.01)


def test_measured_mile_in_a_minute_is_60_mph():
    factor = gearing.measured_distance(gearing.MILE, 60.0, 60 * gearing.MILE / 3600, timing=0.0)
    assert factor.low == pytest.approx(1.0, abs=1e-12)


def test_roll_out_is_the_distance_over_the_turns_and_refuses_slips():
    around = gearing.roll_out(9.875, 5, 0.005)
    assert (around.low, around.high) == pytest.approx((1.974, 1.976))
    with pytest.raises(InputError):
        gearing.roll_out(9.875, 50)


def test_wide_circumference_gives_wide_turns():
    turns = gearing.turns_per_metre(Band(1.9, 2.0), 2.0)
    assert (turns.low, turns.high) == pytest.approx((1.0, 2 / 1.9))


def test_other_tyre_moves_the_road_speed_by_the_ratio_of_nominal_diameters():
    # 4.00-18 replaced by 110/90-18: -0.79 % (100 % rule for the inch size, 2 W a + rim; computed).
    ef = parse_engine_file(
        '[engine]\nname = "a"\nlayout = "single"\n[wheels]\nrear = "4.00-18"\n[gearing]\n'
        "gearbox_sprocket = 19\nwheel_sprocket = 46\n", "E.toml",
    )  # fmt: skip
    change = regeared(ef, rear="110/90-18")
    assert 100 * (change.road.middle - 1) == pytest.approx(-0.79, abs=0.01)
    # 18 teeth in place of 19 at 5000 rpm: 118.14 to 111.93 km/h, from the worked set.
    smaller = regeared(ef, sprockets="18/46")
    assert 118.14 * smaller.road.low == pytest.approx(111.93, abs=0.01)
    assert smaller.needle == Band(1.0, 1.0)  # front wheel drives it
