"""Where to stop an inline four to measure its valves.

Common practice, no source: firing order 1-3-4-2 with cylinder 1 at firing top dead centre gives
inlets 1 and 2 and exhausts 1 and 3; one turn on gives inlets 3 and 4 and exhausts 2 and 4. With
1-2-4-3, cylinders 2 and 3 are exchanged.
"""

from __future__ import annotations

import pytest
from support import four

from tickover.tasks.valves import work_order

RULE = {
    "[1, 3, 4, 2]": ({"in1", "in2", "ex1", "ex3"}, {"in3", "in4", "ex2", "ex4"}),
    "[1, 2, 4, 3]": ({"in1", "in3", "ex1", "ex2"}, {"in2", "in4", "ex3", "ex4"}),
}


@pytest.mark.parametrize("order", list(RULE))
def test_two_stops_with_the_valves_everybody_knows(order: str) -> None:
    stops = work_order(four(order)).stops
    assert [stop.crank_deg for stop in stops] == [0.0, 360.0]
    assert [stop.cylinder for stop in stops] == [1, 4]
    assert [set(stop.places) for stop in stops] == [set(part) for part in RULE[order]]
    assert not any(stop.tight for stop in stops)


def test_four_valves_a_cylinder_take_the_same_two_stops() -> None:
    stops = work_order(four(inlet=2, exhaust=2)).stops
    assert len(stops) == 2
    assert set(stops[0].places) == {
        f"{valve}{letter}" for valve in ("in1", "in2", "ex1", "ex3") for letter in "ab"
    }


def test_valve_by_valve_order_meets_every_lobe_away_once() -> None:
    order = work_order(four()).one_by_one
    # Lobe-away order of a four with lobe centres 106 and 108 degrees: eight separate stops.
    assert len(order) == 8
    assert sorted(place for stop in order for place in stop.places) == sorted(
        f"{kind}{n}" for kind in ("in", "ex") for n in range(1, 5)
    )
