"""The stage a build has reached is read from the book, and falls back when it no longer holds."""

from __future__ import annotations

from datetime import date

from support_book import more, state_of
from support_start import ROW, names_required, small, yes

from tickover.book.bodies import Acceptance, LooseEndOpened, StartAttempt, StrikeOut, Work
from tickover.pages.building import answer_of, head_for, run_in_of
from tickover.plan.runin import done_entry

TODAY = date(2031, 4, 6)


def stage(state) -> str:
    return head_for(ROW, state).stage


def settle(state, need: str):
    """Everything required before a stage accepted, and the answer recorded."""
    done = more(state, *(Acceptance(n, p, "seen") for n, p in names_required(state, need)))
    return more(done, answer_of(done, need))


def test_stages_come_in_order_and_each_needs_its_proof() -> None:
    state = small([yes("valve caps")])
    assert stage(state) == "on the stand"
    state = settle(state, "first start")
    assert stage(state) == "fit to start"
    state = more(state, StartAttempt("coughed"))
    assert stage(state) == "fit to start"
    state = more(state, StartAttempt("ran"))
    assert stage(state) == "first start"
    state = settle(state, "riding")
    assert stage(state) == "dialled in"
    for item in run_in_of(state, TODAY).steps:
        state = more(state, done_entry(run_in_of(state, TODAY), item.known.step.name))
    assert stage(state) == "run in"
    state = settle(state, "hand-over")
    assert stage(state) == "signed off"


def test_a_recorded_no_is_no_stage() -> None:
    state = small()
    assert stage(more(state, answer_of(state))) == "on the stand"


def test_work_and_loose_ends_take_the_stage_back() -> None:
    state = more(small(), yes("valve caps"), yes("oil drained"))
    fit = settle(state, "first start")
    assert stage(fit) == "fit to start"
    assert stage(more(fit, LooseEndOpened("oil line off"))) == "on the stand"
    assert stage(more(fit, Work("spoke true"))) == "fit to start"


def test_a_struck_run_is_no_run() -> None:
    state = small([StartAttempt("ran")])
    assert stage(state) == "first start"
    assert stage(more(state, StrikeOut(state.entries[-1].id, "another engine"))) == "on the stand"


def test_without_an_engine_file_it_is_on_the_stand() -> None:
    assert stage(state_of([StartAttempt("ran")])) == "on the stand"
