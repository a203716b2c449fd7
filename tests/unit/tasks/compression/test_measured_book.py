"""Volumes and wheel readings in the book: entries, verdicts, what voids them, what they feed."""

import math

import pytest
from tests.support_book import more, state_of
from tests.support_record import printed_part

from tickover.book.bodies import Work
from tickover.engine import parse_engine_file
from tickover.errors import FileError, InputError
from tickover.pages.record.compression import measured_part
from tickover.plan.checks import check_states
from tickover.tasks.compression.in_book import compression_book
from tickover.tasks.compression.measured_book import book_ratio, timing_finding, wheel_readings
from tickover.tasks.compression.measured_entries import (
    entries_from_csv,
    ratio_line,
    volume_entry,
    wheel_entry,
    wheel_line,
)

TEXT = (
    '[engine]\nname = "Invented four"\nlayout = "inline"\ncylinders = 4\nbore = "56 mm"\n'
    'stroke = "56 mm"\ncompression_ratio = 9.2\n'
    '[cams]\ninlet = { opens = "15 deg BTDC", closes = "45 deg ABDC" }\n'
    'exhaust = { opens = "45 deg BBDC", closes = "15 deg ATDC" }\n'
    "[compression]\ncam_sprocket_teeth = 36\n"
)
FOUR = parse_engine_file(TEXT, "four.toml")
SWEPT = math.pi / 4 * 5.6**2 * 5.6  # cc


def chamber_for(ratio):
    return volume_entry("cyl1", "chamber", f"{SWEPT / (ratio - 1):.4f} +- 0.2 cc")


def wheel(late=0.0):
    return [
        wheel_entry("inlet opens", f"{15 - late}"),
        wheel_entry("inlet closes", f"{45 + late}"),
        wheel_entry("exhaust opens", f"{45 - late}"),
        wheel_entry("exhaust closes", f"{15 + late}"),
    ]


def states(engine, state):
    return {item.check.name: item.state for item in check_states(engine, state)}


def test_a_line_becomes_an_entry_with_its_give_or_take():
    body, words = ratio_line(FOUR, "cyl2 chamber 15,9 +- 0.2 cc")
    assert (body.what, body.place) == ("chamber volume", "cyl2")
    assert body.low == pytest.approx(15.7e-6)
    assert body.high == pytest.approx(16.1e-6)
    assert "cyl2" in words
    dish, _ = ratio_line(FOUR, "dome -1.2 +- 0.1 cc")
    assert (dish.place, dish.low) == ("", pytest.approx(-1.3e-6))
    assert wheel_line(FOUR, "inlet opens 8 deg ATDC")[0].low == -8.0
    assert wheel_line(FOUR, "ex closes 12")[0].what == "exhaust closes"


def test_the_ratio_as_told_is_good_and_another_is_out():
    good = state_of([chamber_for(9.3)], TEXT)
    assert book_ratio(FOUR, good, "cyl1").measured.ratio == pytest.approx(9.3, abs=1e-3)
    assert states(FOUR, good)["compression ratio"] == "good"
    assert states(FOUR, state_of([chamber_for(8.2)], TEXT))["compression ratio"] == "out"


def test_nobody_is_asked_to_begin():
    assert not {"compression ratio", "cam timing"} & set(states(FOUR, state_of([], TEXT)))


def test_a_tooth_late_is_out_and_named():
    state = state_of(wheel(20.0), TEXT)
    timing = timing_finding(FOUR, wheel_readings(state))
    assert [f.error.teeth for f in timing.findings] == [1, 1]
    assert "1 tooth" in timing.findings[0].sentence
    assert states(FOUR, state)["cam timing"] == "out"
    assert states(FOUR, state_of(wheel(6.0), TEXT))["cam timing"] == "undecided"
    assert states(FOUR, state_of(wheel(1.0), TEXT))["cam timing"] == "good"


def test_a_crooked_wheel_is_put_right_by_the_piston_stop():
    crooked = [
        wheel_entry("inlet opens", "12"), wheel_entry("inlet closes", "48"),
        wheel_entry("piston stop before", "42"), wheel_entry("piston stop after", "48"),
    ]  # fmt: skip
    found = timing_finding(FOUR, wheel_readings(state_of(crooked, TEXT))).findings[0]
    assert found.error.late_deg == pytest.approx(0.0)


def test_both_feed_the_needle_until_work_makes_them_void():
    state = state_of([chamber_for(8.6), *wheel(10.0)], TEXT)
    day = compression_book(FOUR, state).day
    assert day.ratio == pytest.approx(8.6, abs=1e-3)
    assert 0.05 < day.ratio_sd < 0.2
    assert day.cam_late_deg == pytest.approx(10.0)
    after = more(state, Work("camshaft out", ("engine",)), Work("pistons changed", ("cyl1",)))
    day = compression_book(FOUR, after).day
    assert (day.ratio, day.cam_late_deg) == (None, None)
    assert states(FOUR, after)["cam timing"] == "stale"
    assert states(FOUR, after)["compression ratio"] == "stale"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("cyl1 chamber lots", "number"),
        ("cyl1 chamber 15.9 mm", "volume"),
        ("cyl1 chamber 15.9 l", "too large"),
        ("cyl1 chamber -3 cc", "nothing or less"),
        ("cyl9 chamber 15 cc", "no such cylinder"),
        ("cyl1 squish 1 mm", "kind and its value"),
        ("cyl1 chamber", "kind and its value"),
    ],
)
def test_volumes_that_are_none_are_refused_in_words(line, said):
    with pytest.raises(InputError, match=said):
        ratio_line(FOUR, line)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ([("inlet opens", "15")], "'inlet closes' is missing"),
        ([("inlet opens", "-110"), ("inlet closes", "-100")], "open and close"),
        ([("inlet opens", "120"), ("inlet closes", "180")], "open and close"),
        ([("piston stop before", "40")], "both sides"),
    ],
)
def test_wheel_readings_that_make_no_timing_are_refused_in_words(made, said):
    state = state_of([wheel_entry(*each) for each in made], TEXT)
    with pytest.raises(InputError, match=said):
        timing_finding(FOUR, wheel_readings(state))


def test_volumes_that_make_no_engine_are_undecided_not_a_crash():
    state = state_of([volume_entry("cyl1", "chamber", "90 cc")], TEXT)
    assert states(FOUR, state)["compression ratio"] == "undecided"


def test_a_table_names_every_wrong_line():
    table = "place,kind,value,unit,note\ncyl1,chamber,15.9,cc,\ncyl1,deck,x,mm,\nall,gasket,1,mm,\n"
    with pytest.raises(FileError, match="line 3"):
        entries_from_csv(table, "r.csv", 4, wheel=False)
    right = table.replace("deck,x", "deck,0.4")
    assert [b.place for b in entries_from_csv(right, "r.csv", 4, wheel=False)] == [
        "cyl1", "cyl1", "",
    ]  # fmt: skip


def test_the_build_record_tells_what_was_measured_and_nothing_where_nothing_was():
    state = state_of([chamber_for(8.2), *wheel(20.0)], TEXT)
    part = measured_part(FOUR, state)
    said = str(part)
    for words in ("8.20", "9.2", "1 tooth", "overlap", "Cylinder 1 is not as told"):
        assert words in said
    assert "not timed as told" in printed_part(part, state)
    assert measured_part(FOUR, state_of([], TEXT)) is None
