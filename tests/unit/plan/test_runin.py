"""Running in: what the readings make due, what the use makes expected, what is done."""

from __future__ import annotations

from datetime import date

import pytest
from support_book import AT, more
from support_start import small

from tickover.book.bodies import Reading, StartAttempt, Work
from tickover.book.entries import Entry, new_id
from tickover.book.fold import fold
from tickover.errors import InputError
from tickover.pages.building import engine_of
from tickover.physics.runningin import Use
from tickover.plan.runin import (
    DISTANCE,
    DISTANCE_AT_START,
    HEAT_CYCLE,
    RUNNING,
    USUAL_USE,
    done_entry,
    progress_reading,
    run_in_plan,
    use_entry,
)
from tickover.tasks.valves.in_book import valve_drifts

START = date.fromisoformat(AT[:10])
RAN = StartAttempt("ran")


def planned(state, today: date = START, use: Use | None = None):
    return run_in_plan(engine_of(state), state, today, use)


def names(found, word: str) -> list[str]:
    return [item.known.step.name for item in found.steps if item.state == word]


def km(distance: float) -> Reading:
    return progress_reading(DISTANCE, distance * 1e3, f"{distance} km")


def test_nothing_is_dated_before_it_has_run() -> None:
    found = planned(small([StartAttempt("coughed")]))
    assert found.started is None
    assert {item.state for item in found.steps} == {"later"}
    assert all(item.on is None for item in found.steps)


def test_only_running_starts_the_count() -> None:
    assert planned(small([StartAttempt("fired"), RAN])).started == START


def test_heat_cycles_make_steps_due() -> None:
    found = planned(small([RAN, Work(HEAT_CYCLE)]))
    assert names(found, "due") == ["leaks and fasteners after the first heat cycle"]
    assert "oil level again" in names(planned(small([RAN, *[Work(HEAT_CYCLE)] * 2])), "due")


def test_heat_cycles_before_the_first_start_do_not_count() -> None:
    assert names(planned(small([Work(HEAT_CYCLE), RAN])), "due") == []


def test_distance_counts_from_the_reading_before_the_first_start() -> None:
    state = small([km(34_000), RAN, km(34_099)])
    assert "first oil and filter change" not in names(planned(state), "due")
    state = more(state, km(34_100))
    assert "first oil and filter change" in names(planned(state), "due")
    assert planned(state).reached.distance == 100e3


def test_without_a_reading_before_it_is_counted_from_zero_and_said() -> None:
    found = planned(small([RAN, km(34_100)]))
    assert found.reached.distance == 34_100e3
    assert "from zero" in found.notes[0]
    said = more(small([RAN, km(34_100)]), progress_reading(DISTANCE_AT_START, 34e6, "34000 km"))
    assert planned(said).reached.distance == 100e3
    assert not planned(said).notes


def test_running_time_makes_steps_due() -> None:
    state = small([RAN, progress_reading(RUNNING, 3 * 3600.0, "3 h")])
    assert "first oil and filter change" in names(planned(state), "due")


def test_a_distance_that_went_back_is_said_and_the_larger_counts() -> None:
    found = planned(small([RAN, km(120), km(20)]))
    assert found.reached.distance == 120e3
    assert "less than the 120 km" in found.conflicts[0]


def test_dates_follow_the_use_from_the_last_reading() -> None:
    state = small([RAN], '[[run_in]]\nname = "look"\ndistance = "400 km"\n')
    (mine,) = [i for i in planned(state, use=Use(200e3)).steps if i.known.step.name == "look"]
    assert (mine.on - START).days == 14
    assert mine.known.source == "engine file"
    state = more(state, km(300))  # on the same day: a quarter of it is left
    (mine,) = [i for i in planned(state, use=Use(200e3)).steps if i.known.step.name == "look"]
    assert (mine.on - START).days == 4  # 3.5 days, to the end of the day


def test_looking_on_another_day_moves_no_date() -> None:
    state = small([RAN, km(50)], '[[run_in]]\nname = "season check"\ndays = 60\n')
    first = {i.known.step.name: i.on for i in planned(state).steps}
    later = {i.known.step.name: i.on for i in planned(state, date(2026, 3, 20)).steps}
    assert first == later
    assert (first["season check"] - START).days == 60


