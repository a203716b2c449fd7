"""Bands: what they refuse, and how they combine."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics.bands import Band, as_band, over_corners


def test_ends_the_wrong_way_round_are_refused_with_the_right_way():
    with pytest.raises(InputError) as caught:
        Band(2.0, 1.0)
    assert caught.value.instead == "1 to 2"


def test_not_a_number_is_refused():
    with pytest.raises(InputError):
        Band(math.nan, 1.0)


def test_numbers_on_either_side():
    band = Band(1.0, 2.0)
    assert 1.0 + band == Band(2.0, 3.0)
    assert 3.0 - band == Band(1.0, 2.0)
    assert 2.0 * band == Band(2.0, 4.0)
    assert 2.0 / band == Band(1.0, 2.0)
    assert Band(-1.0, 2.0) * Band(-3.0, 1.0) == Band(-6.0, 3.0)


def test_dividing_by_a_band_with_zero_inside_is_refused():
    with pytest.raises(InputError, match="holds zero"):
        Band(1.0, 2.0) / Band(-1.0, 1.0)


def test_middle_width_hull_and_holding():
    band = Band(1.0, 3.0)
    assert (band.middle, band.half_width) == (2.0, 1.0)
    assert band.hull(Band(2.0, 5.0)) == Band(1.0, 5.0)
    assert band.holds(1.0)
    assert band.holds(3.0)
    assert not band.holds(3.0001)
    assert as_band(band) is band


def test_corners_of_a_falling_function():
    assert over_corners(lambda a, b: a / b, Band(1.0, 2.0), Band(4.0, 8.0)) == Band(0.125, 0.5)
