"""The valve task reads the book and writes to it."""

from __future__ import annotations

import pytest
from support import four
from support_book import more, state_of

from tickover.book.bodies import StockChanged, StrikeOut, Work
from tickover.errors import InputError
from tickover.tasks.quickline import understand_line
from tickover.tasks.valves import Change, Circumstances, FittedShim
from tickover.tasks.valves.in_book import (
    VALVE_WORK,
    ValveBook,
    fitted_entries,
    valve_book,
    valve_drifts,
)

ENGINE = four()
MM = 1e-3


def lines(*texts: str):
    return [understand_line(ENGINE, text).body for text in texts]


def change(place: str, old: float, new: float, source: str) -> Change:
    return Change(place, old * MM, new * MM, source, (1e-4, 2e-4), 0.9, "reading", False)


def test_latest_reading_counts_and_a_struck_one_does_not() -> None:
    state = state_of(lines("in1 4/5", "in1 5/6"))
    assert valve_book(ENGINE, state).readings["in1"].typed == "5 / 6"
    struck = more(state, StrikeOut(state.entries[-1].id, "wrong valve"))
    assert valve_book(ENGINE, struck).readings["in1"].typed == "4 / 5"


def test_fitting_a_shim_tells_which_shim_is_in() -> None:
    state = state_of(lines("shim in1 2.60 mark"))
    assert valve_book(ENGINE, state).shims["in1"].known_by == "mark"
    fitted = more(state, Work("shim fitted", ("in1",), {"size_m": 2.55 * MM, "known_by": ""}))
    assert valve_book(ENGINE, fitted).shims["in1"].size_m == pytest.approx(2.55 * MM)


def test_drawer_gives_and_takes_when_a_plan_is_carried_out() -> None:
    start = state_of(
        [*lines("shim in1 2.60"), StockChanged("shim", 2.55 * MM, "m", 1, known_by="mark")]
    )
    plan = [change("in1", 2.60, 2.55, "stock")]
    after = more(start, *fitted_entries(plan, ["in1"], valve_book(ENGINE, start)))
    book = valve_book(ENGINE, after)
    assert {(round(s.size_m / MM, 3), s.known_by): s.count for s in book.drawer} == {
        (2.55, "mark"): 0,
        (2.60, "micrometer"): 1,
    }
    assert after.conflicts == ()
    with pytest.raises(InputError) as refused:
        fitted_entries(plan, ["in1"], book)
    assert "2.55 mm" in str(refused.value)


def test_an_exchange_moves_no_shim_into_the_drawer() -> None:
    shims = {p: FittedShim(p, s * MM, "micrometer") for p, s in (("in1", 2.6), ("in2", 2.65))}
    plan = [change("in1", 2.6, 2.65, "fitted at in2"), change("in2", 2.65, 2.6, "fitted at in1")]
    entries = fitted_entries(plan, ["in1", "in2"], ValveBook({}, shims, (), Circumstances()))
    assert [entry.kind for entry in entries] == ["work", "work"]


def test_a_shim_cannot_be_in_two_valves_at_once() -> None:
    shims = {p: FittedShim(p, s * MM, "micrometer") for p, s in (("in1", 2.6), ("in2", 2.65))}
    plan = [change("in1", 2.6, 2.65, "fitted at in2"), change("in2", 2.65, 2.5, "buy")]
    with pytest.raises(InputError) as refused:
        fitted_entries(plan, ["in1"], ValveBook({}, shims, (), Circumstances()))
    assert "in1 and in2" in str(refused.value)


def test_only_planned_places_can_be_written_as_done() -> None:
    with pytest.raises(InputError):
        fitted_entries([], ["in1"], ValveBook({}, {}, (), Circumstances()))


def test_head_work_counts_until_a_shim_is_fitted_after_it() -> None:
    state = state_of([Work(VALVE_WORK, ("ex2",))])
    assert valve_book(ENGINE, state).circumstances.head_work == {"ex2"}
    after = more(state, Work("shim fitted", ("ex2",), {"size_m": 2.5 * MM}))
    assert valve_book(ENGINE, after).circumstances.head_work == frozenset()


def test_drift_needs_two_readings_with_distance_and_a_known_shim() -> None:
    once = state_of(lines("shim in1 2.60", "in1 5.5/6 at 0.1 km"))
    assert valve_drifts(ENGINE, once) == {}
    twice = more(once, *lines("in1 5/5.5 at 8000 km"))
    assert valve_drifts(ENGINE, twice)["in1"].occasions == 2
