"""The fold: what counts, what is struck out, what contradicts."""

import time

import pytest

from tickover.book.entries import (
    Acceptance,
    Answer,
    EngineFileKept,
    Entry,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Picture,
    Reading,
    StartAttempt,
    StockChanged,
    StrikeOut,
    Unknown,
    Work,
)
from tickover.book.fold import State, fold
from tickover.errors import InputError

AT = "2031-04-05T18:30:00Z"


def name(number):
    return f"{number:032x}"


def entry(number, body, *, by="Ada", at=AT):
    return Entry(name(number), number, body.kind, at, at, by, body)


def book(*bodies):
    return [entry(number, body) for number, body in enumerate(bodies, 1)]


def clearance(place, low):
    return Reading("clearance", place, low, low, "m", "")


def strike(number):
    return StrikeOut(name(number), "typo")


def numbers(entries):
    return [e.number for e in entries]


def test_nothing_folds_to_an_empty_state():
    state = fold([])
    assert state == State()
    assert (state.last_number, state.entries, state.conflicts, state.engine_text) == (0, (), (), "")
    assert state.engine_file is None
    assert state.latest("clearance", "in1") is None


def test_readings_by_what_and_place():
    compression = Reading("compression", "cyl1", 1e6, 1e6, "Pa", "10 bar")
    state = fold(
        book(clearance("in1", 1e-4), clearance("ex1", 2e-4), compression, clearance("in1", 3e-4))
    )
    assert numbers(state.readings()) == [1, 2, 3, 4]
    assert numbers(state.readings("clearance")) == [1, 2, 4]
    assert numbers(state.readings("clearance", "in1")) == [1, 4]
    assert numbers(state.readings(place="ex1")) == [2]
    assert state.readings("clearance", "in9") == ()
    assert state.latest("clearance", "in1").body.low == 3e-4


def test_a_reading_struck_out_counts_for_nothing_and_stays_visible():
    state = fold(book(clearance("in1", 1e-4), clearance("in1", 9e-4), strike(2)))
    assert numbers(state.readings("clearance", "in1")) == [1]
    assert state.latest("clearance", "in1").number == 1
    assert numbers(state.struck) == [2]
    assert numbers(state.live) == [1, 3]
    assert numbers(state.entries) == [1, 2, 3]
    assert state.is_struck(name(2))
    assert numbers(state.struck_by(name(2))) == [3]


def test_a_strike_out_can_be_struck_out_itself():
    state = fold(book(clearance("in1", 1e-4), strike(1), strike(2)))
    assert not state.is_struck(name(1))
    assert numbers(state.struck) == [2]
    again = fold([entry(4, strike(3))], state)
    assert numbers(again.struck) == [1, 3]
    assert numbers(state.struck) == [2], "the state before is as it was"


def test_struck_out_twice_is_a_conflict_and_needs_two_to_come_back():
    twice = book(clearance("in1", 1e-4), strike(1), strike(1))
    state = fold(twice)
    assert [(c.kind, c.entry.number, c.about.number) for c in state.conflicts] == [
        ("already struck out", 3, 2)
    ]
    one_back = fold([entry(4, strike(2))], state)
    assert one_back.is_struck(name(1))
    assert one_back.conflicts == ()
    assert not fold([entry(5, strike(3))], one_back).is_struck(name(1))


def test_a_loose_end_closed_twice_keeps_both_and_says_so():
    opened = LooseEndOpened("oil line off", "oil")
    state = fold(
        [
            entry(1, opened),
            entry(2, LooseEndOpened("silencers off")),
            entry(3, LooseEndClosed(name(1)), by="Ada"),
            entry(4, LooseEndClosed(name(1)), by="Bo"),
        ]
    )
    first, second = state.loose_ends
    assert (first.closed.by, numbers(first.closed_again)) == ("Ada", [4])
    assert second.is_open
    assert state.open_loose_ends == (second,)
    assert state.closed_loose_ends == (first,)
    (conflict,) = state.conflicts
    assert (conflict.kind, conflict.entry.number, conflict.about.number) == ("already closed", 4, 3)
    assert "Ada" in conflict.text
    assert "Bo" in conflict.text


def test_striking_out_the_closing_opens_a_loose_end_again():
    bodies = [LooseEndOpened("oil line off"), LooseEndClosed(name(1)), strike(2)]
    assert len(fold(book(*bodies)).open_loose_ends) == 1
    assert len(fold(book(*bodies, strike(3))).closed_loose_ends) == 1
    assert fold(book(*bodies[:1], strike(1))).loose_ends == ()


def test_the_second_closing_counts_when_the_first_is_struck_out():
    state = fold(
        book(LooseEndOpened("x"), LooseEndClosed(name(1)), LooseEndClosed(name(1)), strike(2))
    )
    assert state.loose_ends[0].closed.number == 3
    assert state.conflicts == ()


def test_references_to_nothing_are_kept_and_flagged():
    state = fold(
        book(
            Note("x"),
            strike(99),
            LooseEndClosed(name(98)),
            LooseEndClosed(name(1)),
            strike(5),
            strike(7),
            Note("later"),
        )
    )
    assert [(c.kind, c.entry.number) for c in state.conflicts] == [
        ("unknown entry", 2),
        ("unknown entry", 3),
        ("not a loose end", 4),
        ("unknown entry", 5),
        ("unknown entry", 6),
    ]
    assert state.struck == ()
    assert not state.is_struck(name(7)), "a strike-out never reaches forward"


