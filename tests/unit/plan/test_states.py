"""Checks, staleness, acceptance, the answer, and what comes next."""

from __future__ import annotations

import pytest
from support import FOUR, SHIMS, four
from support_book import more, state_of

from tickover.book.bodies import Acceptance, LooseEndClosed, LooseEndOpened, Work
from tickover.plan.answer import answer_body, recorded_answer
from tickover.plan.checks import CheckState, check_states, stale_places
from tickover.plan.fit import fitness
from tickover.plan.next import next_steps
from tickover.tasks.finding import Check
from tickover.tasks.quickline import understand_line

ENGINE = four()
TEXT = FOUR.format(
    order="[1, 3, 4, 2]", inlet=1, exhaust=1, adjustment="shim over bucket",
    shims=SHIMS.format(step="0.05"),
)  # fmt: skip
ALL_GOOD = [
    understand_line(ENGINE, f"{kind}{n} {reading}").body
    for n in range(1, 5)
    for kind, reading in (("in", "4.5/5.5"), ("ex", "6.5/7.5"))
]


def words(state) -> dict[str, str]:
    return {
        item.check.place: item.state
        for item in check_states(ENGINE, state)
        if item.check.name == "valve clearance"
    }


def test_nothing_measured_is_open_and_not_fit() -> None:
    state = state_of([])
    assert set(words(state).values()) == {"open"}
    assert not fitness(ENGINE, state).yes


def test_all_good_is_fit_to_start() -> None:
    assert fitness(ENGINE, state_of(ALL_GOOD)).yes


@pytest.mark.parametrize(
    ("work", "stale"),
    [
        (Work("shim fitted", ("in2",), {"size_m": 0.0026}), {"in2"}),
        (Work("valve or seat work", ("ex3",)), {"ex3"}),
        (Work("head off"), {f"{k}{n}" for k in ("in", "ex") for n in range(1, 5)}),
    ],
)
def test_work_makes_the_right_checks_void(work: Work, stale: set[str]) -> None:
    state = more(state_of(ALL_GOOD), work)
    assert {place for place, word in words(state).items() if word == "stale"} == stale
    assert stale_places(check_states(ENGINE, state), "valve clearance") == stale
    assert not fitness(ENGINE, state).yes


def test_measuring_again_closes_what_work_made_void() -> None:
    state = more(state_of(ALL_GOOD), Work("shim fitted", ("in2",), {"size_m": 0.0026}))
    again = more(state, understand_line(ENGINE, "in2 4.5/5.5").body)
    assert words(again)["in2"] == "good"
    assert fitness(ENGINE, again).yes


def test_work_before_the_reading_makes_nothing_void() -> None:
    state = state_of([Work("head off"), *ALL_GOOD])
    assert set(words(state).values()) == {"good"}


def test_acceptance_holds_until_something_newer_contradicts_it() -> None:
    out = understand_line(ENGINE, "in1 2/3").body
    accepted = more(state_of([*ALL_GOOD, out]), Acceptance("valve clearance", "in1", "race engine"))
    assert words(accepted)["in1"] == "accepted"
    assert fitness(ENGINE, accepted).yes
    read_again = more(accepted, understand_line(ENGINE, "in1 1/2").body)
    assert words(read_again)["in1"] == "out"
    worked = more(accepted, Work("shim fitted", ("in1",), {"size_m": 0.0026}))
    assert words(worked)["in1"] == "stale"


def test_a_loose_end_stops_the_start_until_closed_or_accepted() -> None:
    loose = more(state_of(ALL_GOOD), LooseEndOpened("oil line off"))
    assert not fitness(ENGINE, loose).yes
    end = loose.open_loose_ends[0].id
    assert fitness(ENGINE, more(loose, LooseEndClosed(end))).yes
    assert fitness(ENGINE, more(loose, Acceptance("loose end", end, "wanted so"))).yes


@pytest.mark.parametrize(
    "change",
    [
        understand_line(ENGINE, "in1 4.5/5.5").body,
        Work("shim fitted", ("in1",), {"size_m": 0.0026}),
        LooseEndOpened("oil line off"),
    ],
)
def test_recorded_answer_goes_void_when_anything_under_it_changes(change) -> None:
    state = state_of(ALL_GOOD, TEXT)
    kept = more(state, answer_body(fitness(ENGINE, state), state))
    recorded = recorded_answer(fitness(ENGINE, kept), kept)
    assert recorded is not None
    assert recorded.holds
    changed = more(kept, change)
    assert not recorded_answer(fitness(ENGINE, changed), changed).holds


def test_answer_survives_entries_that_prove_nothing() -> None:
    state = state_of(ALL_GOOD, TEXT)
    kept = more(state, answer_body(fitness(ENGINE, state), state))
    noted = more(kept, understand_line(ENGINE, "note all well").body)
    assert recorded_answer(fitness(ENGINE, noted), noted).holds


def check(name: str, risk: int = 1, minutes: float = 5, needs: tuple[str, ...] = ()) -> CheckState:
    made = Check(name, "", name, "", "", frozenset({"first start"}), needs, (), minutes, risk)
    return CheckState(made, "open", None)


def test_next_goes_by_needs_then_risk_then_minutes() -> None:
    steps = next_steps(
        [
            check("fuel", needs=("compression",)),
            check("compression", risk=2, needs=("oil flow",)),
            check("oil flow", risk=3, needs=("spark",)),
            check("spark", risk=1, minutes=4),
            check("lamp", risk=0, minutes=1),
            check("plug gap", risk=1, minutes=2),
        ]
    )
    names = [step.item.check.name for step in steps]
    assert names.index("spark") < names.index("oil flow") < names.index("compression")
    assert names.index("compression") < names.index("fuel")
    assert names[0] == "plug gap"
    assert names[-1] == "lamp"


def test_a_circle_of_needs_is_broken_not_hidden() -> None:
    steps = next_steps([check("a", needs=("b",)), check("b", needs=("a",))])
    assert [step.item.check.name for step in steps] == ["a", "b"]
    assert steps[0].waits_for == ("b",)


def test_an_acceptance_of_what_was_never_measured_goes_void_by_the_same_table() -> None:
    accepted = state_of([Acceptance("valve clearance", "in1", "known from last week")])
    assert words(accepted)["in1"] == "accepted"
    assert words(more(accepted, Work("head off")))["in1"] == "open"
