"""Which way the needle must move, for any engine: more leak lower, more altitude lower, ..."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.physics.atmosphere import pressure_at_altitude
from tickover.physics.cylinder import (
    Air,
    CrankTest,
    Cylinder,
    Gauge,
    Valve,
    crank,
    speed_from_rpm,
)

between = st.floats


@st.composite
def cranked_engines(draw, most_leak=8e-6, slowest=150.0):
    bore = draw(between(0.045, 0.095))
    stroke = bore * draw(between(0.75, 1.25))
    inlet = Valve(draw(between(315, 350)), draw(between(565, 610)), 0.13 * bore, 0.45 * bore)
    exhaust = Valve(draw(between(110, 150)), draw(between(370, 400)), 0.12 * bore, 0.39 * bore)
    ratio = draw(between(6.5, 12.0))
    engine = Cylinder(bore, stroke, 1.9 * stroke, ratio, inlet, exhaust, 0.004 * bore**2 * stroke)
    return CrankTest(
        engine,
        air=Air(draw(between(75e3, 104e3)), draw(between(263.0, 308.0)), draw(between(263, 380))),
        gauge=Gauge(draw(between(1e-6, 12e-6)), draw(st.booleans())),
        speed=speed_from_rpm(draw(between(slowest, 600))),
        leak_area=draw(between(0.05e-6, most_leak)),
        heat_factor=draw(between(0.5, 2.0)),
    )


few = settings(max_examples=25, deadline=None)


def needle(test, strokes=8):
    return crank(test, strokes)[-1] - test.air.pressure


@few
@given(cranked_engines(), between(1.4, 3.0))  # smaller steps drown in the solver's 0.05 percent
def test_more_leak_lowers_the_needle(test, more):
    worse = needle(replace(test, leak_area=more * test.leak_area))
    assert worse < needle(test) or worse < 1000.0  # Pa: nothing left to lose


@few
@given(cranked_engines(), between(0.0, 2500.0), between(100.0, 1000.0))
def test_more_altitude_lowers_the_needle(test, height, climb):
    low = replace(test, air=replace(test.air, pressure=pressure_at_altitude(height)))
    high = replace(test, air=replace(test.air, pressure=pressure_at_altitude(height + climb)))
    assert needle(high) < needle(low)


@few
@given(cranked_engines(most_leak=1e-6, slowest=250.0), between(0.1, 1.5))
def test_more_ratio_raises_the_needle(test, more):
    squeezed = replace(test.cylinder, ratio=test.cylinder.ratio + more)
    assert needle(replace(test, cylinder=squeezed)) > needle(test)


@few
@given(cranked_engines())
def test_the_needle_never_falls_and_never_passes_the_ideal(test):
    strokes = crank(test, 10)
    assert np.all(np.diff(np.concatenate(([test.air.pressure], strokes))) >= 0.0)
    ideal = test.air.pressure * test.cylinder.ratio**1.4 * 1.35  # hot walls add up to a third
    assert strokes[-1] < ideal


@few
@given(cranked_engines(most_leak=2e-6), between(0.3e-6, 1.5e-6), between(1.2, 2.0))
def test_a_throttle_more_shut_never_raises_the_needle(test, area, more):
    shut = needle(replace(test, throttle_area=area))
    assert shut <= needle(replace(test, throttle_area=area * more)) + 20.0  # Pa, solver step


@few
@given(cranked_engines(most_leak=1e-6, slowest=250.0), between(0.3e-6, 2e-6))
def test_oil_raises_the_needle(test, oil):
    assert needle(replace(test, oil_volume=oil)) > needle(test)
