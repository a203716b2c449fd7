"""Taper and out of round from stations and directions."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics import wear

MM = 1e-3


def test_taper_and_out_of_round_are_kept_apart():
    # columns: along and across; rows: top, middle, bottom
    shape = wear.wear_shape(
        [[56.05 * MM, 56.02 * MM], [56.03 * MM, 56.02 * MM], [56.01 * MM, 56.00 * MM]]
    )
    assert shape.taper == pytest.approx(0.04 * MM)
    assert shape.taper_direction == 0
    assert shape.out_of_round == pytest.approx(0.03 * MM)
    assert shape.out_of_round_station == 0
    assert (shape.smallest, shape.largest) == (56.00 * MM, 56.05 * MM)


def test_missing_readings_are_left_out():
    shape = wear.wear_shape([[0.0560, math.nan], [0.0561, 0.0562]])
    assert shape.taper == pytest.approx(0.1 * MM)
    assert shape.taper_direction == 0
    assert shape.out_of_round_station == 1
    assert shape.mean == pytest.approx(0.0561)


def test_one_station_knows_no_taper():
    shape = wear.wear_shape([[0.0560, 0.0561]])
    assert math.isnan(shape.taper)
    assert shape.taper_direction is None
    assert shape.out_of_round == pytest.approx(0.1 * MM)


def test_one_direction_knows_no_out_of_round():
    shape = wear.wear_shape([[0.0560], [0.0561]])
    assert math.isnan(shape.out_of_round)
    assert shape.taper == pytest.approx(0.1 * MM)


def test_difference_carries_root_two():
    assert wear.wear_shape([[0.056, 0.056]], 1e-6).difference_uncertainty == pytest.approx(
        math.sqrt(2) * 1e-6
    )


@pytest.mark.parametrize("readings", [[[math.nan]], [[]], [[0.056, -0.056]]])
def test_nonsense_is_refused(readings):
    with pytest.raises(InputError):
        wear.wear_shape(readings)
