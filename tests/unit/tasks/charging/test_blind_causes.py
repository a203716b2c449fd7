"""Causes found on charging systems simulated otherwise than the tool thinks of them.

The full table is docs/tables/charging-blind.md, made by bench/blind_charging.py with another seed.
"""

import pytest
from support_charging import blind, readings, twin

from tickover.tasks.charging.causes import charging_causes

EACH = 4


@pytest.fixture(scope="module")
def found():
    return blind(seed=2711, each=EACH)


def test_four_in_five_are_named_first(found) -> None:
    right = sum(cause == told.first.key for cause, told, _ in found)
    assert right >= 0.8 * len(found)


def test_nineteen_in_twenty_are_named_among_the_first_three(found) -> None:
    near = sum(cause in {line.key for line in told.lines[:3]} for cause, told, _ in found)
    assert near >= 0.95 * len(found)


def test_what_it_is_sure_of_is_right(found) -> None:
    sure = [(cause, told) for cause, told, _ in found if told.first.probability > 0.85]
    assert len(sure) >= 0.6 * len(found)
    assert sum(cause == told.first.key for cause, told in sure) >= 0.9 * len(sure)


def test_it_asks_for_few_checks(found) -> None:
    assert sum(asked for _, _, asked in found) <= 3.5 * len(found)


def test_probabilities_are_a_distribution(found) -> None:
    for _, told, _ in found:
        assert sum(line.probability for line in told.lines) + told.unlisted == pytest.approx(1.0)


def test_regulator_and_rectifier_cannot_be_told_by_the_voltage_alone() -> None:
    engine = twin()
    told = charging_causes(engine, readings(engine, "battery at rest,,12.2 V",
                                      "charging voltage,,12.1 V,3000,25"))  # fmt: skip
    assert told.first.probability < 0.7
    assert told.alike
    assert told.next_checks


def test_void_readings_do_not_count() -> None:
    engine = twin()
    state = readings(engine, "charging voltage,,16.8 V,3000,25")
    assert charging_causes(engine, state).first.key == "regulator high"
    void = frozenset({("charging voltage", "3000 rpm")})
    assert charging_causes(engine, state, void).readings == 0


def test_the_same_readings_always_get_the_same_answer() -> None:
    engine = twin()
    state = readings(engine, "charging voltage,,13.2 V,3000,25")
    assert charging_causes(engine, state) == charging_causes(engine, state)


def test_a_single_winding_and_a_wound_rotor_have_answers_too() -> None:
    engine = twin()
    for change in ({"phases": 1}, {"rotor": "wound"}, {"connection": "delta"}):
        other = engine.model_copy(update={"charging": engine.charging.model_copy(update=change)})
        told = charging_causes(other, readings(other, "charging voltage,,16.8 V,3000,25"))
        assert told.first.key == "regulator high"
        assert told.next_checks


def test_one_low_winding_is_no_weak_rotor() -> None:
    engine = twin()
    rows = ("alternator volts,1-2,42 V,3000", "alternator volts,2-3,49 V,3000",
            "alternator volts,3-1,42.2 V,3000")  # fmt: skip
    told = charging_causes(engine, readings(engine, *rows))
    assert told.first.key == "winding shorted"
    assert told.first.probability > 0.8


def test_a_third_of_the_output_gone_with_even_windings_speaks_for_a_diode() -> None:
    engine = twin()
    pairs = ("1-2", "2-3", "3-1")
    told = charging_causes(engine, readings(
        engine, "battery at rest,,12.3 V,,", "winding to earth,,open,,",
        "charging voltage,,12.7 V,1200,25", "charging voltage,,13.2 V,3000,25",
        "charging voltage,,13.3 V,5000,25", *(f"alternator volts,{p},45 V,3000" for p in pairs),
        "charging feed drop,,0.05 V", "charging earth drop,,0.05 V",
    ))  # fmt: skip
    assert told.first.key == "diode open"
