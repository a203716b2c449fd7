"""Pages of the day of the first start: checks, fit to start, start card, stopwatch, loose ends."""

from __future__ import annotations

from typing import Any

import pytest
from support_book import AT, more
from support_start import ROW, names_required, small, yes

from tickover.book.bodies import (
    Acceptance,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Reading,
    StartAttempt,
    StrikeOut,
    Work,
)
from tickover.book.entries import Entry, new_id
from tickover.book.fold import fold
from tickover.book.store import Store
from tickover.errors import InputError
from tickover.pages.building import (
    answer_of,
    check_page_of,
    checks_page_of,
    engine_of,
    fit_page_of,
    loose_page_of,
    start_card_of,
    states_of,
    stopwatch_page_of,
)
from tickover.pages.checks import find_check
from tickover.pages.stopwatch import BUTTONS, attempt_body, button, observation_drafts
from tickover.tasks.simple import simple_reading

# -- checks ---------------------------------------------------------------------------


def test_all_checks_stand_in_their_groups_with_what_comes_next() -> None:
    page = checks_page_of(ROW, small([yes("valve caps")]))
    rows = [row for group in page.groups for row in group.rows]
    own = {row.name: row for row in rows if row.name in ("valve caps", "oil drained", "mirror")}
    assert own["valve caps"].settled
    assert own["oil drained"].needs[0].state == "good"
    assert own["mirror"].required == ("riding", "hand-over")
    assert {line.work for line in own["oil drained"].stale_by} == {"caps off", "sump off"}
    assert "caps off" in page.work_kinds
    next_names = [line.row.name for line in page.next_steps]
    assert "valve caps" not in next_names
    assert "mirror" not in next_names
    assert "mirror" in [line.row.name for line in checks_page_of(ROW, small(), "riding").next_steps]


def test_a_step_that_waits_says_for_what() -> None:
    page = checks_page_of(ROW, small())
    waiting = next(line for line in page.next_steps if line.row.name == "oil drained")
    assert waiting.waits_for == "valve caps"
    names = [line.row.name for line in page.next_steps]
    assert names.index("valve caps") < names.index("oil drained")


def test_one_check_shows_every_reading_with_its_standing() -> None:
    state = small([yes("valve caps"), yes("valve caps", answer=0.0), Work("caps off")])
    state = more(state, StrikeOut(state.entries[1].id, "wrong machine"))
    page = check_page_of(ROW, state, "valve caps")
    assert [(r.words, r.standing) for r in page.readings] == [
        ("found wrong", "void"), ("done and found right", "struck out"),
    ]  # fmt: skip
    assert "caps off" in page.readings[0].note
    assert "wrong machine" in page.readings[1].note
    assert page.state == "stale"
    assert page.can_accept


def test_an_acceptance_that_no_longer_counts_is_still_shown() -> None:
    state = small([Acceptance("valve caps", "", "as last year"), yes("valve caps", answer=0.0)])
    page = check_page_of(ROW, state, "valve caps")
    assert page.state == "out"
    assert page.accepted is not None
    assert not page.accepted.counts
    assert page.accepted.reason == "as last year"


def test_a_check_marked_good_without_its_reading_stays_open_and_is_told() -> None:
    """A yes kept where a voltage is asked for: kept, shown, counts for nothing."""
    asked = '[[checks]]\nname = "coil feed"\nkind = "voltage"\nleast = "11 V"\n'
    state = small([yes("coil feed")], asked)
    page = check_page_of(ROW, state, "coil feed")
    assert page.state == "open"
    assert [r.standing for r in page.readings] == ["does not answer"]
    with pytest.raises(InputError, match="only by its reading"):
        simple_reading(engine_of(state), find_check(states_of(state), "coil feed").check, "yes")
    good = more(state, Reading("coil feed", "", 12.1, 12.1, "V", "12.1 V"))
    assert check_page_of(ROW, good, "coil feed").state == "good"


def test_an_unknown_check_or_place_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match="valve caps"):
        check_page_of(ROW, small(), "valve cap")
    with pytest.raises(InputError, match="not checked there"):
        check_page_of(ROW, small(), "spark", "plug7")


# -- fit to start ---------------------------------------------------------------------


def settled():
    state = small([yes("valve caps"), yes("oil drained")])
    return more(state, *(Acceptance(n, p, "seen") for n, p in names_required(state)))


def test_the_recorded_answer_holds_until_anything_under_it_changes() -> None:
    state = settled()
    kept = more(state, answer_of(state))
    page = fit_page_of(ROW, kept)
    assert page.yes
    assert page.recorded is not None
    assert page.recorded.holds
    assert fit_page_of(ROW, more(kept, Note("rain"))).recorded.holds
    for change in (LooseEndOpened("oil line off"), Work("caps off"), yes("valve caps")):
        assert not fit_page_of(ROW, more(kept, change)).recorded.holds


