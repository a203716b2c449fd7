"""The shim plan keeps its promises, against brute force on small engines."""

from __future__ import annotations

import numpy as np
import pytest
from support import four

from tickover.tasks.valves import (
    DrawerShim,
    FittedShim,
    assess_valves,
    clearance_reading,
)

MM = 1e-3
THOU = 25.4e-6


def assess(engine, clearances, shim=2.60, drawer=(), known="micrometer"):
    readings = {
        place: clearance_reading(engine, place, f"{c - 0.5}", f"{c + 0.5}", unit="thou")
        for place, c in clearances.items()
    }
    shims = {place: FittedShim(place, shim * MM, known) for place in clearances}
    return assess_valves(engine, readings, shims, drawer)


def test_good_valves_are_left_alone() -> None:
    plan = assess(four(), {"in1": 5, "in2": 5, "ex1": 7, "ex2": 7}).plan
    assert plan.changes == ()
    assert plan.probability_all_in > 0.99


def test_drawer_is_used_before_the_shop() -> None:
    drawer = [DrawerShim(2.55 * MM, 1)]
    plan = assess(four(), {"in1": 3, "in2": 5, "ex1": 7}, drawer=drawer).plan
    assert [(c.place, c.source) for c in plan.changes] == [("in1", "stock")]
    assert plan.price == 0


def test_shop_is_used_when_the_drawer_has_nothing() -> None:
    plan = assess(four(), {"in1": 3, "in2": 5, "ex1": 7}).plan
    assert [(c.place, c.source) for c in plan.changes] == [("in1", "buy")]
    assert plan.buy[0].size_m == pytest.approx(2.55 * MM)
    assert plan.price == 8.0


def test_two_shims_that_serve_each_other_are_exchanged() -> None:
    engine = four()
    readings = {
        "in1": clearance_reading(engine, "in1", "2.5", "3.5"),
        "in2": clearance_reading(engine, "in2", "6.5", "7.5"),
    }
    shims = {
        "in1": FittedShim("in1", 2.65 * MM, "micrometer"),
        "in2": FittedShim("in2", 2.60 * MM, "micrometer"),
    }
    plan = assess_valves(engine, readings, shims).plan
    assert {c.source for c in plan.changes} == {"fitted at in1", "fitted at in2"}
    assert plan.price == 0


def test_new_clearance_is_old_plus_shim_out_less_shim_in() -> None:
    plan = assess(four(), {"in1": 3, "in2": 5, "ex1": 7}).plan
    change = plan.changes[0]
    middle = sum(change.predicted_m) / 2
    expected = 3 * THOU + change.from_m - change.to_m
    assert middle == pytest.approx(expected, abs=0.4 * THOU)


def test_joint_probability_is_no_more_than_the_weakest_valve() -> None:
    plan = assess(four(), {"in1": 3.6, "in2": 5, "ex1": 6.4, "ex2": 7}, known="mark").plan
    assert plan.probability_all_in <= min(plan.probability_by_place.values()) + 1e-9


def test_a_valve_without_a_known_shim_is_named_not_guessed() -> None:
    engine = four()
    readings = {"in1": clearance_reading(engine, "in1", "2.5", "3.5")}
    found = assess_valves(engine, readings, {})
    assert found.plan is None
    assert "measure the shims" in found.plan_missing


def test_nothing_is_to_be_measured_where_all_are_in_their_limits() -> None:
    engine = four()
    readings = {}
    for place in engine.places():
        low, high = engine.limits_m(place)
        middle, step = (low + high) / 2 / THOU, 0.3
        readings[place.name] = clearance_reading(
            engine, place.name, f"{middle - step:.2f}", f"{middle + step:.2f}"
        )
    found = assess_valves(engine, readings, {})
    assert found.all_good
    assert found.plan is None
    assert found.plan_missing == "All are in their limits: nothing needs fitting."


def test_screw_and_locknut_engines_get_no_plan_but_all_else() -> None:
    engine = four(adjustment="screw and locknut")
    found = assess_valves(engine, {"in1": clearance_reading(engine, "in1", "2", "3")}, {})
    assert found.plan is None
    assert "tighten" in found.plan_missing
    assert len(found.order.stops) == 2
    assert found.explanations
    assert not any(e.what in ("transposed", "wrong shim") for e in found.explanations)


def test_camshafts_are_opened_only_where_shims_sit_under_buckets() -> None:
    clearances = {"in1": 3, "in2": 5, "ex1": 7}
    assert assess(four(), clearances).plan.camshafts_opened == ()
    under = assess(four(adjustment="shim under bucket"), clearances).plan
    assert under.camshafts_opened == ("inlet camshaft",)


def test_monte_carlo_agrees_with_the_closed_form() -> None:
    # One untouched valve: P from joint draws against the interval formula (JCGM 101 style).
    found = assess(four(), {"in1": 5, "ex1": 7, "in2": 5.4})
    closed = {v.place.name: v.verdict.probability_in for v in found.valves}
    four_thousand_draws = 4 * np.sqrt(0.01 / 4000)
    for place, chance in found.plan.probability_by_place.items():
        assert chance >= closed[place] - four_thousand_draws