def test_a_clock_set_back_is_flagged_and_order_goes_by_number():
    late, early = "2031-04-05T18:30:00Z", "2001-01-01T00:00:00Z"
    state = fold(
        [
            entry(1, clearance("in1", 1e-4), at=late),
            entry(2, clearance("in1", 2e-4), at=early),
            entry(3, clearance("in1", 3e-4), at="2001-01-01T00:01:00Z"),
        ]
    )
    assert state.latest("clearance", "in1").number == 3
    assert [(c.kind, c.entry.number) for c in state.conflicts] == [("clock set back", 2)]
    near = [entry(1, Note("x"), at="2031-04-05T18:30:30Z"), entry(2, Note("y"), at=late)]
    assert fold(near).conflicts == (), "two machines half a minute apart are no conflict"


def test_work_by_what_and_place():
    state = fold(
        book(
            Work("shims changed", ("in1", "in2")),
            Work("head off", ("cyl1",)),
            Work("shims changed", ("ex1",)),
        )
    )
    assert numbers(state.works()) == [1, 2, 3]
    assert numbers(state.works("shims changed")) == [1, 3]
    assert numbers(state.works("shims changed", "in2")) == [1]
    assert numbers(state.works(place="cyl1")) == [2]


def test_the_newest_acceptance_of_each_check_and_place_counts():
    state = fold(
        book(
            Acceptance("clearance", "in1", "a"),
            Acceptance("clearance", "in2", "b"),
            Acceptance("clearance", "in1", "c"),
        )
    )
    assert numbers(state.acceptances) == [2, 3]
    assert state.acceptance("clearance", "in1").body.reason == "c"
    assert state.acceptance("spark") is None
    back = fold([entry(4, strike(3))], state)
    assert back.acceptance("clearance", "in1").body.reason == "a"


def test_answers_attempts_notes_and_pictures():
    sha = "ab" * 32
    state = fold(
        book(
            Answer("fit to start", "no"),
            Answer("fit to start", "yes", sha),
            StartAttempt("coughed"),
            Note("n"),
            Picture(sha, "image/png", "", "in1"),
            Unknown("sound heard", {"rpm": 900}),
        )
    )
    assert state.answer("fit to start").body.answer == "yes"
    assert numbers(state.answers()) == numbers(state.answers("fit to start")) == [1, 2]
    assert numbers(state.start_attempts()) == [3]
    assert numbers(state.notes()) == [4]
    assert numbers(state.pictures("in1")) == numbers(state.pictures()) == [5]
    assert state.pictures("in2") == ()
    assert state.entry(name(6)).body.data["rpm"] == 900


def test_the_engine_file_is_the_latest_that_counts():
    state = fold(book(EngineFileKept("a = 1"), EngineFileKept("a = 2")))
    assert state.engine_text == "a = 2"
    assert fold([entry(3, strike(2))], state).engine_text == "a = 1"


def test_stock_is_counted_by_size_and_how_it_is_known():
    state = fold(
        book(
            StockChanged("shim", 2.65e-3, "m", 3, 9.5, "mark"),
            StockChanged("shim", 2.60e-3, "m", 1, None, "mark"),
            StockChanged("shim", 2.65e-3, "m", -1, None, "mark"),
            StockChanged("shim", 2.65e-3, "m", 1, None, "micrometer"),
            StockChanged("shim", 2.60e-3, "m", 0, 8.0, "mark"),
            StockChanged("main jet", 120.0, "", 4),
            StockChanged("head gasket", None, "", 1, 30.0),
        )
    )
    rows = [(r.size, r.known_by, r.price, r.count) for r in state.stock("shim")]
    assert rows == [
        (2.60e-3, "mark", 8.0, 1),
        (2.65e-3, "mark", 9.5, 2),
        (2.65e-3, "micrometer", None, 1),
    ]
    assert [(r.size, r.count) for r in state.stock("head gasket")] == [(None, 1)]
    assert state.stock("fuse") == ()
    assert state.conflicts == ()


def test_taking_out_what_is_not_there_is_flagged():
    state = fold(book(StockChanged("shim", 2.6e-3, "m", 1), StockChanged("shim", 2.6e-3, "m", -2)))
    assert [(c.kind, c.entry.number) for c in state.conflicts] == [("less than none", 2)]
    assert state.stock("shim")[0].count == -1


def test_an_entry_folded_twice_is_folded_once():
    entries = book(Note("a"), Note("b"))
    state = fold(entries)
    assert fold(entries, state) == state
    assert fold(entries + entries[:1]) == state


def test_a_state_given_to_fold_stays_as_it_was():
    first = fold(book(Note("a"), clearance("in1", 1e-4)))
    fold([entry(3, Note("b")), entry(4, clearance("in1", 2e-4)), entry(5, strike(2))], first)
    assert numbers(first.notes()) == [1]
    assert numbers(first.readings("clearance", "in1")) == [2]


def test_numbers_must_rise():
    with pytest.raises(InputError, match="in order"):
        fold([entry(2, Note("b")), entry(1, Note("a"))])


def test_a_state_cannot_be_changed():
    state = fold(book(Note("a")))
    with pytest.raises(AttributeError):
        state.entries = ()
    with pytest.raises(AttributeError):
        state.anything = 1


def test_a_long_line_of_strike_outs_of_strike_outs_is_followed_to_its_end():
    bodies = [Note("x")] + [strike(number) for number in range(1, 2001)]
    state = fold(book(*bodies))
    assert not state.is_struck(name(1)), "an even number of strike-outs gives it back"
    assert len(state.struck) == 1000


def test_ten_thousand_entries_fold_quickly_and_one_more_at_once():
    entries = book(*(clearance(f"in{i % 12}", i * 1e-7) for i in range(10_001)))
    times = []
    for _ in range(3):
        start = time.process_time()
        state = fold(entries[:-1])
        times.append(time.process_time() - start)
    start = time.process_time()
    fold(entries[-1:], state)
    one = time.process_time() - start
    assert min(times) < 0.150
    assert one < 0.005
