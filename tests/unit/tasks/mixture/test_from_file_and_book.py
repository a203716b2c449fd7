"""Mixture and balance in engine file and book: set-ups, rounds, entries, checks, voids."""

from __future__ import annotations

from pathlib import Path

import pytest

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.fold import fold
from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import InputError
from tickover.plan.checks import check_states
from tickover.tasks import balance_book as balance
from tickover.tasks.mixture import in_book as mixture
from tickover.tasks.mixture.from_file import (
    has_mixture,
    machine_from_file,
    rack_from_file,
    setting_changed,
)
from tickover.tasks.quickline import understand_line

TRIPLE = load_engine_file(Path(__file__).parents[4] / "examples" / "engines" / "triple-240.toml")
BARE = parse_engine_file('[engine]\nname = "a"\nlayout = "single"\n', "a.toml")


def state(*bodies):
    return fold(entry(n, body) for n, body in enumerate(bodies, 1))


def entry(n, body):
    at = "2031-01-01T00:00:00Z"
    return Entry(f"{n:032x}", n, body.kind, at, at, "x", body)


def line(text):
    return understand_line(TRIPLE, text).body


def said(*texts):
    return state(*(line(text) for text in texts))


def words(states, name):
    return next((s.state for s in states if s.check.name == name), None)


GOOD = ("mixture idle 1150 0.90", "mixture 1/4 5000 0.92", "mixture 1/2 6500 0.90",
        "mixture 3/4 7200 0.86", "mixture full 7800 0.83", "mixture full 5000 0.85")  # fmt: skip


def test_the_machine_of_an_engine_file_and_what_it_assumes():
    file = machine_from_file(TRIPLE)
    assert has_mixture(TRIPLE)
    assert file.machine.drawer.carburettors == 3
    assert file.fitted.main_jet == pytest.approx(1.08e-3)
    assert file.known_good is not None
    assert file.known_good[0].main_jet == pytest.approx(0.98e-3)
    assert any("pilot air jet" in a for a in file.assumed)
    # 61 by 61.5 mm: 179.7 cm3.
    assert file.machine.engine.swept == pytest.approx(179.7e-6, rel=1e-3)


def test_what_is_fitted_counts_as_owned():
    drawer = machine_from_file(TRIPLE).machine.drawer
    assert next(j for j in drawer.mains if j.mark == "108").owned == 3


def test_a_file_that_says_too_little_says_what_is_missing():
    assert not has_mixture(BARE)
    with pytest.raises(InputError, match="says nothing of carburettors"):
        machine_from_file(BARE)
    text = '[engine]\nname = "a"\nlayout = "single"\nbore = "61 mm"\nstroke = "61 mm"\n'
    with pytest.raises(InputError, match="without bore"):
        machine_from_file(parse_engine_file(text + "[carburettors]\n", "a"))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"main": "107"}, "no main jet of this size"),
        ({"clip": "7"}, "no such clip groove"),
        ({"needle": "N7"}, "N1, N2"),
        ({"cutaway": "3.0"}, "2.5 mm"),
        ({"wheel": "3"}, "pilot, main, screw"),
        ({"screw": "40"}, "Screw turns"),
    ],
)
def test_a_setting_nobody_can_fit_is_refused(changes, says):
    file = machine_from_file(TRIPLE)
    with pytest.raises(InputError, match=says):
        setting_changed(file.fitted, file.machine.drawer, changes)


def test_jets_changed_begin_a_new_round_and_readings_belong_to_theirs():
    file = machine_from_file(TRIPLE)
    first = state(line("mixture full 7800 0.80"))
    works, after = mixture.setting_entries(mixture.mixture_book(TRIPLE, first), {"main": "102"})
    book = mixture.mixture_book(
        TRIPLE,
        state(line("mixture full 7800 0.80"), *works, line("mixture full 7800 0.86"),
              line("mixture 1/2 6500 0.9")),
    )  # fmt: skip
    assert [len(r.readings) for r in book.rounds] == [1, 2]
    assert book.rounds[0].setting == file.fitted
    assert book.rounds[1].setting == after == book.setting


def test_each_kind_of_change_is_its_own_entry_so_that_it_voids_its_own():
    book = mixture.mixture_book(TRIPLE, state(line("mixture full 7800 0.80")))
    works, _ = mixture.setting_entries(
        book, {"main": "102", "clip": "4", "screw": "2", "pilot": "38"}
    )
    assert {w.what for w in works} == {"jets changed", "needle moved", "mixture screw set"}
    jets = next(w for w in works if w.what == "jets changed")
    assert dict(jets.detail) == {"main": "102"}
    with pytest.raises(InputError, match="Nothing is different"):
        mixture.setting_entries(book, {"main": "108"})


