"""Charging: what must hold for any numbers."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tickover.engine.tables.charging import Charging
from tickover.engine.tables.contacts import ContactTable
from tickover.physics.charging import (
    bridge_voltage,
    charge_left,
    charging_window,
    output_current,
    standing_time,
)
from tickover.physics.threephase import pair_resistances, phase_resistances, unevenness
from tickover.tasks.charging.contacts import diagnose, switch_faults
from tickover.tasks.charging.symmetry import evenness

ohms = st.floats(0.05, 20.0)
volts = st.floats(0.0, 200.0)


@given(ohms, ohms, ohms, st.sampled_from(["star", "delta"]))
def test_phases_come_back_from_pairs(a, b, c, connection) -> None:
    back = phase_resistances(pair_resistances((a, b, c), connection), connection)
    assert back == pytest.approx((a, b, c), rel=1e-6)


@given(ohms, ohms, ohms, st.sampled_from(["star", "delta"]))
def test_renaming_the_wires_renames_the_pairs(a, b, c, connection) -> None:
    ab, bc, ca = pair_resistances((a, b, c), connection)
    assert pair_resistances((b, c, a), connection) == pytest.approx((bc, ca, ab), rel=1e-12)


@given(volts, volts, st.floats(0.0, 1.0), st.sampled_from([1, 3]))
def test_more_ac_never_gives_less_dc(a, b, drop, phases) -> None:
    low, high = sorted((a, b))
    assert bridge_voltage(low, drop, phases) <= bridge_voltage(high, drop, phases)


@given(st.floats(240.0, 340.0), st.floats(240.0, 340.0))
def test_a_colder_battery_never_wants_less(a, b) -> None:
    cold, warm = sorted((a, b))
    assert charging_window(13.8, 14.6, cold).low >= charging_window(13.8, 14.6, warm).low


@given(st.floats(11.5, 13.0), st.floats(11.5, 13.0), st.floats(260.0, 320.0))
def test_more_rest_voltage_is_never_less_charge(a, b, temperature) -> None:
    low, high = sorted((a, b))
    empty, full = (
        charge_left(low, temperature=temperature),
        charge_left(high, temperature=temperature),
    )
    assert empty.low <= full.low
    assert empty.high <= full.high


@given(st.floats(1e3, 1e6), st.floats(1e-4, 5.0), st.floats(1e-4, 5.0))
def test_more_drain_never_lasts_longer(capacity, a, b) -> None:
    low, high = sorted((a, b))
    assert standing_time(capacity, high).high <= standing_time(capacity, low).low * (1 + 1e-12)


@given(st.floats(1.0, 40.0), st.floats(5.0, 40.0), st.floats(0.0, 300.0), st.floats(0.0, 300.0))
def test_output_rises_with_speed_and_stays_below_its_most(most, cut_in, a, b) -> None:
    slow, fast = sorted((a, b))
    assert 0.0 <= output_current(most, cut_in, slow) <= output_current(most, cut_in, fast) <= most


@given(st.permutations([42.0, 42.3, 33.0]))
def test_the_odd_pair_may_stand_anywhere(values) -> None:
    assert unevenness(tuple(values)) == pytest.approx(unevenness((42.0, 42.3, 33.0)), rel=1e-12)


def test_turning_the_wires_turns_the_answer() -> None:
    found = [
        evenness(values, Charging(), 0.3, "volts").causes[0][0]
        for values in ((30.0, 42.0, 30.0), (30.0, 30.0, 42.0), (42.0, 30.0, 30.0))
    ]
    assert found == ["the winding of wire 1", "the winding of wire 2", "the winding of wire 3"]


SWITCHES = st.builds(
    lambda joined: ContactTable(
        name="s", terminals=["a", "b", "c"],
        positions=[f"p{n}: {groups}" for n, groups in enumerate(joined)],
    ),
    st.lists(st.sampled_from(["", "a-b", "b-c", "a-c", "a-b-c"]), min_size=2, max_size=4),
)  # fmt: skip


@given(SWITCHES)
def test_a_sound_switch_ticked_through_is_found_sound_or_cannot_be_told(switch) -> None:
    rows = itertools.product([name for name, _ in switch.positions], switch.pairs)
    seen = {(p, a, b): switch.joins(p, a, b) for p, (a, b) in rows}
    found = diagnose(switch, seen)
    assert found is not None
    assert not found.wrong
    assert found.causes[0][0] == "nothing wrong"


@given(SWITCHES, st.data())
def test_any_single_fault_ticked_through_is_among_the_likeliest(switch, data) -> None:
    fault = data.draw(st.sampled_from(switch_faults(switch)))
    rows = itertools.product([name for name, _ in switch.positions], switch.pairs)
    found = diagnose(switch, {(p, a, b): (p, a, b) in fault.paths for p, (a, b) in rows})
    assert found is not None
    assert found.causes[0][0] == fault.words
