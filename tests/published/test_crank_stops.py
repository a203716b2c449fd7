"""Where to stop an inline four to measure its valves.

Common practice, no source: firing order 1-3-4-2 with cylinder 1 at firing top dead centre gives
inlets 1 and 2 and exhausts 1 and 3; one turn on gives inlets 3 and 4 and exhausts 2 and 4. With
1-2-4-3, cylinders 2 and 3 are exchanged.
"""

from __future__ import annotations

import pytest
from support import four

from tickover.engine import base_circle_arcs, parse_engine_file
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


@pytest.mark.parametrize("order", list(RULE))
def test_every_stop_keeps_thirty_degrees_from_the_ramp(order: str) -> None:
    engine = four(order)
    arcs = base_circle_arcs(engine)
    for stop in work_order(engine).stops:
        for place in stop.places:
            start, end = arcs[place]
            into = (stop.crank_deg - start) % 720.0
            assert 30.0 <= into <= end - start - 30.0


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


TWIN_180 = """
[engine]
name = "Invented 180 twin"
layout = "inline"
cylinders = 2
firing_order = [1, 2]
firing_angles = [0, 180]
[cams]
inlet = { opens = "22 deg BTDC", closes = "54 deg ABDC" }
exhaust = { opens = "56 deg BBDC", closes = "20 deg ATDC" }
ramp = "28 deg"
[valves]
inlet = 1
exhaust = 1
"""


def test_a_180_degree_twin_takes_two_marks_though_one_angle_would_do() -> None:
    # Inlet 2 shuts 54 degrees after T1 and exhaust 1 opens 124 degrees after it; with 28 degrees
    # of ramp only 82 to 96 is left, 7 degrees either side of its middle and far from any mark.
    order = work_order(parse_engine_file(TWIN_180, "twin.toml"))
    assert [stop.cylinder for stop in order.stops] == [1, 2]
    assert len(order.by_degree_wheel) == 1
    assert 82.0 <= order.by_degree_wheel[0].crank_deg <= 96.0


def test_a_mark_close_to_the_ramp_is_used_but_said_to_be_close() -> None:
    # The exhaust opens 95 degrees before bottom, 85 after the mark: 25 beyond a ramp of 60.
    text = TWIN_180.replace("inline", "single").replace("cylinders = 2", "cylinders = 1")
    text = text.replace("firing_order = [1, 2]\nfiring_angles = [0, 180]\n", "")
    text = text.replace("56 deg BBDC", "95 deg BBDC")
    far = work_order(parse_engine_file(text, "single.toml")).stops
    near = work_order(parse_engine_file(text.replace("28 deg", "60 deg"), "single.toml")).stops
    assert [stop.tight for stop in far] == [False]
    assert [stop.tight for stop in near] == [True]