def test_filter_baffles_and_height_begin_a_round_in_another_air():
    book = mixture.mixture_book(
        TRIPLE,
        state(
            line("mixture full 7800 0.80"),
            mixture.trim_entry("air filter changed", "open"),
            line("mixture full 7800 0.95"),
            mixture.trim_entry("height changed", "1500 m"),
            mixture.trim_entry("baffles changed", "out"),
            line("mixture full 7800 0.85"),
        ),
    )
    assert [t.altitude for t in book.trims] == [200.0, 200.0, 1500.0]
    assert [t.box_depression > 0 for t in book.trims] == [True, False, False]
    assert [t.baffles for t in book.trims] == [True, True, False]
    assert book.rounds[2].air.density < 0.9 * book.rounds[1].air.density


@pytest.mark.parametrize(
    ("what", "typed"),
    [("baffles changed", "maybe"), ("air filter changed", "big"), ("height changed", "9000 m"),
     ("colour changed", "red")],
)  # fmt: skip
def test_a_change_of_air_that_says_nothing_is_refused(what, typed):
    with pytest.raises(InputError):
        mixture.trim_entry(what, typed)


def test_a_struck_out_reading_drops_out_of_its_round():
    from tickover.book.bodies import StrikeOut

    entries = [entry(1, line("mixture full 7800 0.80")), entry(2, line("mixture full 7800 1.3"))]
    entries.append(entry(3, StrikeOut(entries[1].id, "cold sensor")))
    book = mixture.mixture_book(TRIPLE, fold(entries))
    assert [r.lam for r in book.rounds[0].readings] == [0.80]


def test_the_check_is_open_then_judged_then_stale_after_other_jets():
    before = check_states(TRIPLE, state())
    assert words(before, mixture.CHECK) == "open"
    read = [line(text) for text in GOOD]
    assert words(check_states(TRIPLE, state(*read)), mixture.CHECK) in ("good", "undecided")
    works, _ = mixture.setting_entries(mixture.mixture_book(TRIPLE, state(*read)), {"main": "102"})
    assert words(check_states(TRIPLE, state(*read, *works)), mixture.CHECK) == "stale"
    for what, typed in (("air filter changed", "open"), ("height changed", "1500 m")):
        changed = state(*read, mixture.trim_entry(what, typed))
        assert words(check_states(TRIPLE, changed), mixture.CHECK) == "stale"


def test_pinking_makes_the_check_out():
    assert words(check_states(TRIPLE, said("mixture full pinking")), mixture.CHECK) == "out"


def test_rich_at_full_throttle_is_good_and_readings_below_it_prove_nothing():
    assert words(check_states(TRIPLE, said("mixture 1/4 5000 0.9")), mixture.CHECK) == "open"
    rich = said("mixture 3/4 7000 0.78", "mixture full 7800 0.76", "mixture 1/2 6500 0.8",
                "mixture full 4500 0.80", "mixture 1/2 4500 0.82")  # fmt: skip
    assert words(check_states(TRIPLE, rich), mixture.CHECK) == "good"


def test_a_bare_engine_has_no_mixture_checks():
    names = {s.check.name for s in check_states(BARE, state())}
    assert mixture.CHECK not in names
    assert balance.CHECK not in names


@pytest.mark.parametrize(
    ("text", "lam", "word", "speed"),
    [
        ("mixture 1/4 5200 0.93", 0.93, "", 5200.0),
        ("mixture full pinking", None, "pinking", 9000.0),
        ("mixture 50 % 6500 rpm 13.5 AFR", 13.5 / 14.58, "", 6500.0),
        ("mixture idle hanging idle", None, "hanging idle", 1200.0),
    ],
)
def test_short_lines_for_mixture(text, lam, word, speed):
    body = line(text)
    assert isinstance(body, Reading)
    assert body.conditions["speed_rpm"] == speed
    assert body.conditions.get("word", "") == word
    if lam is not None:
        assert body.low == pytest.approx(lam, rel=1e-3)


@pytest.mark.parametrize(
    "text", ["mixture", "mixture 1/4", "mixture 1/4 5200 13.2", "mixture 200 % 0.9"]
)
def test_short_lines_that_cannot_be_meant_are_refused(text):
    with pytest.raises(InputError):
        line(text)


def test_the_rack_of_the_file_or_a_row():
    assert [s.name for s in rack_from_file(TRIPLE).screws] == ["screw 2-1", "screw 2-3"]
    with pytest.raises(InputError, match="nothing to balance"):
        rack_from_file(BARE)


