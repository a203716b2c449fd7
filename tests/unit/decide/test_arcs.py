"""Stops on a circle: small cases worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tickover.decide.arcs import Stop, depth, stab, tour
from tickover.decide.cover import smallest_cover
from tickover.errors import InputError


def test_no_arcs_need_no_stop() -> None:
    stops = stab([])
    assert len(stops) == 0
    assert stops.travel == 0.0
    assert stops.uncovered == ()


def test_one_arc_is_met_at_once_when_the_start_lies_on_it() -> None:
    assert stab([(700.0, 100.0)]).stops == (Stop(0.0, (0,)),)


def test_last_stop_goes_no_further_than_it_must() -> None:
    assert stab([(200.0, 100.0), (250.0, 100.0)]).stops == (Stop(250.0, (0, 1)),)


def test_earlier_stop_moves_to_the_middle_where_travel_allows() -> None:
    assert stab([(100.0, 100.0), (150.0, 100.0), (400.0, 50.0)])[0] == Stop(175.0, (0, 1))


def test_two_stops_a_turn_apart_meet_every_arc_of_half_the_circle() -> None:
    """Arcs of at least 360 of 720 contain one of any two points 360 apart."""
    arcs = [(30.0 * k + 7.0, 360.0) for k in range(24)]
    assert len(stab(arcs, candidates=[0.0, 360.0])) == 2


def test_travel_is_least_among_equally_few_stops() -> None:
    stops = stab([(0.0, 720.0), (90.0, 20.0)], candidates=[100.0, 180.0, 95.0], start=98.0)
    assert [stop.angle for stop in stops] == [100.0]
    assert stops.travel == pytest.approx(2.0)


def test_nearest_of_several_smallest_covers_is_found() -> None:
    """240 and 630 serve all six as well; 90 and 240 would leave the third, which starts at 330."""
    arcs = [
        (10.0, 460.0),
        (580.0, 350.0),
        (330.0, 410.0),
        (90.0, 480.0),
        (360.0, 450.0),
        (150.0, 230.0),
    ]
    stops = stab(arcs, candidates=[480.0, 630.0, 240.0, 90.0, 330.0])
    assert [stop.angle for stop in stops] == [90.0, 330.0]


def test_stops_come_in_the_order_of_forward_travel_from_the_start() -> None:
    stops = stab([(10.0, 5.0), (500.0, 5.0)], candidates=[12.0, 502.0], start=400.0)
    assert [stop.angle for stop in stops] == [502.0, 12.0]


def test_equally_few_equally_far_prefers_the_deeper_stop() -> None:
    arcs = [(0.0, 40.0), (300.0, 10.0)]  # the second is met no deeper than 5 either way
    assert [s.angle for s in stab(arcs, candidates=[5.0, 20.0, 305.0])] == [20.0, 305.0]


def test_item_met_twice_goes_to_the_stop_where_it_sits_deepest() -> None:
    arcs = [(0.0, 100.0), (95.0, 10.0), (45.0, 10.0)]
    assert stab(arcs, candidates=[50.0, 98.0]).stops == (Stop(50.0, (0, 2)), Stop(98.0, (1,)))


def test_item_out_of_reach_is_named_and_the_others_are_served() -> None:
    stops = stab([(0.0, 100.0), (200.0, 20.0)], candidates=[50.0, 360.0])
    assert stops.uncovered == (1,)
    assert [stop.items for stop in stops] == [(0,)]


def test_empty_arc_is_uncovered_even_with_free_stops() -> None:
    stops = stab([(10.0, -5.0), (20.0, 10.0)])
    assert stops.uncovered == (0,)
    assert stops.stops == (Stop(20.0, (1,)),)


def test_edges_count_as_inside() -> None:
    assert stab([(0.0, 180.0), (540.0, 180.0)], candidates=[180.0, 540.0]).uncovered == ()


def test_depth_is_the_distance_to_the_nearer_end() -> None:
    assert depth((700.0, 60.0), 20.0) == pytest.approx(20.0)
    assert depth((700.0, 60.0), 690.0) == pytest.approx(-10.0)
    assert depth((5.0, 720.0), 300.0) == math.inf


def test_tour_visits_going_forward_and_merges_equal_angles() -> None:
    stops = tour([0.1 + 0.2, 500.0, 0.3, 720.3, 10.0], start=5.0)
    assert [stop.items for stop in stops] == [(4,), (1,), (0, 2, 3)]
    assert stops.travel == pytest.approx(715.3)


def test_point_a_hair_before_the_start_is_at_the_start() -> None:
    assert tour([0.3, 0.1], start=0.1 + 0.2)[0].items == (0,)


def test_too_many_candidates_are_refused_with_the_number_allowed() -> None:
    with pytest.raises(InputError, match="24"):
        stab([(0.0, 10.0)], candidates=[float(k) for k in range(25)])


@pytest.mark.parametrize("arc", [(math.nan, 10.0), (0.0, math.nan), (math.inf, 1.0)])
def test_arcs_that_are_not_numbers_are_refused(arc: tuple[float, float]) -> None:
    with pytest.raises(InputError):
        stab([arc])


def test_cover_of_a_size_that_is_too_small_is_empty() -> None:
    table = np.eye(3, dtype=bool)
    assert smallest_cover(table) == [0, 1, 2]
    assert smallest_cover(table, 2) == []
    assert smallest_cover(np.zeros((1, 2), dtype=bool)) == []