def test_an_accepted_loose_end_stays_visible_with_its_reason() -> None:
    state = more(settled(), LooseEndOpened("silencers off"))
    page = fit_page_of(ROW, state)
    assert not page.yes
    (end,) = state.open_loose_ends
    assert page.loose_ids == (end.id,)
    assert page.blockers[0].way_out
    accepted = fit_page_of(ROW, more(state, Acceptance("loose end", end.id, "open pipes today")))
    assert accepted.yes
    assert "open pipes today" in accepted.accepted[-1].text
    assert "accepted by a person" in accepted.answer


def test_an_acceptance_needs_a_reason() -> None:
    for reason in ("", "   "):
        with pytest.raises(InputError, match="reason"):
            Acceptance("spark", "plug1", reason)


def test_riding_asks_for_more_than_the_first_start() -> None:
    assert fit_page_of(ROW, settled()).yes
    page = fit_page_of(ROW, settled(), "riding")
    assert not page.yes
    assert "mirror" in [line.name for line in page.blockers]


# -- start card -----------------------------------------------------------------------

START = """
[start]
crank_for = "4 s"
rest_for = "60 s"
oil_within = "7 s"
oil_pressure = "1.5 bar"
charge = "13.5 V"
charge_at = "3000 rpm"
first_run = "2 min"
stop_at = "130 C"
"""


def test_figures_come_from_the_engine_file_and_say_so() -> None:
    card = start_card_of(ROW, small((), START))
    assert "4 seconds" in card.cranking.words
    assert "60 seconds" in card.cranking.words
    assert card.cranking.source == "engine file"
    kill = {line.sign: line for line in card.kill}
    assert kill["Oil pressure under 1.5 bar"].limit == "7 seconds after it fires"
    assert kill["It does not charge"].limit == "under 13.5 V at 3000 rpm"
    assert kill["Head or oil too hot"].limit == "at 130 °C"
    assert kill["Time is up"].limit == "after 2 minutes"
    assert all(kill[sign].source == "engine file" for sign in kill if "oil" in sign.lower())


def test_what_is_left_out_is_common_practice_and_says_so() -> None:
    card = start_card_of(ROW, small())
    practice = "common practice, no source"
    assert card.cranking.source == practice
    assert {line.source for line in card.kill} == {practice}
    half = start_card_of(ROW, small((), '[start]\ncrank_for = "4 s"\n'))
    assert half.cranking.source == f"engine file in part, else {practice}"


def test_a_machine_without_cold_start_is_not_told_to_use_it() -> None:
    words = " ".join(line.words for line in start_card_of(ROW, small()).positions)
    assert "No cold-start device" in words
    assert "Cold start on" not in words


def test_nothing_on_the_card_says_safe() -> None:
    card = start_card_of(ROW, settled())
    assert "safe" not in repr(card).lower()


# -- attempts and stopwatch -----------------------------------------------------------

ATTEMPT = "a" * 32


def touch(what: str, seconds: Any = 1.0, **more_: Any) -> dict[str, Any]:
    return {"id": new_id(), "attempt": ATTEMPT, "what": what, "seconds": seconds, "at": AT, **more_}


def test_every_button_keeps_its_entry() -> None:
    sent = [touch(b.key, n) for n, b in enumerate(BUTTONS)]
    found = observation_drafts(sent, small())
    assert not found.refused
    assert [d.body.outcome for d in found.drafts] == [b.words for b in BUTTONS]
    assert [d.body.detail["seconds"] for d in found.drafts] == list(map(float, range(len(BUTTONS))))
    assert {d.body.detail["attempt"] for d in found.drafts} == {ATTEMPT}
    assert len({b.key for b in BUTTONS}) == len({b.words for b in BUTTONS}) == len(BUTTONS)


