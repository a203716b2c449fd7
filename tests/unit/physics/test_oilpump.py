"""Pump displacements against geometry worked out another way; priming; pressure."""

import itertools
import math

import numpy as np
import pytest
from scipy.spatial import cKDTree

from tickover.errors import InputError
from tickover.physics import oilpump
from tickover.physics.bands import Band


def cycloidal_rotor(lobes, e, points=2000):
    """Outline of a rotor of epi- and hypocycloids rolled by circles of radius e/2."""
    base, roll = lobes * e, 0.5 * e
    t = np.linspace(0.0, 2 * math.pi, points * lobes, endpoint=False)
    outside = (t * lobes / (2 * math.pi)) % 1.0 < 0.5  # each lobe: half outside, half inside
    epi = (base + roll) * np.exp(1j * t) - roll * np.exp(1j * (base + roll) / roll * t)
    hypo = (base - roll) * np.exp(1j * t) + roll * np.exp(-1j * (base - roll) / roll * t)
    return np.where(outside, epi, hypo)


def piece(curve, start, end):
    """Area between the centre and the curve from one point of it to another."""
    i, j = (int(np.argmin(abs(curve - p))) for p in (start, end))
    path = np.roll(curve, -i)[: (j - i) % len(curve) + 1]
    return 0.5 * float(np.sum((np.conj(path[:-1]) * path[1:]).imag))


def largest_chamber(inner, outer):
    """Area of the chamber opposite the mesh, between the two places where the rotors touch."""
    tree = cKDTree(np.c_[inner.real, inner.imag])
    gap, _ = tree.query(np.c_[outer.real, outer.imag])
    touch = [k for k in range(len(outer)) if gap[k] <= gap[k - 1] and gap[k] < 6e-3]
    far = sorted(
        (outer[k] for k in touch if gap[k] < gap[(k + 1) % len(outer)]),
        key=lambda p: np.angle(p) % (2 * math.pi),
    )
    areas = [
        piece(outer, a, b) - piece(inner, a, b)
        for a, b in itertools.pairwise(far)
        if abs(a - b) > 0.05
    ]
    return max(areas)


@pytest.mark.parametrize("lobes", [3, 4])
def test_trochoid_displacement_against_drawn_rotors(lobes):
    # Draw a cycloidal rotor pair, find by search where the rotors touch, and measure the largest
    # chamber; the smallest closes to nothing, so a turn moves lobes * largest.
    inner, outer = cycloidal_rotor(lobes, 1.0), cycloidal_rotor(lobes + 1, 1.0)
    turns = np.linspace(0.0, 2 * math.pi / lobes, 8, endpoint=False)
    drawn = lobes * max(
        largest_chamber(
            inner * np.exp(1j * turn) + 1.0, outer * np.exp(1j * turn * lobes / (lobes + 1))
        )
        for turn in turns
    )
    ours = oilpump.trochoid_pump_displacement(2.0 * (lobes + 1), 2.0 * (lobes - 1), 1.0, lobes)
    assert ours.holds(drawn)
    assert ours.half_width < 0.03 * ours.middle


def test_gear_displacement_is_near_the_textbook_estimate():
    # 2 pi m^2 z b for standard gears: 12 teeth of module 2.5
    m, z, b = 2.5e-3, 12, 0.012
    ours = oilpump.gear_pump_displacement(m * (z + 2), m * z, b, z, math.radians(20.0))
    assert ours == pytest.approx(2 * math.pi * m**2 * z * b, rel=0.05)


def test_gear_displacement_against_the_swept_contact():
    # The same by brute force: 1/2 b (2 ra^2 - r1^2 - r2^2) averaged along the line of action.
    m, z, b, alpha = 2.5e-3, 12, 0.012, math.radians(20.0)
    pitch, tip = 0.5 * m * z, 0.5 * m * (z + 2)
    base_pitch = math.pi * m * math.cos(alpha)
    along = (np.arange(20001) / 20000 - 0.5) * base_pitch
    normal, pitch_point = pitch * math.cos(alpha), pitch * math.sin(alpha)
    r1 = normal**2 + (pitch_point + along) ** 2
    r2 = normal**2 + (pitch_point - along) ** 2
    swept = 2 * math.pi * 0.5 * b * np.mean(2 * tip**2 - r1 - r2)
    ours = oilpump.gear_pump_displacement(2 * tip, 2 * pitch, b, z, alpha)
    assert ours == pytest.approx(swept, rel=1e-3)


@pytest.mark.parametrize(
    ("tip", "centres", "teeth"), [(0.02, 0.03, 10), (0.07, 0.03, 10), (0.032, 0.0267, 2)]
)
def test_gears_that_cannot_mesh_are_refused(tip, centres, teeth):
    with pytest.raises(InputError, match="mesh"):
        oilpump.gear_pump_displacement(tip, centres, 0.01, teeth, 0.35)


def test_rotor_with_roots_outside_its_tips_is_refused():
    with pytest.raises(InputError, match="tips"):
        oilpump.trochoid_pump_displacement(0.02, 0.03, 0.01, 4)


def test_plungers_add_up():
    one = oilpump.plunger_pump_displacement(0.008, 0.010)
    assert oilpump.plunger_pump_displacement(0.008, 0.010, 2, 2.0) == pytest.approx(4 * one)


def test_flow_in_ten_seconds_by_hand():
    # 5 cm3 a turn, half crank speed, 300 rpm, 80 percent: 2.5 turns a second, 100 cm3 in 10 s
    flow = oilpump.pump_flow(5e-6, 0.5, 5.0, 0.8)
    assert 10 * flow.low == pytest.approx(100e-6)
    assert flow.low == flow.high


def test_pump_tighter_than_tight_is_refused():
    with pytest.raises(InputError, match="Tightness"):
        oilpump.pump_flow(5e-6, 0.5, 5.0, 1.2)


def test_pump_that_may_deliver_nothing_never_primes():
    with pytest.raises(InputError, match="zero"):
        oilpump.priming_time(200e-6, Band(0.0, 5e-6))


READING = oilpump.PressureReading(Band(4e5, 4e5), 50.0, Band(0.01, 0.01))


def test_bearings_alone_follow_speed_times_viscosity():
    band = oilpump.expected_pressure(READING, 25.0, 0.02, hole_share=0.0)
    assert band.low == pytest.approx(4e5)
    assert band.high == pytest.approx(4e5)


def test_holes_alone_follow_the_square_of_speed_whatever_the_oil():
    for oil in (0.005, 0.05):
        band = oilpump.expected_pressure(READING, 25.0, oil, hole_share=1.0)
        assert band.high == pytest.approx(1e5)


def test_mixture_solves_the_flow_balance():
    band = oilpump.expected_pressure(READING, 30.0, 0.015, hole_share=0.4)
    x = band.low / 4e5
    assert 0.6 * x / 1.5 + 0.4 * math.sqrt(x) == pytest.approx(30.0 / 50.0, rel=1e-12)


def test_relief_valve_cuts_the_top():
    band = oilpump.expected_pressure(READING, 200.0, 0.05, relief=Band(5e5, 6e5))
    assert band == Band(5e5, 6e5)


def test_reading_with_the_valve_open_says_nothing():
    with pytest.raises(InputError, match="relief valve open"):
        oilpump.expected_pressure(READING, 30.0, 0.01, relief=Band(3.5e5, 5e5))


@pytest.mark.parametrize(("speed", "oil"), [(0.0, 0.01), (30.0, 0.0), (math.nan, 0.01)])
def test_pressure_of_nothing_is_refused(speed, oil):
    with pytest.raises(InputError):
        oilpump.expected_pressure(READING, speed, oil)
