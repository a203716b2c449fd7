"""Fuel to fill and to flow, needles, exhaust, battery, interlocks, the user's own checks."""

import pytest
from support_book import more
from support_proving import after, item, reading, triple, twin, word

from tickover.book.bodies import Work
from tickover.engine import parse_engine_file
from tickover.engine.tables.fasteners import JOINTS
from tickover.engine.tables.own import RESERVED
from tickover.errors import InputError
from tickover.plan.checks import PROVIDERS, check_states
from tickover.tasks import exhaust, fuel, starting
from tickover.tasks.answers import TASKS, find_check, proving_checks

ENGINE = triple()
ML = 1e-6


def test_fuel_to_fill_is_added_up_from_bowls_filter_and_lines() -> None:
    fill = fuel.fuel_to_fill(ENGINE)
    assert fill is not None
    lines = 3.14159265 / 4 * 7e-3**2 * 0.9
    assert fill.total.low == pytest.approx(3 * 60 * ML + 20 * ML + lines, rel=1e-6)
    assert fill.total.high == pytest.approx(3 * 75 * ML + 60 * ML + lines, rel=1e-6)


def test_without_a_bowl_nothing_is_claimed() -> None:
    assert fuel.fuel_to_fill(twin("[fuel]\ncarburettors = 1")) is None
    assert fuel.fuel_to_fill(twin("[oil]")) is None


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("fuel flow 300 ml in 1 min", "good"),
        ("fuel flow 300 ml/min", "good"),
        ("fuel flow 120 ml in 1 min", "out"),
        ("fuel flow 230 ml/min", "undecided"),  # between what full load may need
    ],
)
def test_flow_against_what_full_load_needs(line: str, state: str) -> None:
    assert word(ENGINE, "fuel flow")(line) == state


@pytest.mark.parametrize(
    ("line", "state"),
    [("needle and seat 2 0.3 ml in 10 min", "good"), ("needle and seat 2 2 ml in 10 min", "out")],
)
def test_a_leak_is_what_was_caught_over_its_time(line: str, state: str) -> None:
    assert word(ENGINE, "needle and seat", "carb2")(line) == state


def test_a_volume_without_its_time_is_no_flow() -> None:
    with pytest.raises(InputError):
        reading(ENGINE, "fuel flow 300 ml")


def test_the_exhaust_is_what_was_last_said() -> None:
    assert exhaust.exhaust_condition(ENGINE, after(ENGINE)) == "baffled"
    changed = after(ENGINE, exhaust.changed_entry("Open"))
    assert exhaust.exhaust_condition(ENGINE, changed) == "open"
    assert exhaust.exhaust_condition(twin("[oil]"), after(ENGINE)) == ""
    with pytest.raises(InputError, match="standard, baffled or open"):
        exhaust.changed_entry("loud")


def test_another_exhaust_makes_joints_and_condition_void() -> None:
    state = after(ENGINE, "exhaust joints yes", "exhaust condition yes")
    changed = more(state, exhaust.changed_entry("open"))
    for name in ("exhaust joints", "exhaust condition"):
        assert item(ENGINE, state, name).state == "good"
        assert item(ENGINE, changed, name).state == "stale"


@pytest.mark.parametrize(
    ("volts", "at_rest", "cranking"), [(12, 12.4, 9.6), (6, 6.2, 4.8), (24, 24.8, 19.2)]
)
def test_battery_limits_go_with_its_cells(volts: int, at_rest: float, cranking: float) -> None:
    battery = twin(f"[battery]\nvolts = {volts}").battery
    assert battery is not None
    assert starting.least_at_rest_v(battery) == pytest.approx(at_rest)
    assert starting.least_cranking_v(battery) == pytest.approx(cranking)


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("battery at rest 12.7 V", "good"),
        ("battery at rest 12.2 V", "out"),
        ("battery at rest 12.5 V", "undecided"),  # on the limit, and the meter has its own spread
        ("earths 0.05 V", "good"),
        ("earths 0.5 V", "out"),
        ("cranking voltage 10.1 V", "good"),
        ("cranking voltage 8.0 V", "out"),
    ],
)
def test_voltages(line: str, state: str) -> None:
    check, _ = find_check(proving_checks(ENGINE), line)
    assert word(ENGINE, check.name)(line) == state


def test_an_answer_kept_before_the_file_gave_limits_is_no_voltage() -> None:
    before, later = twin("[starter]"), twin("[battery]", "[starter]")
    state = after(before, "earths no", "battery at rest yes")
    assert item(before, state, "earths").state == "out"
    # 0.0, a no, would be a fine drop of 0 V
    assert item(later, state, "earths").state == "open"
    assert item(later, state, "battery at rest").state == "open"


