"""What may be wrong: each cause comes first where it is the plain answer."""

from __future__ import annotations

import pytest
from support import four

from tickover.tasks.valves import (
    Circumstances,
    FittedShim,
    assess_valves,
    clearance_reading,
)

ENGINE = four()
MM = 1e-3


def best(clearances, circumstances=None, known="micrometer", engine=ENGINE):
    readings = {
        place: clearance_reading(engine, place, no_go="1.5 thou")
        if c is None
        else clearance_reading(engine, place, f"{c - 0.5}", f"{c + 0.5}", unit="thou")
        for place, c in clearances.items()
    }
    shims = {place: FittedShim(place, 2.60 * MM, known) for place in clearances}
    found = assess_valves(engine, readings, shims, circumstances=circumstances)
    return found


GOOD = {**{f"in{n}": 5 for n in range(1, 5)}, **{f"ex{n}": 7 for n in range(1, 5)}}


def test_nothing_wrong_when_all_is_good() -> None:
    found = best(GOOD)
    assert [e.what for e in found.explanations] == ["nothing wrong"]
    assert found.plan.changes == ()


def test_seat_work_in_the_book_makes_a_closed_valve_sit_deeper() -> None:
    worked = Circumstances(frozenset({"ex2"}), warm=False)
    first = best({**GOOD, "ex2": None}, worked).explanations[0]
    assert (first.what, first.places) == ("sits deeper", ("ex2",))
    assert first.probability > 0.8


def test_one_tight_valve_without_history_is_first_of_all_a_lobe_not_away() -> None:
    found = best({**GOOD, "ex2": None})
    assert found.explanations[0].what == "not on base circle"
    assert found.next_check.what == "read again with the lobe pointing away"
    assert found.next_check.places == ("ex2",)
    assert found.next_check.bits > 0.1


def test_all_valves_tight_alike_is_a_warm_engine() -> None:
    shifted = {place: c - 1.6 for place, c in GOOD.items()}
    found = best(shifted, Circumstances(warm=True))
    assert found.explanations[0].what == "not cold"


def test_all_valves_of_one_camshaft_off_alike_is_the_camshaft() -> None:
    shifted = {**GOOD, **{f"ex{n}": 7 + 8 for n in range(1, 5)}}
    found = best(shifted, Circumstances(warm=False))
    assert found.explanations[0].what == "whole camshaft"
    assert set(found.explanations[0].places) == {"ex1", "ex2", "ex3", "ex4"}


def test_an_absurd_reading_is_something_else_or_a_wrong_shim_never_an_exchange() -> None:
    found = best({**GOOD, "in2": 22})
    assert found.explanations[0].what in ("something else", "wrong shim", "not seating")
    assert not any(e.what == "transposed" for e in found.explanations)


def test_probabilities_are_probabilities() -> None:
    found = best({**GOOD, "ex2": None, "in3": 9})
    for item in found.explanations:
        assert 0 <= item.probability <= 1
        assert 0 <= item.probability_in_after <= 1


@pytest.mark.parametrize("warm", [True, False, None])
def test_saying_warm_raises_the_odds_of_warm(warm) -> None:
    found = best({**GOOD, "in1": 3.4, "in2": 3.4}, Circumstances(warm=warm))
    chance = sum(e.probability for e in found.explanations if e.what == "not cold")
    said_cold = best({**GOOD, "in1": 3.4, "in2": 3.4}, Circumstances(warm=False))
    cold = sum(e.probability for e in said_cold.explanations if e.what == "not cold")
    assert chance >= cold