def test_a_look_is_complete_when_every_gauge_was_read_since_the_last_turn():
    book = balance.balance_book(TRIPLE, said("vacuum 1 22 cmHg", "vacuum 2 24 cmHg"))
    assert book.missing == ("carb3",)
    with pytest.raises(InputError, match="carb3"):
        balance.book_balance(book)
    full = said("vacuum 1 20 cmHg", "vacuum 2 24 cmHg", "vacuum 3 24 cmHg")
    found = balance.book_balance(balance.balance_book(TRIPLE, full))
    assert found.screw == "screw 2-1"
    assert found.turns < 0  # carburettor 1 pulls less: its slide is too high, out


def test_turn_and_look_teach_the_gain():
    texts = ("vacuum 1 20 cmHg", "vacuum 2 25 cmHg", "vacuum 3 25 cmHg")
    first = balance.book_balance(balance.balance_book(TRIPLE, said(*texts)))
    again = (*texts, "turned 2-1 out 1/4", "vacuum 1 21 cmHg", "vacuum 2 25 cmHg",
             "vacuum 3 25 cmHg")  # fmt: skip
    second = balance.book_balance(balance.balance_book(TRIPLE, said(*again)))
    # One centimetre for a quarter turn is 5.3 kPa a turn; gauges read to 0.35 kPa leave some of
    # what was believed before.
    assert 5333.0 < second.gain["screw 2-1"] < 7500.0 < first.gain["screw 2-1"]


def test_two_screws_turned_before_one_look_teach_nothing():
    texts = ("vacuum 1 20 cmHg", "vacuum 2 25 cmHg", "vacuum 3 29 cmHg", "turned 2-1 out 1/4",
             "turned 2-3 in 1/4", "vacuum 1 24 cmHg", "vacuum 2 25 cmHg",
             "vacuum 3 28 cmHg")  # fmt: skip
    book = balance.balance_book(TRIPLE, said(*texts))
    assert [look.turned for look in book.rounds] == ["", ""]
    fresh = balance.book_balance(balance.balance_book(TRIPLE, said(*texts[:3])))
    assert balance.book_balance(book).gain == fresh.gain


def test_a_gauge_read_again_corrects_the_look_without_a_turn():
    texts = ("vacuum 1 20 cmHg", "vacuum 2 25 cmHg", "vacuum 3 25 cmHg", "vacuum 1 25 cmHg")
    book = balance.balance_book(TRIPLE, said(*texts))
    assert len(book.rounds) == 1
    assert balance.book_balance(book).balanced


def test_a_tight_valve_in_the_book_speaks_against_the_screw():
    texts = ("in3 no gap 0.04 mm", "vacuum 1 25 cmHg", "vacuum 2 25 cmHg", "vacuum 3 22 cmHg")
    found = balance.book_balance(balance.balance_book(TRIPLE, said(*texts)))
    assert any("carb3" in s and "in3" in s for s in found.suspicions)


def test_an_air_leak_in_the_book_speaks_for_the_carburettor_that_pulls_less():
    gauges = ("vacuum 1 25 cmHg", "vacuum 2 25 cmHg", "vacuum 3 22 cmHg")
    for answer, told in (("no", True), ("yes", False)):
        texts = (f"check air leaks {answer}", *gauges)
        found = balance.book_balance(balance.balance_book(TRIPLE, said(*texts)))
        leaks = [s for s in found.suspicions if "air leaks" in s]
        assert bool(leaks) is told
        assert all("carb3" in s for s in leaks)


def test_balance_goes_from_open_to_good_to_stale():
    even = [line(t) for t in ("vacuum 1 25 cmHg", "vacuum 2 25 cmHg", "vacuum 3 24.5 cmHg")]
    assert words(check_states(TRIPLE, state()), balance.CHECK) == "open"
    assert words(check_states(TRIPLE, state(*even)), balance.CHECK) == "good"
    off = Work("carburettors off")
    assert words(check_states(TRIPLE, state(*even, off)), balance.CHECK) == "stale"
    turned = line("turned 2-1 in 1/8")
    assert words(check_states(TRIPLE, state(*even, turned)), balance.CHECK) == "undecided"


@pytest.mark.parametrize(
    "text",
    ["vacuum 4 22 cmHg", "vacuum 1", "vacuum 1 200 kPa", "turned 1-2 in 1/4", "turned 2-1",
     "turned 2-1 in 0", "turned 2-1 in 40"],
)  # fmt: skip
def test_gauges_and_turns_that_cannot_be_are_refused(text):
    with pytest.raises(InputError):
        line(text)
