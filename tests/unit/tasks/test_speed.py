"""The speed task: rules, gears, the needle, pairing with a track, its place in the plan."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner
from support_ride import gpx, ride, shaken

from tickover.book.bodies import Work
from tickover.book.entries import number_entries
from tickover.book.fold import fold
from tickover.book.state import State
from tickover.cli import group
from tickover.engine import parse_engine_file
from tickover.errors import InputError
from tickover.physics.track import Stretch
from tickover.plan.checks import check_states
from tickover.tasks import speed
from tickover.tasks.answers import check_reading, find_check

TEXT = """
[engine]
name = "Invented 400 single"
layout = "single"
[wheels]
front_rollout = "2.000 m"
rear = "4.00-18"
rear_rollout = "1.975 m"
[gearing]
primary = "58/28"
gears = [1.70, 1.0]
gearbox_sprocket = 19
wheel_sprocket = 46
red_line = "7000 rpm"
[speedometer]
turns_each = 2.1
per_km = 1000
"""
KMH = 1 / 3.6


def engine(old="", new=""):
    return parse_engine_file(TEXT.replace(old, new) if old else TEXT, "E.toml")


@pytest.mark.parametrize(
    ("true", "most"), [(40, 48), (50, 59), (80, 92), (100, 114), (120, 136), (130, 147)]
)
def test_un_r39_type_approval_band(true, most):
    # UN R39 5.3; 59, 92, 114 and 147 stand in third-party pages too.
    low, high = speed.R39.band(true * KMH)
    assert (low / KMH, high / KMH) == pytest.approx((true, most))


@pytest.mark.parametrize(("shown", "least"), [(50, 41.82), (60, 50.91), (80, 69.09), (100, 87.27)])
def test_least_true_speed_behind_a_shown_one(shown, least):
    assert speed.R39.true_band(shown * KMH)[0] / KMH == pytest.approx(least, abs=0.005)


def test_only_a_confirmed_rule_for_motorcycles_decides():
    assert [rule.name for rule in speed.RULES if rule.decides] == ["UN R39, 5.3"]
    assert all(rule.known == "confirmed" for rule in speed.RULES if rule.decides)


def test_gears_and_needle():
    gears = speed.gear_speeds(engine())
    assert gears[1].per_1000.middle / KMH == pytest.approx(23.63, abs=0.01)
    assert gears[0].per_1000.middle < gears[1].per_1000.middle
    found = speed.speedometer_drive(engine())
    assert found.factor.middle == pytest.approx(1.05, abs=1e-4)
    assert found.wanted_each.middle == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("gearbox_sprocket = 19\nwheel_sprocket = 46",
         "gearbox_sprocket = 46\nwheel_sprocket = 19", "exchanged"),
        ('"58/28"', '"28/58"', "exchanged"),
        ("[1.70, 1.0]", "[1.0, 1.70]", "not in order"),
        ("wheel_sprocket = 46\n", "", "missing"),
        ('"58/28"', '"58/0"', "no driving teeth"),
    ],
)  # fmt: skip
def test_slips_in_the_engine_file_are_told(old, new, words):
    with pytest.raises(InputError, match=words):
        engine(old, new)


def test_unknown_tyre_is_told_with_its_place():
    bad = engine('rear = "4.00-18"\nrear_rollout = "1.975 m"', 'rear = "fat one"')
    with pytest.raises(InputError, match=r"\[wheels\] rear"):
        speed.wheel_roll_out(bad, "rear")


def stretch(kmh, start=0.0, half=0.3):
    return Stretch(start, start + 30, kmh * KMH, half * KMH, False)


@pytest.mark.parametrize(
    ("shown", "true", "state"),
    [(80, 75, "good"), (80, 85, "out"), (80, 65, "out"), (80, 79.5, "undecided"),
     (80, 69.2, "undecided")],
)  # fmt: skip
def test_verdict_by_interval(shown, true, state):
    row = speed.errors_on_track([stretch(true)], [speed.ShownSpeed(shown * KMH)])[0]
    assert row.state == state
    assert row.error.low <= (shown - true) * KMH <= row.error.high


def test_pairing_is_by_time_or_refused():
    found = [stretch(50, 100.0), stretch(80, 200.0)]
    rows = speed.errors_on_track(found, [speed.ShownSpeed(84 * KMH, 210.0)])
    assert rows[0].true.middle == pytest.approx(80 * KMH)
    with pytest.raises(InputError, match="open which"):
        speed.errors_on_track(found, [speed.ShownSpeed(84 * KMH)])
    with pytest.raises(InputError, match="holds this time"):
        speed.errors_on_track(found, [speed.ShownSpeed(84 * KMH, 170.0)])


@pytest.mark.parametrize("text", ["fast", "80 V", "8000 km/h", "80 km/h at 25:00:00"])
def test_no_shown_speed(text):
    with pytest.raises(InputError):
        speed.shown_speed(engine(), text)


def state_of(*bodies):
    return fold(number_entries(bodies, at="2026-05-02T12:00:00Z", by="tests"))


def test_reading_is_kept_and_goes_stale_with_the_tyre():
    ef = engine()
    check, typed = find_check(speed.checks(ef, State()), "speedometer 80 km/h 75.5 km/h")
    body = check_reading(ef, check, typed)

    def now(*bodies):
        states = check_states(ef, state_of(*bodies))
        return next(s for s in states if s.check.key == ("speedometer", "80 km/h")).state

    assert now() == "open"
    assert now(body) == "good"
    assert now(check_reading(ef, check, "82 km/h")) == "out"
    for work in ("tyre changed", "sprockets changed", "speedometer changed"):
        assert now(body, Work(work, (), {})) == "stale"
    assert now(body, Work("oil drained", (), {})) == "good"


def test_without_a_rule_nothing_is_asked():
    assert speed.checks(engine("per_km = 1000", 'per_km = 1000\nrule = "none"'), State()) == ()


def run(tmp_path, *more):
    (tmp_path / "E.toml").write_text(TEXT)
    truth = ride([(50, 60), (0, 10), (80, 60)])
    (tmp_path / "r.gpx").write_bytes(gpx(shaken(truth, np.random.default_rng(2), 0.5)))
    args = ["speed", "--engine", str(tmp_path / "E.toml"), "--track", str(tmp_path / "r.gpx")]
    return CliRunner().invoke(group, [*args, *more])


def test_command_with_a_track(tmp_path):
    good = run(tmp_path, "--shown", "54 km/h at 12:00:50", "--json")
    assert good.exit_code == 0
    page = json.loads(good.output)
    assert page["track"][0]["state"] == "good"
    assert page["gears"][1]["per_1000"] == "23.6 to 23.7 km/h"
    low = run(tmp_path, "--shown", "46 km/h at 12:00:50")
    assert low.exit_code == 1
    assert "out" in low.output


def test_command_refuses_in_one_sentence(tmp_path):
    bad = run(tmp_path, "--shown", "54 km/h at 03:00:00")
    assert isinstance(bad.exception, InputError)
    assert isinstance(run(tmp_path, "--part", "4").exception, InputError)
