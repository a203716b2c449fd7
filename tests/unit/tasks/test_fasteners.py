"""Fasteners: preload, overload, order, stages, what the book says was done."""

from __future__ import annotations

import pytest
from support_build import book, state_of, twin

from tickover.book.bodies import Reading, StartAttempt, Work
from tickover.book.state import State
from tickover.errors import InputError
from tickover.plan.fit import fitness
from tickover.tasks.fasteners import (
    checks,
    order_of,
    stages_of,
    sums_of,
    tightened_entry,
    torque_sums,
)
from tickover.tasks.quickline import understand_line

HEAD = ("tightened head", "head bolts")


def test_too_much_torque_for_the_class_is_found_without_any_reading() -> None:
    engine = twin(**{'torque = "22 Nm"': 'torque = "45 Nm"'})
    item = state_of(engine, State(), "torque against class", "head bolts")
    assert item.state == "out"
    assert item.finding is not None
    assert "overloads a class 8.8 screw" in item.finding.text
    blockers = fitness(engine, State()).blockers
    assert any(b.check == "torque against class" for b in blockers)
    assert not any(c.name == "torque against class" for c in checks(twin(), State()))


def test_a_short_thread_in_aluminium_strips_first_and_is_found() -> None:
    deep = torque_sums(22.0, "M8", "8.8", into="aluminium", engaged_m=0.018)
    short = torque_sums(22.0, "M8", "8.8", into="aluminium", engaged_m=0.005)
    assert not deep.overloaded
    assert short.overloaded
    assert "strips first" in short.warnings[-1]


def test_a_thread_the_series_does_not_have_is_told_and_nothing_breaks() -> None:
    engine = twin(**{'thread = "M8"': 'thread = "11/32 BSF"'})
    item = state_of(engine, State(), "torque against class", "head bolts")
    assert item.finding is not None
    assert "No usual threads an inch" in item.finding.text


def test_spread_of_preload_holds_the_middle_and_friction_matters() -> None:
    dry, oiled = (torque_sums(22.0, "M8", surface=s) for s in ("dry", "oiled"))
    for sums in (dry, oiled):
        assert sums.pull.extremes.low < sums.pull.estimate.value < sums.pull.extremes.high
    assert oiled.pull.estimate.value > 1.5 * dry.pull.estimate.value
    known = torque_sums(22.0, "M8", nut_factor=0.18)
    assert known.pull.extremes.half_width < oiled.pull.extremes.half_width
    assert sums_of(twin().fasteners[1]) is None  # no thread, no preload


def test_order_runs_from_the_centre_out_and_the_makers_order_comes_first() -> None:
    head = twin().fasteners[0]
    assert set(order_of(head)[:2]) == {2, 5}  # the two in the middle of the row
    printed = twin(**{"retorque = true": "order = [1, 2, 3, 4, 5, 6]"}).fasteners[0]
    assert order_of(printed) == (1, 2, 3, 4, 5, 6)
    assert order_of(twin().fasteners[1]) == ()


def test_stages_rise_to_the_torque_and_a_single_plug_has_one() -> None:
    head, plug = twin().fasteners
    assert stages_of(head) == pytest.approx((11.0, 16.5, 22.0))
    assert stages_of(plug) == (25.0,)


def test_stage_after_stage_until_it_is_good_with_its_date() -> None:
    engine = twin()
    one = book(engine, "torque head bolts 11 Nm stage 1")
    assert state_of(engine, one, *HEAD).state == "undecided"
    done = book(engine, "torque head bolts 11 Nm stage 1", "torque head bolts 22 Nm done")
    item = state_of(engine, done, *HEAD)
    assert item.state == "good"
    assert item.finding is not None
    assert item.finding.text == "22 Nm on 2031-04-05"


def test_an_early_stages_torque_is_taken_for_that_stage() -> None:
    assert tightened_entry(twin(), "head bolts", "16.5 Nm").detail["stage"] == 2
    assert tightened_entry(twin(), "head bolts", "16.2 lbf ft").detail["stage"] == 3


@pytest.mark.parametrize(("torque", "state"), [("22", "good"), ("22.8 Nm", "good"),
                                               ("26 Nm", "out"), ("19 Nm", "out")])  # fmt: skip
def test_another_torque_than_the_files_is_out(torque: str, state: str) -> None:
    engine = twin()
    assert state_of(engine, book(engine, f"torque head bolts {torque} done"), *HEAD).state == state


@pytest.mark.parametrize(
    ("work", "plug"),
    [("head off", "good"), ("fastener loosened", "good"), ("oil drained", "stale")],
)
def test_work_on_a_joint_makes_its_tightening_void_and_no_other(work: str, plug: str) -> None:
    engine = twin()
    done = ("torque head bolts done", "torque sump plug done")
    places = ("head bolts",) if work == "fastener loosened" else ()
    state = book(engine, *done, Work(work, places))
    assert state_of(engine, state, "tightened sump", "sump plug").state == plug
    assert state_of(engine, state, *HEAD).state == ("good" if plug == "stale" else "stale")


def test_tightened_again_counts_only_after_running() -> None:
    engine = twin()
    again = ("tightened again", "head bolts")
    cold = book(engine, "torque head bolts done", "torque head bolts again")
    assert state_of(engine, cold, *again).state == "undecided"
    before = book(engine, StartAttempt("ran"), "torque head bolts done", "torque head bolts again")
    assert state_of(engine, before, *again).state == "undecided"
    hot = book(engine, "torque head bolts done", StartAttempt("ran"), "torque head bolts again")
    assert state_of(engine, hot, *again).state == "good"
    redone = book(engine, "torque head bolts done", StartAttempt("ran"), "torque head bolts again",
                  "torque head bolts done")  # fmt: skip
    assert state_of(engine, redone, *again).state == "stale"


def test_a_plain_yes_or_no_is_taken_too() -> None:
    engine = twin()
    for value, state in ((1.0, "good"), (0.0, "out")):
        said = Reading("tightened head", "head bolts", value, value, "yes", "yes")
        assert state_of(engine, book(engine, said), *HEAD).state == state


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("torque", "Say what was done"),
        ("torque head bolts", "Say what was done"),
        ("torque bolts 22 Nm", "no such fastener"),
        ("torque head bolts 22 bar", "not of torque"),
        ("torque head bolts -3 Nm done", "negative"),
        ("torque head bolts 0 Nm done", "above zero"),
        ("torque head bolts 22 Nm stage 7", "no such stage"),
    ],
)
def test_lines_that_mean_nothing_are_refused_in_words(line: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        understand_line(twin(), line)


def test_sums_refuse_what_they_do_not_know() -> None:
    for wrong in ({"surface": "wet"}, {"property_class": "7.7"}, {"thread_name": "M"}):
        with pytest.raises(InputError):
            torque_sums(**{"torque_nm": 22.0, "thread_name": "M8", **wrong})  # type: ignore[arg-type]
    with pytest.raises(InputError):
        torque_sums(0.0, "M8")
