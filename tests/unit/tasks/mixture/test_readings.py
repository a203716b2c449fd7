"""Mixture readings as people type them, and every way they cannot be meant."""

from __future__ import annotations

import pytest

from tickover.errors import FileError, InputError
from tickover.tasks.mixture.readings import (
    Reading,
    check_together,
    parse_lambda,
    parse_opening,
    parse_sign,
    parse_speed,
    reading_from_row,
)
from tickover.tasks.mixture.tables import readings_from_csv


@pytest.mark.parametrize(
    ("typed", "share"),
    [("idle", 0.0), ("1/16", 1 / 16), ("25%", 0.25), ("50", 0.5), ("0,75", 0.75), ("Full", 1.0),
     ("100 %", 1.0), ("1", 1.0)],
)  # fmt: skip
def test_an_opening_in_any_spelling(typed, share):
    assert parse_opening(typed) == pytest.approx(share)


@pytest.mark.parametrize("typed", ["105 %", "130", "1.2 %%", "wide", "-10 %", ""])
def test_an_opening_that_is_none_is_refused_with_what_to_write(typed):
    with pytest.raises(InputError) as caught:
        parse_opening(typed, "row 4")
    assert caught.value.instead
    assert "row 4" in str(caught.value)


def test_an_air_fuel_ratio_typed_as_lambda_is_told_from_one():
    with pytest.raises(InputError) as caught:
        parse_lambda("13.2", 14.7)
    assert "air/fuel ratio, not lambda" in str(caught.value)
    assert "'13.2 AFR'" in str(caught.value)
    assert "0.898" in str(caught.value)
    assert parse_lambda("13.2 AFR", 14.7) == pytest.approx(13.2 / 14.7)


@pytest.mark.parametrize("typed", ["0.2", "2.5", "30", "abc"])
def test_a_lambda_no_engine_runs_at_is_refused(typed):
    with pytest.raises(InputError):
        parse_lambda(typed, 14.7)


def test_words_have_their_usual_other_names_and_unknown_ones_list_what_is_known():
    assert parse_sign("Knocking").word == "pinking"
    assert parse_sign("ok").verdict == "about right"
    assert parse_sign("hanging idle").verdict == "lean"
    with pytest.raises(InputError, match="sooty plug"):
        parse_sign("funny")


@pytest.mark.parametrize(
    ("typed", "rpm"), [("4500", 4500.0), ("4.5", 4500.0), ("6500 rpm", 6500.0)]
)
def test_a_speed_in_rpm_or_thousands(typed, rpm):
    assert parse_speed(typed) == rpm


def test_a_speed_no_engine_reaches_is_refused():
    with pytest.raises(InputError, match="300 to 20000"):
        parse_speed("45000")


def test_a_row_without_a_speed_takes_the_road_and_without_a_reading_is_refused():
    assert reading_from_row({"opening": "1/4", "word": "rich"}, "r").speed_rpm == 5200.0
    with pytest.raises(InputError, match="Neither a lambda nor a word"):
        reading_from_row({"opening": "1/4"}, "r")
    with pytest.raises(InputError, match="needs the opening"):
        reading_from_row({"lambda": "0.9"}, "r")


def test_a_spreadsheet_with_semicolons_and_decimal_commas():
    text = "Opening;Speed;Lambda;Word;Note\r\n1/4;5200;0,93;;warm\r\nvoll;;;;\r\n"
    with pytest.raises(InputError, match=r"sheet line 3"):
        readings_from_csv(text, "sheet")
    found = readings_from_csv(text.replace("voll;;;;\r\n", ""), "sheet")
    assert (found[0].lam, found[0].note) == (0.93, "warm")


def test_an_afr_column_is_read_as_such():
    found = readings_from_csv("opening,speed,afr\n1/2,7000,13.1\n", "x", 14.7)
    assert found[0].lam == pytest.approx(13.1 / 14.7)


def test_a_table_without_openings_is_refused():
    with pytest.raises(FileError, match="opening"):
        readings_from_csv("speed,lambda\n5000,0.9\n", "x")


def test_eight_equal_numbers_are_a_stuck_sensor():
    rows = [Reading(k / 8, 3000.0 + 500 * k, lam=0.87) for k in range(8)]
    with pytest.raises(InputError, match="readings are equal"):
        check_together(rows)
    check_together(rows[:7])


def test_two_words_at_the_same_point_contradict_and_elsewhere_do_not():
    rich = Reading(0.5, 7000.0, sign=parse_sign("rich"), where="row 2")
    lean = Reading(0.5, 7100.0, sign=parse_sign("lean"), where="row 3")
    with pytest.raises(InputError, match=r"row 2.*row 3"):
        check_together([rich, lean])
    check_together([rich, Reading(0.125, 4000.0, sign=parse_sign("lean"))])


def test_a_word_and_a_number_in_one_row_must_agree():
    with pytest.raises(InputError, match="misfire"):
        check_together([Reading(0.5, 7000.0, lam=1.2, sign=parse_sign("sooty"))])
