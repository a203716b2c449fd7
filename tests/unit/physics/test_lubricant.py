"""Oil grades and viscosities: reading names, refusing nonsense, narrow and wide answers."""

import pytest

from tickover.errors import InputError
from tickover.physics import lubricant, viscosity


@pytest.mark.parametrize("text", ["10W-40", "10w40", "SAE 10W/40", " 10W 40 "])
def test_spellings_of_one_grade(text):
    assert lubricant.grade(text).name == "10W-40"


@pytest.mark.parametrize("text", ["", "W", "11W-40", "20W-45", "castor", "10W-40 racing"])
def test_unknown_grades_are_refused_with_an_example(text):
    with pytest.raises(InputError) as caught:
        lubricant.grade(text)
    assert "20W-50" in caught.value.instead


def test_data_sheet_index_narrows_the_band():
    grade = lubricant.grade("20W-50")
    wide = lubricant.viscosity_of_grade(grade, 313.15)
    narrow = lubricant.viscosity_of_grade(grade, 313.15, lubricant.Band(128.0, 132.0))
    assert wide.low < narrow.low < narrow.high < wide.high


def test_ratio_of_one_oil_is_far_narrower_than_two_of_a_grade():
    grade = lubricant.grade("20W-50")
    ratio = lubricant.viscosity_ratio_of_grade(grade, 333.15, 363.15)
    cold = lubricant.viscosity_of_grade(grade, 333.15)
    hot = lubricant.viscosity_of_grade(grade, 363.15)
    both = cold / hot
    assert both.low < ratio.low < ratio.high < both.high
    assert ratio.half_width < 0.5 * both.half_width
    same = lubricant.viscosity_ratio_of_grade(grade, 333.15, 333.15)
    assert same.low == pytest.approx(1.0)
    assert same.high == pytest.approx(1.0)


def test_below_freezing_is_not_answered():
    with pytest.raises(InputError, match="Oil temperature"):
        lubricant.viscosity_of_grade(lubricant.grade("10W-40"), 263.15)


def test_winter_grade_alone_is_not_answered():
    with pytest.raises(InputError, match="no upper limit"):
        lubricant.viscosity_of_grade(lubricant.grade("10W"), 313.15)


def test_oil_that_thickens_with_heat_is_refused():
    with pytest.raises(InputError, match="thicker cold"):
        viscosity.walther_line(313.15, 5e-6, 373.15, 30e-6)
    with pytest.raises(InputError, match="same temperature"):
        viscosity.walther_line(313.15, 5e-6, 313.15, 4e-6)
    with pytest.raises(InputError, match="thicker at 40"):
        viscosity.viscosity_index(8e-6, 9e-6)


def test_line_goes_through_its_points_whichever_comes_first():
    one = viscosity.walther_line(313.15, 90e-6, 373.15, 14e-6)
    other = viscosity.walther_line(373.15, 14e-6, 313.15, 90e-6)
    for line in (one, other):
        assert viscosity.kinematic_viscosity(313.15, line) == pytest.approx(90e-6)
        assert viscosity.kinematic_viscosity(373.15, line) == pytest.approx(14e-6)


def test_dynamic_viscosity_by_definition():
    assert viscosity.dynamic_viscosity(10e-6, 850.0) == pytest.approx(8.5e-3)
    assert lubricant.density(288.15, 880.0) == 880.0
    assert lubricant.density(388.15, 880.0) == pytest.approx(880.0 * (1 - 0.065))


def test_unknown_vg_is_refused():
    with pytest.raises(InputError, match="32, 46"):
        lubricant.vg_band(33)
