"""Stops on a circle: everything is met, and nothing smaller or nearer exists."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.decide.arcs import Stops, depth, stab, tour

PERIOD = 720.0
angles = st.integers(0, 719).map(float) | st.floats(0.0, 719.9, allow_nan=False)
arcs = st.tuples(angles, st.integers(0, 800).map(float))
few = st.lists(arcs, min_size=1, max_size=5)
CLOSE = 1e-6  # degrees: rounding of angles


def smallest_by_trying(
    wanted: list[tuple[float, float]], points: list[float], start: float
) -> tuple[int, float]:
    """Fewest of the points that meet all arcs, and the least travel with so many."""
    for size in range(1, len(points) + 1):
        travels = [
            max((p - start) % PERIOD for p in chosen)
            for chosen in itertools.combinations(points, size)
            if all(any(depth(arc, p) >= 0.0 for p in chosen) for arc in wanted)
        ]
        if travels:
            return size, min(travels)
    return 0, 0.0


def assert_serves(stops: Stops, wanted: list[tuple[float, float]]) -> None:
    served = [item for stop in stops for item in stop.items]
    assert sorted([*served, *stops.uncovered]) == list(range(len(wanted)))
    for stop in stops:
        assert 0.0 <= stop.angle < PERIOD
        assert stop.items  # no idle stop
        for item in stop.items:
            assert depth(wanted[item], stop.angle) >= 0.0


@settings(max_examples=150, deadline=None)
@given(few, angles)
def test_free_stops_meet_every_arc_and_none_fewer_or_nearer_do(
    wanted: list[tuple[float, float]], start: float
) -> None:
    stops = stab(wanted, start=start)
    assert_serves(stops, wanted)
    assert stops.uncovered == ()
    # Some optimum stops at ends of arcs, or at the start.
    ends = {start} | {a % PERIOD for a, _ in wanted} | {(a + w) % PERIOD for a, w in wanted}
    size, travel = smallest_by_trying(wanted, sorted(ends), start)
    assert len(stops) == size
    assert stops.travel <= travel + CLOSE or stops.travel >= PERIOD - CLOSE


@settings(max_examples=150, deadline=None)
@given(few, st.lists(angles, min_size=1, max_size=6), angles)
def test_allowed_stops_are_fewest_then_nearest(
    wanted: list[tuple[float, float]], allowed: list[float], start: float
) -> None:
    stops = stab(wanted, candidates=allowed, start=start)
    assert_serves(stops, wanted)
    within = [arc for arc in wanted if any(depth(arc, p) >= 0.0 for p in allowed)]
    assert len(stops.uncovered) == len(wanted) - len(within)
    size, travel = smallest_by_trying(within, sorted(set(allowed)), start) if within else (0, 0.0)
    assert len(stops) == size
    assert abs(stops.travel - travel) <= CLOSE or travel >= PERIOD - CLOSE


@settings(max_examples=60, deadline=None)
@given(few, angles, angles)
def test_turning_everything_turns_the_stops(
    wanted: list[tuple[float, float]], start: float, by: float
) -> None:
    turned = [((a + by) % PERIOD, w) for a, w in wanted]
    assert len(stab(turned, start=start + by)) == len(stab(wanted, start=start))


@settings(max_examples=60, deadline=None)
@given(st.lists(angles, min_size=1, max_size=24), angles)
def test_tour_visits_each_once_going_forward(points: list[float], start: float) -> None:
    stops = tour(points, start=start)
    assert sorted(item for stop in stops for item in stop.items) == list(range(len(points)))
    offsets = [(stop.angle - start) % PERIOD for stop in stops]
    assert np.all(np.diff(offsets[1:]) > 0.0)
