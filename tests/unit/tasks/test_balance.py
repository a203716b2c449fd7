"""Balancing: fewest screws, learnt gains, the odd cylinder; played against invented racks."""

from __future__ import annotations

import numpy as np
import pytest
from support_mixture.racks import adjustments, largest_difference, ours

from tickover.errors import InputError
from tickover.tasks.balance import (
    Rack,
    Screw,
    VacuumRound,
    balance,
    balance_json,
    parse_vacuum,
    row_rack,
)

FOUR = row_rack(4, base=2)


def kpa(*values, turned="", turns=0.0):
    return VacuumRound({f"carb{i + 1}": 1000.0 * v for i, v in enumerate(values)}, turned, turns)


def test_even_gauges_are_left_alone_and_idle_comes_last():
    found = balance(FOUR, [kpa(29, 30, 29.5, 28.5)])
    assert found.balanced
    assert found.screw == ""
    assert "Idle speed last" in found.notes[0]


def test_one_carburettor_out_wants_its_own_screw_only():
    found = balance(FOUR, [kpa(29, 29, 29, 37)])
    assert (found.screw, found.still_to_do) == ("screw 3-4", 1)
    assert found.turns > 0.0  # pulls too much: its slide is too low, in opens it


def test_a_pair_moved_together_wants_the_screw_between_the_pairs():
    found = balance(FOUR, [kpa(29, 29, 36, 36.5)])
    assert (found.screw, found.still_to_do) == ("screw 2-3", 1)
    after = found.expected
    assert max(after.values()) - min(after.values()) < 7500.0
    assert after["carb4"] - after["carb3"] == pytest.approx(500.0)


def test_the_largest_difference_comes_first():
    found = balance(FOUR, [kpa(38, 30, 24, 24)])
    assert found.still_to_do == 2
    assert found.screw == "screw 2-1"


def test_a_turn_that_did_half_of_what_was_expected_is_followed_by_a_larger_one():
    first = balance(FOUR, [kpa(29, 29, 29, 41)])
    gain = first.gain["screw 3-4"]
    did = 0.5 * gain * first.turns / 1000.0
    second = balance(
        FOUR,
        [kpa(29, 29, 29, 41), kpa(29, 29, 29, 41 - did, turned="screw 3-4", turns=first.turns)],
    )
    assert second.gain["screw 3-4"] == pytest.approx(0.5 * gain, rel=0.08)
    # What one screw taught counts for its neighbours.
    assert second.gain["screw 2-1"] < 0.7 * gain


def test_a_screw_that_does_nothing_is_named_and_not_proposed_again():
    rounds = [kpa(29, 29, 24, 41), kpa(29, 29, 24, 41, turned="screw 3-4", turns=0.5)]
    found = balance(FOUR, rounds)
    assert any("screw 3-4 did nothing" in s for s in found.suspicions)
    assert found.screw != "screw 3-4"


def test_an_odd_cylinder_with_a_tight_valve_is_no_carburettor():
    found = balance(FOUR, [kpa(29, 29, 26, 29)], evidence={"carb3": ["in5 clearance tight"]})
    assert any("in5 clearance tight" in s for s in found.suspicions)


def test_a_difference_that_stays_at_raised_speed_points_to_the_cylinder():
    idle = [kpa(29, 29, 25, 29)]
    stays = balance(FOUR, idle, raised=dict(kpa(28, 28, 24.3, 28).vacuum))
    fades = balance(FOUR, idle, raised=dict(kpa(28, 28, 27.5, 28).vacuum))
    assert any("carb3 is as far off" in s for s in stays.suspicions)
    assert not fades.suspicions


def test_a_rack_is_a_tree_or_is_refused():
    with pytest.raises(InputError, match="tree"):
        Rack(("a", "b", "c"), "a", (Screw("s", "a", "b"),))
    with pytest.raises(InputError, match="tree"):
        Rack(("a", "b"), "a", (Screw("s", "a", "b"), Screw("t", "b", "a")))
    with pytest.raises(InputError, match="not on the rack"):
        Rack(("a", "b"), "c", (Screw("s", "a", "b"),))
    rack = row_rack(4, base=2)
    assert rack.beyond(rack.screws[1]) == {"carb3", "carb4"}


def test_looks_that_lack_a_carburettor_or_name_no_screw_are_refused():
    with pytest.raises(InputError, match="lacks a carburettor"):
        balance(FOUR, [VacuumRound({"carb1": 2e4})])
    with pytest.raises(InputError, match="no such screw"):
        balance(FOUR, [kpa(29, 29, 29, 36), kpa(29, 29, 29, 33, turned="idle", turns=1.0)])
    with pytest.raises(InputError, match="no vacuum reading"):
        balance(FOUR, [])


@pytest.mark.parametrize("text", ["120 kPa", "0 kPa", "300 kPa abs", "bar"])
def test_a_vacuum_no_cylinder_pulls_is_refused(text):
    with pytest.raises(InputError):
        parse_vacuum(text)


def test_the_result_as_plain_values():
    plain = balance_json(balance(FOUR, [kpa(29, 29, 29, 37)]))
    assert plain["screw"] == "screw 3-4"
    assert plain["spread_kpa"] == 8.0


@pytest.mark.parametrize("rack", [row_rack(4, base=2), row_rack(4), row_rack(6, base=3)],
                         ids=["four, cable on 2", "four, cable on 1", "six"])  # fmt: skip
def test_fewer_adjustments_than_the_largest_difference_first(rack):
    mine = [adjustments(ours, seed, rack) for seed in range(120)]
    rule = [adjustments(largest_difference, seed, rack) for seed in range(120)]
    assert max(mine) < 25
    assert np.mean(mine) <= np.mean(rule)
