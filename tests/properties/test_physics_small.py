"""Round trips and monotony of the small sums: crank, threads, oil, bands, leads, schedules."""

import math
from datetime import date
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.physics import (
    crank,
    engagement,
    fastener,
    fuelsystem,
    holes,
    ignition,
    leads,
    lubricant,
    oilpump,
    runningin,
    tightening,
    viscosity,
    winding,
)
from tickover.physics.bands import Band
from tickover.physics.metrology import Estimate
from tickover.physics.thread import ISO, Thread, thread

MICRODEGREE = math.radians(1e-6)


def floats(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def bands(low, high):
    return st.tuples(floats(low, high), floats(low, high)).map(lambda ends: Band(*sorted(ends)))


engines = st.tuples(floats(0.015, 0.06), floats(1.5, 3.0), floats(-0.2, 0.2)).map(
    lambda e: (e[0], 2.0 * e[0] * e[1], e[0] * e[2])
)


@given(engines, floats(math.radians(0.2), math.radians(170)), st.booleans())
def test_angle_and_drop_are_inverse(engine, angle, before):
    radius, rod, offset = engine
    drop = crank.piston_drop(-angle if before else angle, radius, rod, offset)
    back = crank.crank_angle_from_drop(drop, radius, rod, offset, before_tdc=before)
    assert back == pytest.approx(angle, abs=MICRODEGREE)


@given(engines, floats(-7.0, 7.0))
def test_piston_stays_within_its_stroke(engine, angle):
    radius, rod, offset = engine
    drop = crank.piston_drop(angle, radius, rod, offset)
    assert -1e-12 <= drop <= crank.stroke(radius, rod, offset) + 1e-12


@given(engines, floats(0.05, 3.0))
def test_speed_and_acceleration_are_the_slopes(engine, angle):
    radius, rod, offset = engine
    step = 1e-5
    around = np.array([angle - step, angle + step])
    drop = crank.piston_drop(around, radius, rod, offset)
    speed = crank.piston_speed(around, radius, rod, 1.0, offset)
    slope = (drop[1] - drop[0]) / (2 * step)
    curve = (speed[1] - speed[0]) / (2 * step)
    assert crank.piston_speed(angle, radius, rod, 1.0, offset) == pytest.approx(slope, abs=1e-9)
    assert crank.piston_acceleration(angle, radius, rod, 1.0, offset) == pytest.approx(
        curve, abs=1e-9
    )


@given(bands(-1e3, 1e3), bands(-1e3, 1e3), floats(0, 1), floats(0, 1))
def test_a_band_sum_holds_every_sum_within(one, other, s, t):
    a = one.low + s * (one.high - one.low)
    b = other.low + t * (other.high - other.low)
    slack = 1e-9
    for band, value in ((one + other, a + b), (one - other, a - b), (one * other, a * b)):
        assert band.low - slack <= value <= band.high + slack
    if other.low > 1e-3:
        ratio = one / other
        assert ratio.low * (1 - 1e-12) - slack <= a / b <= ratio.high * (1 + 1e-12) + slack


@given(floats(3.0, 60.0), floats(50.0, 250.0))
def test_viscosity_index_round_trip(at_100c, index):
    at_40c = viscosity.viscosity_at_40c(at_100c * 1e-6, index)
    assert viscosity.viscosity_index(at_40c, at_100c * 1e-6) == pytest.approx(index, abs=1e-6)


@given(floats(4.0, 25.0), floats(80.0, 200.0), floats(0.0, 140.0), floats(0.1, 10.0))
def test_oil_only_thins_with_heat(at_100c, index, celsius, step):
    at_40c = viscosity.viscosity_at_40c(at_100c * 1e-6, index)
    line = viscosity.walther_line(313.15, at_40c, 373.15, at_100c * 1e-6)
    cold, hot = (
        viscosity.kinematic_viscosity(273.15 + celsius + extra, line) for extra in (0.0, step)
    )
    assert hot < cold
    assert viscosity.temperature_of_viscosity(cold, line) == pytest.approx(
        273.15 + celsius, abs=1e-6
    )


@given(
    st.sampled_from(["10W-40", "15W-40", "20W-50", "30", "40", "50"]),
    floats(0.0, 150.0),
    floats(0, 1),
    floats(0, 1),
)
def test_every_oil_of_a_grade_lies_in_its_band(name, celsius, s, t):
    grade = lubricant.grade(name)
    kind = "multi" if "W" in name else "single"
    index = lubricant.TYPICAL_INDEX[kind]
    at_100c = grade.at_100c.low + s * (grade.at_100c.high - grade.at_100c.low)
    at_40c = viscosity.viscosity_at_40c(at_100c, index.low + t * (index.high - index.low))
    line = viscosity.walther_line(313.15, at_40c, 373.15, at_100c)
    value = viscosity.kinematic_viscosity(273.15 + celsius, line)
    band = lubricant.viscosity_of_grade(grade, 273.15 + celsius)
    # the reference parabolas meet to 0.2 percent only, so corners may miss by as much
    assert band.low * 0.998 <= value <= band.high * 1.002


metric = st.tuples(floats(3.0, 20.0), floats(0.06, 0.25)).map(
    lambda t: Thread("test", 1e-3 * t[0], 1e-3 * t[0] * t[1], ISO)
)


@given(metric, floats(30.0, 100.0), st.sampled_from(["screw", "nut"]))
def test_drill_and_percent_are_inverse(screw, percent, depth):
    hole = holes.tapping_drill(screw, percent, depth)
    assert holes.thread_percent(screw, hole, depth) == pytest.approx(percent, abs=1e-6)


@given(metric)
def test_thread_diameters_are_in_order(screw):
    assert screw.core < screw.nut_minor < screw.pitch_diameter < screw.major
    assert screw.core < screw.stress_diameter < screw.pitch_diameter


@given(metric, floats(1e3, 1e5), floats(50e6, 500e6), floats(200e6, 900e6))
def test_engaged_to_length_the_threads_hold_the_load(screw, load, hole, steel):
    need = engagement.engagement_length(screw, load, hole, steel)
    held = engagement.stripping_load(screw, need.length, hole, steel)
    assert held == pytest.approx(load, rel=1e-9)
    softer = engagement.engagement_length(screw, load, 0.5 * hole, steel)
    assert softer.length >= need.length


@given(floats(1.0, 100.0), bands(0.05, 0.3), bands(0.05, 0.3), floats(0, 1), floats(0, 1))
def test_every_friction_within_gives_a_preload_within(torque, in_thread, under_head, s, t):
    screw = thread("M8")
    pull = fastener.preload(Estimate(torque, 0.0), screw, in_thread, under_head, 0.011)
    mu_g = in_thread.low + s * (in_thread.high - in_thread.low)
    mu_k = under_head.low + t * (under_head.high - under_head.low)
    value = torque / fastener.torque_per_preload(screw, mu_g, mu_k, 0.011)
    assert pull.extremes.low * (1 - 1e-9) <= value <= pull.extremes.high * (1 + 1e-9)


@given(floats(0.12, 0.4))
def test_friction_and_factor_are_inverse(factor):
    screw = thread("M8")
    friction = fastener.friction_of_factor(factor, screw, 0.011)
    arm = fastener.torque_per_preload(screw, friction, friction, 0.011)
    assert arm / screw.major == pytest.approx(factor, rel=1e-9)


places = st.lists(
    st.tuples(st.integers(-9, 9), st.integers(-9, 9)), min_size=1, max_size=14, unique=True
)


@given(places)
def test_order_names_every_screw_once_and_is_the_same_every_time(points):
    order = tightening.tightening_order(points)
    assert sorted(order) == list(range(len(points)))
    assert tightening.tightening_order(points) == order


@given(places, floats(-50, 50), floats(-50, 50))
def test_order_goes_outwards_ring_by_ring(points, dx, dy):
    moved = [(x + dx, y + dy) for x, y in points]
    order = tightening.tightening_order(moved)
    cx, cy = (sum(c) / len(c) for c in zip(*moved, strict=True))
    far = [math.hypot(x - cx, y - cy) for x, y in moved]
    allowed = 0.12 * max(far) + 1e-6
    highest = 0.0
    for index in order:
        assert far[index] >= highest - allowed
        highest = max(highest, far[index])


readings = st.builds(
    oilpump.PressureReading,
    pressure=bands(1e5, 3e5),
    crank_turns_per_second=floats(20.0, 100.0),
    viscosity=bands(0.005, 0.02),
)


@given(readings, floats(5.0, 150.0), floats(1.0, 2.0), bands(0.004, 0.05), bands(0.0, 1.0))
def test_pressure_rises_with_speed_and_thickness(reading, speed, more, oil, share):
    base = oilpump.expected_pressure(reading, speed, oil, hole_share=share)
    faster = oilpump.expected_pressure(reading, speed * more, oil, hole_share=share)
    thicker = oilpump.expected_pressure(reading, speed, oil * more, hole_share=share)
    slack = 1 - 1e-12
    for other in (faster, thicker):
        assert other.low >= base.low * slack
        assert other.high >= base.high * slack


@given(readings, floats(5.0, 150.0), bands(0.004, 0.05), bands(0.0, 1.0), floats(0, 1))
def test_every_share_of_holes_within_gives_a_pressure_within(reading, speed, oil, share, s):
    band = oilpump.expected_pressure(reading, speed, oil, hole_share=share)
    inside = share.low + s * (share.high - share.low)
    one = oilpump.expected_pressure(reading, speed, oil, hole_share=inside)
    assert band.low * (1 - 1e-9) <= one.low
    assert one.high <= band.high * (1 + 1e-9)


@given(readings, bands(0.0, 1.0))
def test_pressure_at_the_reading_itself_is_the_reading(reading, share):
    exact = oilpump.PressureReading(
        reading.pressure, reading.crank_turns_per_second, Band(0.01, 0.01)
    )
    again = oilpump.expected_pressure(exact, exact.crank_turns_per_second, 0.01, hole_share=share)
    assert again.low == pytest.approx(reading.pressure.low, rel=1e-9)
    assert again.high == pytest.approx(reading.pressure.high, rel=1e-9)


@given(floats(0.1, 50.0), floats(220.0, 400.0), floats(220.0, 400.0))
def test_winding_there_and_back(ohms, one, other):
    for form in ("coefficient", "inferred zero"):
        there = winding.resistance_at(ohms, one, other, form)
        assert winding.resistance_at(there, other, one, form) == pytest.approx(ohms, rel=1e-12)
        assert (there > ohms) == (other > one) or there == pytest.approx(ohms, rel=1e-12)


@given(floats(1e-6, 1e-4), floats(0.02, 1.0), floats(0.02, 1.0))
def test_gravity_flow_through_the_tested_height(flow, tested, height):
    band = fuelsystem.gravity_flow(flow, tested, height)
    back_low = fuelsystem.gravity_flow(band.low, height, tested)
    assert back_low.low * (1 - 1e-9) <= flow <= back_low.high * (1 + 1e-9)
    assert (band.high <= flow * (1 + 1e-12)) == (height <= tested * (1 + 1e-12))


@given(floats(0.0, 90.0), st.integers(1, 8))
def test_dwell_and_percent_are_inverse(dwell, lobes):
    fits = min(dwell, 360.0 / lobes)
    back = ignition.dwell_from_percent(ignition.dwell_percent(fits, lobes), lobes)
    assert back == pytest.approx(fits, abs=1e-9)


@given(st.permutations([1, 2, 3, 4, 5, 6]))
def test_exchanges_put_every_lead_right(found):
    check = leads.check_leads((1, 5, 3, 6, 2, 4), found)
    assert _after(found, check.exchanges) == [1, 5, 3, 6, 2, 4]
    assert check.right == (not check.exchanges) == (not check.moved)


@given(st.permutations([1, 2, 3, 4]))
def test_exchanges_are_as_few_as_can_be(found):
    check = leads.check_leads((1, 3, 4, 2), found)
    assert len(check.exchanges) == _fewest(found, lambda leads_: leads_ == [1, 3, 4, 2])


@given(st.permutations([1, 2, 3, 4]))
def test_shared_coils_are_right_in_either_way_and_few(found):
    pairs = ((1, 4), (2, 3))
    check = leads.check_leads((1, 3, 4, 2), found, pairs)
    coil = {1: 1, 4: 1, 2: 2, 3: 2}

    def works(now):
        return [coil[c] for c in now] == [coil[c] for c in (1, 3, 4, 2)]

    assert works(_after(found, check.exchanges))
    assert len(check.exchanges) == _fewest(found, works)
    assert check.right == works(list(found))


def _after(found, exchanges):
    now = list(found)
    for one, other in exchanges:
        i, j = now.index(one), now.index(other)
        now[i], now[j] = now[j], now[i]
    return now


def _fewest(found, done):
    """Least number of exchanges, by trying all goals: n less the cycles on the way there."""
    best = len(found)
    for goal in permutations(found):
        if done(list(goal)):
            where = {lead: i for i, lead in enumerate(found)}
            seen, cycles = set(), 0
            for start in range(len(found)):
                cycles += start not in seen
                while start not in seen:
                    seen.add(start)
                    start = where[goal[start]]
            best = min(best, len(found) - cycles)
    return best


steps = st.lists(
    st.builds(
        runningin.Step,
        name=st.just("check"),
        distance=st.none() | floats(0, 1e7),
        heat_cycles=st.none() | st.integers(0, 50),
        days=st.integers(0, 400),
    ),
    max_size=8,
)


@settings(max_examples=60)
@given(steps, floats(0, 1e6), floats(0, 10), floats(1.0, 3.0))
def test_more_use_never_moves_a_check_later(todo, distance, cycles, more):
    start = date(2024, 2, 28)
    slow = runningin.plan(todo, start, runningin.Use(distance=distance, heat_cycles=cycles))
    fast = runningin.plan(
        todo, start, runningin.Use(distance=distance * more, heat_cycles=cycles * more)
    )
    assert [due.on for due in slow] == sorted(due.on for due in slow)
    assert all(f.on <= s.on for f, s in zip(fast, slow, strict=True))
    assert all(due.on >= start for due in fast)
