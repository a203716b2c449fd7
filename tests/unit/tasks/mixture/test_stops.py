"""Pinking, or lean at full throttle, stops the advice, and goes on stopping until it is cured."""

from __future__ import annotations

import numpy as np
import pytest
from support_mixture import blind

from tickover.tasks.mixture import Machine, Reading, Round, advice_json, advise
from tickover.tasks.mixture.readings import SIGNS, parse_sign
from tickover.tasks.mixture.stops import stop_in
from tickover.tasks.mixture.target import Target

BENCH = blind.bench(np.random.default_rng(21))
MACHINE = Machine(BENCH.carburettor, BENCH.engine, BENCH.drawer)
RICHER = BENCH.fitted.with_(main_jet=BENCH.drawer.mains[-1].bore)


def word(opening, text):
    return Reading(opening, 7000.0, sign=parse_sign(text))


def number(opening, lam):
    return Reading(opening, 7000.0, lam=lam)


LEAN_WORDS = [s.word for s in SIGNS if s.verdict == "lean"]


@pytest.mark.parametrize("text", LEAN_WORDS)
@pytest.mark.parametrize("opening", [0.7, 0.85, 1.0])
def test_every_lean_word_at_full_throttle_stops(text, opening):
    assert stop_in([Round(BENCH.fitted, (word(opening, text),))], Target()) is not None


@pytest.mark.parametrize("opening", [0.0, 0.25, 0.5, 1.0])
def test_pinking_stops_wherever_it_is_heard(opening):
    stop = stop_in([Round(BENCH.fitted, (word(opening, "pinking"),))], Target())
    assert stop is not None
    assert "Pinking" in stop.why
    assert any("ignition timing" in look for look in stop.look_first)


def test_a_number_that_lean_stops_and_a_rich_one_does_not():
    assert stop_in([Round(BENCH.fitted, (number(1.0, 1.02),))], Target()) is not None
    assert stop_in([Round(BENCH.fitted, (number(1.0, 0.90),))], Target()) is None
    assert stop_in([Round(BENCH.fitted, (word(0.25, "lean"),))], Target()) is None


def test_other_jets_alone_are_no_proof_of_a_cure():
    first = Round(BENCH.fitted, (word(1.0, "lean"),))
    changed = Round(RICHER, (word(0.25, "about right"),))
    stop = stop_in([first, changed], Target())
    assert stop is not None
    assert "earlier round" in stop.why


def test_the_same_place_read_good_with_other_jets_ends_the_stop():
    first = Round(BENCH.fitted, (word(1.0, "lean"),))
    assert stop_in([first, Round(RICHER, (word(0.9, "about right"),))], Target()) is None
    assert stop_in([first, Round(RICHER, (number(1.0, 0.88),))], Target()) is None
    assert stop_in([first, Round(RICHER, (number(1.0, 0.97),))], Target()) is not None
    # Read good with the same jets: two readings that disagree cure nothing.
    assert stop_in([first, Round(BENCH.fitted, (word(1.0, "about right"),))], Target()) is not None


def test_the_advice_is_silent_and_says_stop_first():
    rows = (word(1.0, "pinking"), number(0.25, 0.95), number(0.5, 0.97))
    told = advice_json(advise(MACHINE, [Round(BENCH.fitted, rows)]))
    assert next(iter(told)) == "stop"
    assert told["stop"]["why"].startswith("Pinking")
    assert told["advice"] == []
    assert told["lambda_after"] == told["lambda_before"]


def test_after_a_stop_the_way_back_starts_two_main_jets_richer_at_least():
    mains = [jet.mark for jet in BENCH.drawer.mains]
    middle = BENCH.fitted.with_(main_jet=BENCH.drawer.mains[8].bore)
    advice = advise(MACHINE, [Round(middle, (word(1.0, "lean"),))])
    steps = {s.what: s for s in advice.richer}
    assert mains.index(steps["main jet"].to) >= 10
    assert set(steps) <= {"main jet", "clip"}
    if "clip" in steps:
        assert steps["clip"].to > steps["clip"].was