def test_what_is_sent_twice_is_kept_once(tmp_path) -> None:
    with Store.open(tmp_path / "b") as store:
        build = store.create_build("x", "", AT, "t").id
        sent = [touch("fired", 3.21), touch("oil-out", 5.0)]
        for turn in (sent, [*sent, touch("drip", 9.0)], sent):
            drafts = observation_drafts([*turn, turn[0]], store.state(build)).drafts
            store.append(build, drafts, at=AT, by="phone")
        kept = store.state(build).start_attempts()
        assert [e.body.outcome for e in kept] == ["fired", "oil light out", "fuel drip"]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (touch("fierd"), "fired"),
        (touch("fired", -1.0), "0 to a day"),
        (touch("fired", 1e9), "0 to a day"),
        (touch("fired", float("nan")), "0 to a day"),
        (touch("fired", "3"), "number"),
        (touch("fired", True), "number"),
        (touch("fired", None), "seconds"),
        ({**touch("fired"), "id": "x"}, "id of an entry"),
        ({**touch("fired"), "at": "yesterday"}, "at"),
        ({**touch("fired"), "what": 3}, "no text"),
        ({**touch("fired"), "colour": "red"}, "no such part"),
        ("fired", "table of named values"),
    ],
)
def test_one_bad_touch_is_told_and_loses_no_other(wrong: Any, says: str) -> None:
    found = observation_drafts([touch("fired"), wrong, touch("drip")], small())
    assert [d.body.outcome for d in found.drafts] == ["fired", "fuel drip"]
    (refused,) = found.refused
    assert says in str(refused.error)


def test_another_touch_under_a_used_id_is_refused() -> None:
    first = touch("fired")
    found = observation_drafts([first, {**first, "what": "nothing"}], small())
    assert len(found.drafts) == 1
    assert "new id" in str(found.refused[0].error)
    kept = fold([Entry(first["id"], 99, "start attempt", AT, AT, "p", attempt_body("drip", 1.0))])
    assert not observation_drafts([first], kept).drafts


@pytest.mark.parametrize("posted", ["fired", {"what": "fired"}, 3, None])
def test_what_is_no_list_is_refused(posted: Any) -> None:
    with pytest.raises(InputError, match="list"):
        observation_drafts(posted, small())


def test_too_many_touches_are_refused() -> None:
    with pytest.raises(InputError, match="500"):
        observation_drafts([touch("fired")] * 501, small())


def test_touches_of_one_attempt_are_shown_together_in_their_order() -> None:
    sent = [touch("ran", 4.0), touch("oil-out", 6.5), touch("fired", 3.2)]
    state = more(small(), *(d.body for d in observation_drafts(sent, small()).drafts))
    (line,) = start_card_of(ROW, state).attempts
    assert line.outcome == "ran"
    assert line.seen == ("3.2 s fired", "4.0 s ran", "6.5 s oil light out")
    assert line.contradictions == ()
    assert stopwatch_page_of(ROW, state).attempts == (line,)


@pytest.mark.parametrize(("one", "other"), [("nothing", "fired"), ("oil-out", "oil-on")])
def test_contradicting_observations_are_said_and_both_kept(one: str, other: str) -> None:
    sent = [touch(one, 2.0), touch(other, 3.0)]
    state = more(small(), *(d.body for d in observation_drafts(sent, small()).drafts))
    (line,) = start_card_of(ROW, state).attempts
    assert len(line.seen) == 2
    assert button(one).words in line.contradictions[0]
    assert button(other).words in line.contradictions[0]
    apart = more(small(), StartAttempt("nothing"), StartAttempt("fired"))
    assert all(not a.contradictions for a in start_card_of(ROW, apart).attempts)


# -- loose ends -----------------------------------------------------------------------


def test_loose_ends_show_who_left_them_and_who_put_them_back() -> None:
    opened = more(small(), LooseEndOpened("Oil line off"), LooseEndOpened("silencers off"))
    page = loose_page_of(ROW, opened)
    assert [end.label for end in page.open] == ["Oil line off", "silencers off"]
    assert {end.label for end in page.common if end.open_already} == {
        "oil line off", "silencers off",
    }  # fmt: skip
    first = opened.open_loose_ends[0].id
    page = loose_page_of(ROW, more(opened, LooseEndClosed(first)))
    assert [end.label for end in page.closed] == ["Oil line off"]
    assert page.closed[0].closed_by == "test"


def test_a_loose_end_closed_by_two_phones_is_told_and_both_kept() -> None:
    opened = more(small(), LooseEndOpened("oil line off"))
    first = opened.open_loose_ends[0].id
    page = loose_page_of(ROW, more(opened, LooseEndClosed(first), LooseEndClosed(first)))
    assert "already closed" in page.conflicts[0]
    assert page.closed[0].again == ("test (entry 4)",)
    assert not page.open


def test_a_clock_set_back_is_told_on_the_page_of_all_checks() -> None:
    state = small([yes("valve caps")])
    early = Entry(new_id(), state.last_number + 1, "note", "2020-01-01T00:00:00Z",
                  "2020-01-01T00:00:00Z", "other phone", Note("late"))  # fmt: skip
    page = checks_page_of(ROW, fold([early], state))
    assert any("clock" in text for text in page.conflicts)
