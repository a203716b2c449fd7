"""Invented engines with known faults, their readings made by the slow cylinder with other laws.

The truth is drawn from distributions the inference does not know: heat by Woschni's or Annand's
law instead of Hohenberg's, oil that scatters in amount and in what it seals, ring tightness that
changes between cranking and rest, one gauge wrong for all, readings rounded to a whole psi.
"""

from __future__ import annotations

import importlib.util
import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tickover.physics.cylinder import Air, CrankTest, Cylinder, Gauge, Valve, speed_from_rpm
from tickover.physics.leakdown import jet_area, percent_of_leak
from tickover.physics.valveflow import held_open_area
from tickover.tasks.compression import PSI, Conditions, CylinderReadings, CylinderSpec
from tickover.tasks.compression import hypotheses as h

_spec = importlib.util.spec_from_file_location(
    "slow_cylinder", Path(__file__).parent / "slow_cylinder.py"
)
slow_cylinder = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(slow_cylinder)

INLET = Valve(340.0, 585.0, 7.5e-3, 26e-3)
EXHAUST = Valve(135.0, 380.0, 7e-3, 22e-3)
ENGINE = CylinderSpec(
    "Invented 552 four", 4, 0.056, 0.056, 0.110, 9.2, INLET, EXHAUST,
    neighbours=((1, 2), (2, 3), (3, 4)),
)  # fmt: skip
DAY = Conditions(throttle="open", strokes=6, oil_volume=1e-6, jet_diameter=1e-3, supply=100.0 * PSI)
STROKES = 6

LOCAL = (h.RING, h.INLET, h.EXHAUST, h.HELD_EXHAUST, h.GASKET)
WHOLE = (h.LATE_CAM, h.SLIDE, h.SLOW_CRANKING, h.GAUGE, "rings all round")


@dataclass(frozen=True)
class Truth:
    """What really is the matter."""

    fault: str
    cylinder: int | None  # 0-based; None for the whole engine or a healthy one


def _law(rng):
    # Both scaled within what is published of them at low speed.
    law = slow_cylinder.woschni if rng.random() < 0.5 else slow_cylinder.annand
    factor = rng.uniform(1.0, 2.5) if law is slow_cylinder.woschni else rng.uniform(0.7, 1.3)
    return law, factor


def make(fault: str, rng: np.random.Generator, *, slow: bool = False, full: bool = False):
    """Readings of one invented engine.

    fault: "sound", one of LOCAL or WHOLE. slow: a second speed on all cylinders. full: wet test
    and leak-down with listening on all cylinders.
    Returns the truth, the conditions and four CylinderReadings.
    """
    law, heat = _law(rng)
    rpm = 300.0 * math.exp(0.12 * rng.standard_normal())
    if fault == h.SLOW_CRANKING:
        rpm *= rng.uniform(0.42, 0.62)
    late = rng.normal(1.0, 2.0) + (rng.uniform(17.0, 22.0) if fault == h.LATE_CAM else 0.0)
    ratio = 9.2 + rng.normal(-0.1, 0.2)
    rings = 0.32 * math.exp(0.25 * rng.standard_normal())
    if fault == "rings all round":
        rings *= rng.uniform(4.0, 7.0)
    crevice = ENGINE.crevice_volume * math.exp(0.25 * rng.standard_normal())
    dial_error = rng.normal(0.0, 2.5) * PSI
    dial_factor = rng.uniform(0.68, 0.82) if fault == h.GAUGE else 1.0
    throttle = rng.uniform(1.0, 3.5) * 1e-6 if fault == h.SLIDE else None
    air = Air(101325.0, 293.15, 293.15 + rng.normal(0.0, 3.0))
    hose = Gauge(6e-6 * math.exp(0.2 * rng.standard_normal()))
    where = int(rng.integers(0, 4)) if fault in LOCAL else None
    second = None
    if fault == h.GASKET:
        where = int(rng.integers(0, 3))
        second = where + 1
    seat = _seat_leak(fault, rng)
    extra_rings = rng.uniform(0.7, 3.5) if fault == h.RING else 0.0

    def shift(valve: Valve) -> Valve:
        return replace(valve, opens_deg=valve.opens_deg + late, closes_deg=valve.closes_deg + late)

    def dial(leak: float, chamber: float, oil: float, speed: float) -> float:
        cylinder = Cylinder(
            ENGINE.bore, ENGINE.stroke, ENGINE.rod, chamber, shift(INLET), shift(EXHAUST), crevice
        )
        test = CrankTest(
            cylinder, air, hose, speed_from_rpm(speed), leak * 1e-6, heat, throttle, 60e-6,
            oil * 1e-6,
        )  # fmt: skip
        shown = slow_cylinder.slow_crank_test(test, STROKES, heat_law=law, rtol=1e-5)[-1]
        value = (shown - air.pressure) * dial_factor + dial_error + rng.normal(0.0, 1.5) * PSI
        return round(max(value, 0.0) / PSI) * PSI

    readings = []
    slow_rpm = rpm * 0.65
    for i in range(4):
        own = rings * math.exp(0.15 * rng.standard_normal())
        past = 0.0
        if i in (where, second):
            own += extra_rings
            past = seat
        chamber = ratio + rng.normal(0.0, 0.05)
        reading = CylinderReadings(f"cyl{i + 1}", dry=dial(own + past, chamber, 0.0, rpm))
        if slow:
            reading = replace(reading, slow=dial(own + past, chamber, 0.0, slow_rpm))
        if full:
            oil = 1.0 * math.exp(0.3 * rng.standard_normal())
            wet = dial(own * rng.uniform(0.1, 0.6) + past, chamber, oil, rpm)
            at_rest = own * math.exp(0.4 * rng.standard_normal()) + past
            percent = percent_of_leak(at_rest * 1e-6, DAY.supply_pressure, jet_area(1e-3))
            guilty = i in (where, second)
            reading = replace(
                reading, wet=wet, leak_percent=float(round(percent)),
                heard=_heard(fault if guilty else h.SOUND, rng),
            )  # fmt: skip
        readings.append(reading)
    day = DAY
    if slow:
        # The ratio of the two speeds is known (a meter on the starter lead), the speeds are not.
        day = replace(day, slow_rpm=300.0 * 0.65)
    return Truth(fault, where), day, tuple(readings)


def _seat_leak(fault: str, rng: np.random.Generator) -> float:
    if fault in (h.INLET, h.EXHAUST):
        return float(rng.uniform(0.5, 3.0))
    if fault == h.GASKET:
        return float(rng.uniform(0.6, 3.0))
    if fault == h.HELD_EXHAUST:
        return 1e6 * held_open_area(rng.uniform(15e-6, 50e-6), EXHAUST.seat_diameter)
    return 0.0


def _heard(fault: str, rng: np.random.Generator) -> str:
    right = {
        h.SOUND: "crankcase", h.RING: "crankcase", h.INLET: "inlet", h.EXHAUST: "exhaust",
        h.HELD_EXHAUST: "exhaust", h.GASKET: "neighbour",
    }[fault]  # fmt: skip
    if rng.random() < 0.85:
        return right
    return str(rng.choice(["crankcase", "nowhere", "inlet", "exhaust"]))
