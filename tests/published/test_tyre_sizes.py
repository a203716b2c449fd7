"""Nominal tyre diameters: a tyre maker's page and fitment guide; others by its rule."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics.tyre import read_tyre, rolling_circumference

PRINT = 0.051  # mm: the guide prints tenths

# Confirmed in the guide: the 120 mm row, 3.50-18, 4.10 at 90 % and 4.25/85. Others: its rule.
DIAMETERS_MM = {
    "120/100-18": 697.2, "120/90-18": 673.2, "120/80-18": 649.2, "130/90-16": 640.4,
    "MT90-16": 640.4, "100/90-19": 662.6, "90/90-19": 644.6, "110/90-18": 655.2,
    "90/90-21": 695.4, "3.00-18": 609.6, "3.25-19": 647.7, "3.50-18": 635.0, "4.00-18": 660.4,
    "4.10-19": 670.1, "4.25/85-18": 640.7,
}  # fmt: skip


@pytest.mark.parametrize(("size", "mm"), DIAMETERS_MM.items())
def test_nominal_diameter(size, mm):
    assert 1e3 * read_tyre(size).diameter == pytest.approx(mm, abs=PRINT)


def test_letter_size_and_metric_size_agree_with_the_printed_inches():
    assert read_tyre("MT90-16").diameter / 0.0254 == pytest.approx(25.21, abs=0.006)


def test_change_of_tyre_moves_true_speed():
    # 4.00-18 replaced by 110/90-18: -0.79 % (computed from the two diameters of the guide).
    change = read_tyre("110/90-18").diameter / read_tyre("4.00-18").diameter - 1
    assert 100 * change == pytest.approx(-0.79, abs=0.01)


@pytest.mark.parametrize(
    "written", ["120/90 - 18 65H", "120/90B18", "120/90 R18 M/C", "120/90H18 TL"]
)
def test_marks_round_the_size_do_not_matter(written):
    assert 1e3 * read_tyre(written).diameter == pytest.approx(673.2, abs=PRINT)


@pytest.mark.parametrize("size", ["130/90-16", "4.00-18", "3.25-19"])
def test_guess_holds_the_remembered_rolling_factors(size):
    # From memory, so it only may not be shut out: 3.05 D and 2.99 D.
    tyre, guess = read_tyre(size), rolling_circumference(read_tyre(size))
    for factor in (3.05, 2.99, math.pi):
        assert guess.holds(factor * tyre.diameter * (1 - 1e-12))


@pytest.mark.parametrize(
    "text", ["", "18 inch", "350-18", "MQ90-16", "120/90", "120/90-99", "900/90-18", "0.90-18"]
)
def test_no_known_style_is_refused_with_what_to_write(text):
    with pytest.raises(InputError) as caught:
        read_tyre(text)
    assert caught.value.instead or caught.value.allowed
