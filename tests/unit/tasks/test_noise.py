"""The noise task: what counts, what is decided, what goes void, what is refused."""

from __future__ import annotations

import pytest
from support_book import state_of

from tickover.book.bodies import Work
from tickover.engine import parse_engine_file
from tickover.errors import FileError, InputError
from tickover.pages.noise import noise_page
from tickover.plan.checks import check_states
from tickover.tasks.exhaust import changed_entry
from tickover.tasks.noise import (
    compared,
    entries_from_csv,
    noise_entry,
    octave_levels,
    outlet_levels,
)

TEXT = """
[engine]
name = "Invented twin"
layout = "inline"
cylinders = 2
[exhaust]
silencers = "baffled"
[noise]
limit = "96 dB"
given_by = "the plate"
rated_power_speed = "8500 rpm"
"""
ENGINE = parse_engine_file(TEXT, "E.toml")


def read(*levels, engine=ENGINE, **how):
    how = {"background": "62 dB", "speed": "4250 rpm", **how}
    return [noise_entry(engine, f"{level} dB", **how) for level in levels]


def now(*bodies, engine=ENGINE, text=TEXT):
    states = check_states(engine, state_of(bodies, text))
    return next(s.state for s in states if s.check.name == "noise")


@pytest.mark.parametrize(
    ("levels", "state"),
    [((91.0, 91.4, 91.2), "good"), ((99.0, 99.4, 99.1), "out"), ((95.5, 96.0, 95.8), "undecided"),
     ((91.0, 91.4), "undecided"), ((88.0, 96.0, 92.0), "undecided")],
)  # fmt: skip
def test_verdict_by_interval(levels, state):
    assert now(*read(*levels)) == state


def test_the_background_is_taken_off_and_can_spoil_a_reading():
    found = outlet_levels(ENGINE, state_of(read(91.0, background="81 dB"), TEXT))[0]
    assert found.levels[0].alone == pytest.approx(91.0 - 0.458, abs=0.001)
    assert found.levels[0].why_not == ""
    near = outlet_levels(ENGINE, state_of(read(91.0, background="82 dB"), TEXT))[0]
    assert "background" in near.levels[0].why_not
    assert now(*read(91.0, 91.4, 91.2, background="85 dB")) == "undecided"


def test_held_at_another_speed_it_is_another_test():
    assert now(*read(91.0, 91.4, 91.2, speed="2500 rpm")) == "undecided"


def test_the_louder_outlet_decides_and_both_are_read():
    text = TEXT + "outlets = 2\n"
    two = parse_engine_file(text, "E.toml")
    first = read(91.0, 91.4, 91.2, engine=two)
    assert now(*first, engine=two, text=text) == "undecided"
    loud = read(99.0, 99.4, 99.2, engine=two, outlet="2")
    assert now(*first, *loud, engine=two, text=text) == "out"


@pytest.mark.parametrize("work", ["baffles changed", "exhaust off", "exhaust repaired"])
def test_work_on_the_exhaust_makes_it_void(work):
    good = read(91.0, 91.4, 91.2)
    assert now(*good, Work(work)) == "stale"
    assert now(*good, Work(work), *read(90.0, 90.2, 90.1)) == "good"
    assert now(*good, Work("oil drained")) == "good"


def test_baffles_out_are_compared_and_do_not_speak_for_baffles_in():
    inside, outside = read(91.0, 91.4, 91.2), read(99.0, 99.4, 99.2, silencers="open")
    state = state_of([*inside, *outside], TEXT)
    assert now(*inside, *outside) == "good"
    (found,) = compared(outlet_levels(ENGINE, state))
    assert (found.quieter, found.louder) == ("baffled", "open")
    assert found.less.low < 8.0 < found.less.high
    assert now(*inside, changed_entry("open")) == "stale"
    assert now(*inside, changed_entry("open"), *read(99.0, 99.4, 99.2)) == "out"


def test_no_difference_is_said_where_none_can_be_told():
    state = state_of([*read(91.0, 92.0), *read(92.0, 91.5, silencers="open")], TEXT)
    assert "no difference can be told" in noise_page(ENGINE, state).compared[0]


def test_without_a_limit_nothing_is_judged():
    text = TEXT.replace('limit = "96 dB"\n', "")
    bare = parse_engine_file(text, "E.toml")
    page = noise_page(bare, state_of(read(91.0), text))
    assert "nothing is judged" in page.verdict
    assert page.lines[0].state == "open"
    assert not page.all_good


@pytest.mark.parametrize(
    ("typed", "how", "says"),
    [
        ("loud", {}, "number"),
        ("9.4 dB", {}, "no noise"),
        ("94 V", {}, "unit"),
        ("94 dB", {"outlet": "3"}, "no such outlet"),
        ("94 dB", {"outlet": "1" * 5000}, "no such outlet"),
        ("94 dB", {"silencers": "drilled"}, "standard, baffled or open"),
        ("94 dB", {"background": "95 dB"}, "louder than the machine"),
        ("63: 92, 64: 90", {}, "No octave band"),
        ("63: 92, 63: 90", {}, "stands twice"),
    ],
)
def test_what_is_no_reading_is_refused_in_words(typed, how, says):
    with pytest.raises(InputError, match=says):
        noise_entry(ENGINE, typed, **how)


def test_octaves_come_with_comma_or_point():
    assert octave_levels("31,5: 80; 1k: 91,5") == {31.5: 80.0, 1000.0: 91.5}


def test_a_table_names_the_line_that_is_wrong():
    good = "outlet,level,silencers\n1,91 dB,open\n"
    assert len(entries_from_csv(ENGINE, good, "r.csv")) == 1
    with pytest.raises(FileError, match="line 3"):
        entries_from_csv(ENGINE, good + "9,91,open\n", "r.csv")
