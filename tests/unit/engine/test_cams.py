"""Valve events over the cycle, base circle arcs and lobes pointing away."""

import pytest

from tickover.engine import (
    base_circle_arcs,
    duration_deg,
    exhaust_centre_deg,
    inlet_centre_deg,
    lobe_away_deg,
    overlap_deg,
    parse_engine_file,
    valve_events,
)
from tickover.engine.model import EngineFile


def single(cams: str = "", layout: str = 'layout = "single"', valves: str = "") -> EngineFile:
    return parse_engine_file(
        f'[engine]\nname = "Invented"\n{layout}\n[cams]\n'
        'inlet = { opens = "20 deg BTDC", closes = "50 deg ABDC" }\n'
        'exhaust = { opens = "55 deg BBDC", closes = "20 deg ATDC" }\n'
        f"{cams}\n[valves]\n{valves}\n"
    )


def test_the_four_events_stand_where_a_timing_diagram_draws_them() -> None:
    # Firing TDC 0, power stroke to 180, exhaust to 360 (overlap TDC), induction to 540.
    assert valve_events(single()) == {"in1": (340.0, 590.0), "ex1": (125.0, 380.0)}


def test_closed_forms() -> None:
    assert inlet_centre_deg(20, 50) == 105.0
    assert exhaust_centre_deg(55, 20) == 107.5
    assert duration_deg(20, 50) == 250
    assert duration_deg(55, 20) == 255
    assert overlap_deg(20, 20) == 40


def test_lobe_centres_stand_midway_between_the_events() -> None:
    events = valve_events(single())
    assert sum(events["in1"]) / 2 == 360 + inlet_centre_deg(20, 50)
    assert sum(events["ex1"]) / 2 == 360 - exhaust_centre_deg(55, 20)


def test_the_base_circle_is_what_is_left_outside_the_ramps() -> None:
    arcs = base_circle_arcs(single('ramp = "30 deg"'))
    assert arcs == {"in1": (620.0, 1030.0), "ex1": (410.0, 815.0)}
    wider = base_circle_arcs(single('ramp = "10 deg"'))
    assert wider["in1"] == (600.0, 1050.0)


def test_the_ramp_left_out_is_thirty_degrees() -> None:
    assert base_circle_arcs(single()) == base_circle_arcs(single('ramp = "30 deg"'))


def test_the_lobe_points_away_opposite_its_centre() -> None:
    away = lobe_away_deg(single())
    # Half a camshaft turn, one crank turn, from the lobe centre.
    assert away == {"in1": (465.0 + 360.0) % 720, "ex1": 252.5 + 360.0}


@pytest.mark.parametrize(
    ("cams", "allowance"),
    [
        ('timing_at = "seat"', 0.0),
        ('timing_at = "1 mm"', 25.0),
        ('timing_at = "0.25 mm"', 12.5),
        ('timing_at = "1 mm"\nseat_allowance = "18 deg"', 18.0),
        ('timing_at = "0.04 in"', 25.0 * 1.016**0.5),
    ],
)
def test_timing_at_a_checking_lift_takes_an_allowance_off_either_side(
    cams: str, allowance: float
) -> None:
    plain, shorter = base_circle_arcs(single())["in1"], base_circle_arcs(single(cams))["in1"]
    assert shorter[0] - plain[0] == pytest.approx(allowance)
    assert plain[1] - shorter[1] == pytest.approx(allowance)


def test_late_opening_and_early_closing_count_the_other_way() -> None:
    ef = parse_engine_file(
        '[engine]\nname = "Invented"\nlayout = "single"\n[valves]\n[cams]\n'
        'inlet = { opens = "5 deg ATDC", closes = "5 deg BBDC" }\n'
        'exhaust = { opens = "BDC", closes = "0 deg TDC" }\n'
    )
    assert valve_events(ef) == {"in1": (365.0, 535.0), "ex1": (180.0, 360.0)}


def test_several_valves_of_a_kind_move_together() -> None:
    arcs = base_circle_arcs(single(valves="inlet = 3\nexhaust = 2"))
    assert list(arcs) == ["in1a", "in1b", "in1c", "ex1a", "ex1b"]
    assert arcs["in1a"] == arcs["in1c"]


def test_a_second_cylinder_follows_by_its_firing_angle() -> None:
    events = valve_events(single(layout='layout = "inline"\ncylinders = 2\ncrank = "180 deg"'))
    assert events["in2"] == (520.0, 770.0)
    assert events["ex2"] == (305.0, 560.0)


def test_without_lobe_order_or_valves_nothing_is_claimed() -> None:
    head = '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 4\n'
    lobes = '[cams]\ninlet = { opens = "20 deg BTDC", closes = "50 deg ABDC" }\n'
    assert base_circle_arcs(parse_engine_file(head + lobes + "[valves]\n")) == {}
    head += "firing_order = [1, 3, 4, 2]\n"
    assert base_circle_arcs(parse_engine_file(head + lobes)) == {}
    assert base_circle_arcs(parse_engine_file(head + "[valves]\n")) == {}
    only_inlet = base_circle_arcs(parse_engine_file(head + lobes + "[valves]\n"))
    assert list(only_inlet) == ["in1", "in2", "in3", "in4"]


def test_the_longest_cam_with_every_allowance_is_told_when_nothing_is_left() -> None:
    ef = parse_engine_file(
        '[engine]\nname = "a"\nlayout = "single"\n[valves]\n[cams]\nramp = "60 deg"\n'
        'inlet = { opens = "110 deg BTDC", closes = "120 deg ABDC" }\n'
        'timing_at = "1 mm"\nseat_allowance = "80 deg"\n'
    )
    arc = base_circle_arcs(ef)["in1"]
    assert arc[1] - arc[0] == pytest.approx(720 - 410 - 2 * 140)