def test_a_kick_start_without_battery_asks_for_none() -> None:
    engine = twin('[starter]\nkind = "kick"')
    names = {check.name for check in starting.checks(engine, after(engine))}
    assert names == {"earths", "stop switch"}


def table(text: str) -> dict[str, bool]:
    return {row.place: row.starts for row in starting.interlock_states(twin(text))}


def test_usual_interlocks_in_each_state() -> None:
    rows = table("[interlocks]\nside_stand = true\nneutral = true\nclutch = true")
    assert len(rows) == 8
    assert all(starts for place, starts in rows.items() if place.startswith("neutral"))
    assert {place for place, starts in rows.items() if starts and "gear" in place} == {
        "in gear, clutch in, stand up"
    }


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("neutral = true", {"neutral": True, "in gear": False}),
        ("clutch = true", {"clutch in": True, "clutch out": False}),
        ("side_stand = true", {"stand up": True, "stand down": False}),
        ('neutral = true\nclutch = true\nrule = "neutral only"',
         {"neutral, clutch in": True, "neutral, clutch out": True,
          "in gear, clutch in": False, "in gear, clutch out": False}),
        ('neutral = true\nside_stand = true\nrule = "neutral, or stand up"',
         {"neutral, stand up": True, "neutral, stand down": True,
          "in gear, stand up": True, "in gear, stand down": False}),
        ("stop_switch = false", {}),
    ],
)  # fmt: skip
def test_interlocks_by_the_switches_fitted(text: str, rows: dict[str, bool]) -> None:
    assert table(f"[interlocks]\n{text}") == rows


OWN = """
[[checks]]
name = "Chain tension"
kind = "length"
least = "20 mm"
most = "30 mm"
stale_after = ["rear wheel out"]
needs = ["spark"]
can_wreck = 2
[[checks]]
name = "horn"
places = ["left", "right"]
required = "hand-over"
"""


def test_own_checks_are_judged_and_go_stale_by_their_own_work() -> None:
    engine = twin(OWN)
    good = after(engine, "chain tension 25 mm")
    assert item(engine, good, "chain tension").state == "good"
    assert word(engine, "chain tension")("chain tension 32 mm") == "out"
    assert item(engine, more(good, Work("rear wheel out")), "chain tension").state == "stale"
    assert item(engine, more(good, Work("head off")), "chain tension").state == "good"
    check = item(engine, good, "chain tension").check
    assert (check.needs, check.risk, check.title) == (("spark",), 2, "Chain tension")
    assert item(engine, good, "horn", "left").check.required == {"hand-over"}


def test_an_own_check_may_not_answer_for_one_that_is_there_already() -> None:
    with pytest.raises(InputError, match="there already"):
        twin('[[checks]]\nname = "Spark"')


def test_every_name_of_ours_is_kept_from_own_checks() -> None:
    state = after(ENGINE)
    own_names = {" ".join(own.name.casefold().split()) for own in ENGINE.checks}
    names = {
        check.name.partition(": ")[0].removeprefix("tightened ")
        if check.name.startswith("tightened ") and check.name != "tightened again"
        else check.name.partition(": ")[0]
        for provider in PROVIDERS
        for check in provider.checks(ENGINE, state)
    }
    assert names - own_names - set(JOINTS) <= RESERVED


def test_a_bare_file_keeps_only_its_valve_checks_and_says_what_falls_away() -> None:
    bare = parse_engine_file(
        '[engine]\nname = "a"\nlayout = "single"\n[valves]\ninlet_clearance = "0.1..0.2 mm"\n'
    )
    names = {item.check.name for item in check_states(bare, after(bare))}
    assert names <= {"valve clearance", "compression"}
    away = {str(each) for each in bare.fallen_away()}
    for key in ("[oil]", "[ignition]", "[fuel]", "[battery]", "[interlocks]", "[exhaust]"):
        assert any(key in words for words in away)


@pytest.mark.parametrize(
    "tables", ["[oil]", "[ignition]", "[fuel]", "[exhaust]", "[battery]", "[starter]",
               "[interlocks]", '[[checks]]\nname = "horn"'],
)  # fmt: skip
def test_any_table_brings_what_every_machine_needs(tables: str) -> None:
    engine = twin(tables)
    names = {check.name for task in TASKS for check in task.checks(engine, after(engine))}
    assert {
        "spark", "oil quantity", "oil primed", "oil flow", "fuel lines", "fuel drips",
        "intake clamps", "exhaust joints", "stop switch", "earths", "battery at rest",
    } <= names  # fmt: skip


def test_every_check_says_how_why_and_what_can_hurt_where_fuel_or_cranking_is() -> None:
    for check in proving_checks(ENGINE):
        assert check.how
        assert check.proves
        assert check.minutes > 0
        if check.group == "fuel" or "crank" in check.how.lower():
            assert check.cautions, check.title
