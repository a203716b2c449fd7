"""Truth tables and resistance tables: which wire, contact or joint is wrong."""

import pytest
from support_charging import readings, twin

from tickover.book.bodies import Reading
from tickover.errors import EngineFileError
from tickover.tasks.answers import check_reading, find_check, proving_checks
from tickover.tasks.charging import findings
from tickover.tasks.charging.contacts import contact_readings, diagnose
from tickover.tasks.charging.senders import diagnose_sender
from tickover.tasks.scratch import scratch_state

LIGHT = """
[[contacts]]
name = "light switch"
terminals = ["battery", "tail", "head"]
positions = ["off:", "park: battery-tail", "on: battery-tail-head"]
"""
FUEL = """
[[senders]]
name = "fuel sender"
kind = "fuel"
marks = ["full: 4..10 ohm", "half: 28..36 ohm", "empty: 85..95 ohm"]
"""


def ticked(engine, *lines):
    every = proving_checks(engine)
    bodies: list[Reading] = [check_reading(engine, *find_check(every, line)) for line in lines]
    return scratch_state(bodies)


def test_a_wire_off_is_told_from_a_burnt_contact() -> None:
    engine = twin(LIGHT)
    switch = engine.contacts[0]
    state = ticked(
        engine,
        "switch contacts light switch, on, battery to head no",
        "switch contacts light switch, on, tail to head no",
        "switch contacts light switch, on, battery to tail yes",
    )
    found = diagnose(switch, contact_readings(engine, state, switch))
    assert "head" in found.causes[0][0]
    assert len(found.wrong) == 2
    # head is joined in one position only: wire and contact look alike whatever is ticked
    assert "does not close" in found.causes[0][0]


def test_an_open_question_names_the_tick_that_answers_it() -> None:
    engine = twin(LIGHT)
    switch = engine.contacts[0]
    found = diagnose(switch, {("park", "battery", "tail"): False})
    assert len([c for c in found.causes if c[1] > 0.05]) > 2
    assert found.next_tick
    assert found.next_tick != "park, battery to tail"


def test_ticks_are_findings() -> None:
    engine = twin(LIGHT)
    state = ticked(engine, "switch contacts light switch, off, battery to tail no")
    assert [f.state for f in findings(engine, state)] == ["out"]


def test_a_contact_no_switch_has_is_refused() -> None:
    with pytest.raises(EngineFileError) as refused:
        twin(LIGHT.replace('"park: battery-tail"', '"park: battery-horn"'))
    assert "horn" in str(refused.value)


def test_one_resistance_in_series_is_told_from_a_worn_spot() -> None:
    engine = twin(FUEL)
    sender = engine.senders[0]
    series = ticked(
        engine,
        "sender resistance fuel sender, full 37 ohm",
        "sender resistance fuel sender, half 62 ohm",
        "sender resistance fuel sender, empty 120 ohm",
    )
    worn = ticked(
        engine,
        "sender resistance fuel sender, full 7 ohm",
        "sender resistance fuel sender, half 62 ohm",
        "sender resistance fuel sender, empty 90 ohm",
    )
    assert "same amount" in diagnose_sender(engine, series, sender).causes[0][0]
    assert "wrong at half alone" in diagnose_sender(engine, worn, sender).causes[0][0]


def test_a_sound_sender_is_found_sound() -> None:
    engine = twin(FUEL)
    state = ticked(engine, "sender resistance fuel sender, full 7 ohm",
                   "sender resistance fuel sender, half 32 ohm")  # fmt: skip
    assert diagnose_sender(engine, state, engine.senders[0]).causes[0][0] == "nothing wrong"
    assert {f.state for f in findings(engine, state)} == {"good"}


def test_a_mark_that_reads_like_another_says_so() -> None:
    engine = twin(FUEL)
    state = ticked(engine, "sender resistance fuel sender, full 90 ohm")
    assert "reads like empty" in findings(engine, state)[0].text


def test_a_sender_open_everywhere_is_a_wire() -> None:
    engine = twin(FUEL)
    state = ticked(engine, "sender resistance fuel sender, full open")
    assert "wire off" in diagnose_sender(engine, state, engine.senders[0]).causes[0][0]


def test_readings_of_charging_and_switches_stand_side_by_side() -> None:
    engine = twin(LIGHT, FUEL)
    assert not findings(engine, readings(engine))


def test_a_wire_off_in_two_positions_is_no_contact() -> None:
    engine = twin(LIGHT.replace('"off:"', '"off: battery-head"'))
    switch = engine.contacts[0]
    seen = {
        (position, one, other): switch.joins(position, one, other) and "head" not in (one, other)
        for position, _ in switch.positions
        for one, other in switch.pairs
    }
    found = diagnose(switch, seen)
    assert found.causes[0][0].startswith("the wire of head is off")
    assert found.causes[0][1] > 0.8
