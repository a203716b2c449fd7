"""Timed runs, roll-outs and readings kept: what is understood, what is refused, what goes void."""

from __future__ import annotations

import pytest
from support_book import state_of

from tickover.engine import parse_engine_file
from tickover.errors import InputError
from tickover.pages.speed import speed_page
from tickover.physics.gearing import MILE
from tickover.plan.checks import check_states
from tickover.tasks import speed
from tickover.tasks.regearing import regeared, sprocket_pair
from tickover.tasks.rollout import change_entry, roll_out_entry
from tickover.tasks.speedruns import (
    errors_in_book,
    errors_that_count,
    measured_run,
    run_entry,
    run_error,
    stretch_of,
    stretch_text,
)

TEXT = """
[engine]
name = "Invented 400 single"
layout = "single"
[wheels]
front = "3.25-19"
rear = "4.00-18"
rear_rollout = "1.975 m"
[gearing]
primary = "58/28"
gears = [1.70, 1.0]
gearbox_sprocket = 19
wheel_sprocket = 46
[speedometer]
kind = "sensor"
driven_by = "rear wheel"
turns_each = 2.1
per_km = 1000
"""
KMH = 1 / 3.6
ENGINE = parse_engine_file(TEXT, "E.toml")


def test_a_mile_in_a_minute_is_sixty():
    run = measured_run(ENGINE, "65 mph over 1 mi in 1:00")
    row = run_error(run)
    assert row.true.low < MILE / 60 < row.true.high
    assert row.factor.low < 65 / 60 < row.factor.high
    assert row.state == "good"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("60 mph in a minute", "the speed shown, the way and the time"),
        ("60 mph over 1 km in 60 s", "do not go together"),
        ("60 mph over 20 m in 0.7 s", "no use between two posts"),
        ("60 mph over 1 mi in 2 s", "too short"),
        ("60 V over 1 mi in 60 s", "V"),
    ],
)
def test_runs_nobody_rode_are_refused(text, says):
    with pytest.raises(InputError, match=says):
        measured_run(ENGINE, text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("9.98 m in 5 turns", "which wheel"),
        ("rear 9.98 m in 5.5 turns", "whole turns"),
        ("rear 9.98 m in 13 turns", "no wheel's circumference"),
        ("rear far in 5 turns", "far"),
        ("rear 9.98", "a way and the turns"),
    ],
)
def test_roll_outs_that_are_none(text, says):
    with pytest.raises(InputError, match=says):
        roll_out_entry(ENGINE, text)


def test_a_roll_out_beats_size_and_file_until_the_tyre_is_changed():
    walked = roll_out_entry(ENGINE, "rear 10.00 m in 5 turns")
    state = state_of([walked], TEXT)
    # five millimetres of tape either way, shared by five turns
    band = speed.wheel_roll_out(ENGINE, "rear", state).band
    assert (band.low, band.high) == pytest.approx((1.999, 2.001), abs=1e-9)
    other = state_of([walked, change_entry("tyre changed", "front")], TEXT)
    assert speed.wheel_roll_out(ENGINE, "rear", other).band.holds(2.0)
    gone = state_of([walked, change_entry("tyre changed", "rear")], TEXT)
    # the file's own roll-out was of the old tyre too
    assert "estimated" in speed.wheel_roll_out(ENGINE, "rear", gone).how


def test_a_kept_run_counts_at_its_own_speed_and_goes_void():
    run = run_entry(ENGINE, measured_run(ENGINE, "60 mph over 1 mi in 63 s"))
    state = state_of([run], TEXT)
    now = {s.check.key: s.state for s in check_states(ENGINE, state)}
    assert now["speedometer", "96.6 km/h"] == "good"
    page = speed_page(ENGINE, state)
    assert page.kept[0].state == "good"
    assert any("pulses per km" in words for words in page.setting)
    after = state_of([run, change_entry("sprockets changed")], TEXT)
    assert errors_in_book(after)[0][1] == "sprockets changed"
    assert errors_that_count(errors_in_book(after)) == ()
    assert speed_page(ENGINE, after).setting == ()


def test_page_and_check_give_one_verdict():
    for seconds in (54.0, 57.5, 59.0, 60.5, 63.0, 66.0, 68.0, 70.0):
        run = measured_run(ENGINE, f"60 mph over 1 mi in {seconds} s")
        state = state_of([run_entry(ENGINE, run)], TEXT)
        check = {s.check.key: s.state for s in check_states(ENGINE, state)}
        assert check["speedometer", "96.6 km/h"] == run_error(run).state


def test_sprockets_exchanged_or_none():
    assert sprocket_pair("18/46") == (18, 46)
    for text, says in (("46/18", "exchanged"), ("18", "two numbers"), ("4/20", "so many teeth")):
        with pytest.raises(InputError, match=says):
            sprocket_pair(text)
    with pytest.raises(InputError, match="no style"):
        regeared(ENGINE, rear="fat one")


def test_a_stretch_comes_back_from_a_form_as_it_went():
    found = speed.Stretch(43200.0, 43230.0, 22.2, 0.1, True)
    assert stretch_of(stretch_text(found)) == found
    for text in ("", "1;2;3", "1;2;nan;0.1;own", "1;2;3;9;own"):
        with pytest.raises(InputError, match="not sent whole"):
            stretch_of(text)