def test_days_fall_due_by_the_calendar_alone() -> None:
    state = small([RAN], '[[run_in]]\nname = "season check"\ndays = 30\n')
    assert "season check" not in names(planned(state, date(2026, 3, 31)), "due")
    found = planned(state, date(2026, 4, 1))
    assert "season check" in names(found, "due")


def test_an_own_step_of_the_same_name_takes_the_place_of_ours() -> None:
    state = small([RAN], '[[run_in]]\nname = "Oil level again"\nheat_cycles = 9\n')
    found = [i for i in planned(state).steps if i.known.step.name.lower() == "oil level again"]
    assert [item.known.step.heat_cycles for item in found] == [9]


def test_done_steps_are_done_and_all_done_ends_it() -> None:
    state = small([RAN])
    for item in planned(state).steps:
        assert not planned(state).all_done
        state = more(state, done_entry(planned(state), item.known.step.name))
    assert planned(state).all_done


def test_two_phones_marking_one_step_are_told() -> None:
    state = small([RAN])
    mark = done_entry(planned(state), "oil level")
    found = planned(more(state, mark, mark))
    assert len(found.conflicts) == 1
    assert "marked done by test" in found.conflicts[0]


def test_an_unknown_or_doubtful_step_is_refused() -> None:
    found = planned(small([RAN]))
    for wrong in ("", "paint", "first"):
        if wrong == "first":
            assert done_entry(found, wrong).detail["step"].startswith("first")
        else:
            with pytest.raises(InputError, match="oil level again"):
                done_entry(found, wrong)


def test_the_use_kept_in_the_book_counts_until_another_is_asked() -> None:
    assert planned(small([RAN])).use == USUAL_USE
    assert not planned(small([RAN])).use_given
    kept = planned(small([RAN, use_entry(Use(1e6, 7200.0, 2.0))]))
    assert kept.use == Use(1e6, 7200.0, 2.0)
    assert kept.use_given


def test_a_clock_set_forward_does_not_move_the_plan_beyond_today() -> None:
    state = small([RAN])
    ahead = Entry(new_id(), state.last_number + 1, "work", "2099-01-01T00:00:00Z", AT, "x",
                  Work(HEAT_CYCLE))  # fmt: skip
    found = planned(fold([ahead], state), date(2026, 3, 9))
    assert max(item.on for item in found.steps if item.on) < date(2027, 1, 1)


def test_a_negative_distance_is_refused() -> None:
    with pytest.raises(InputError, match="negative"):
        progress_reading(DISTANCE, -1.0, "-1 m")


VALVES = """
[valves]
inlet_clearance = "0.08..0.13 mm"
exhaust_clearance = "0.13..0.18 mm"
adjustment = "shim under bucket"
[shims]
sizes = "2.00..3.20 mm step 0.05 mm"
"""


def test_valve_drift_joins_with_the_distance_at_which_it_is_due() -> None:
    def reading(low_um: float, at_km: float) -> Reading:
        return Reading("valve clearance", "ex1", low_um * 1e-6, (low_um + 10) * 1e-6, "m", "",
                       "feeler blades", {"engine": "cold", "distance_m": at_km * 1e3})  # fmt: skip

    shim = Reading("shim", "ex1", 0.0026, 0.0026, "m", "2.60", "micrometer")
    state = small([shim, km(1000), RAN, reading(165, 1000), reading(150, 4000)], VALVES)
    found = planned(state)
    (drift,) = [item for item in found.steps if "drift" in item.known.step.name]
    assert drift.known.step.name == "clearance of ex1, by its drift"
    due = valve_drifts(engine_of(state), state)["ex1"].due_m
    assert due is not None
    assert drift.known.step.distance == due - 1000e3  # that much was run before the first start
    far = progress_reading(DISTANCE, due + 1.0, "there")
    assert drift.known.step.name in names(planned(more(state, far)), "due")
