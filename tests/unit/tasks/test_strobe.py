"""Timing under the strobe."""

from __future__ import annotations

import math

import pytest

from tickover.errors import InputError
from tickover.tasks.strobe import StrobeReading, compare

CURVE = [(1000.0, 10.0), (1500.0, 10.0), (3500.0, 35.0), (9000.0, 35.0)]


def read(*pairs):
    return [StrobeReading(s, d) for s, d in pairs]


def test_timing_that_is_late_all_over_is_one_movement_of_the_plate():
    found = compare(read((1200, 6), (2500, 18.5), (5000, 31)), CURVE, plate_radius=0.035)
    assert found.correction == pytest.approx(4.0)
    assert found.plate_degrees == pytest.approx(2.0)
    # An arc is radius times angle.
    assert found.plate_arc == pytest.approx(0.035 * math.radians(2.0))
    assert found.worst_after == pytest.approx(0.0, abs=1e-9)
    assert "too late" in found.says[0]


def test_a_plate_on_the_crankshaft_moves_the_full_angle():
    found = compare(read((1200, 6)), CURVE, "crankshaft")
    assert found.plate_degrees == pytest.approx(found.correction) == pytest.approx(4.0)


def test_early_timing_is_called_what_it_is():
    found = compare(read((1200, 15), (5000, 40)), CURVE)
    assert found.correction == pytest.approx(-5.0)
    assert "too early" in found.says[0]


def test_within_what_a_strobe_can_tell_nothing_is_moved():
    found = compare(read((1200, 10.5), (5000, 34.7)), CURVE)
    assert found.within
    assert "leave the plate alone" in found.says[0]


def test_advance_that_grows_too_little_is_not_the_plate_s_fault():
    found = compare(read((1200, 10), (2500, 19), (5000, 27)), CURVE)
    assert any("too little with speed" in s for s in found.says)
    more = compare(read((1200, 10), (2500, 26), (5000, 43)), CURVE)
    assert any("too much with speed" in s for s in more.says)


def test_piston_drop_goes_with_the_angle_by_the_slider_crank():
    found = compare(read((1200, 10)), CURVE, crank_radius=0.028, rod_length=0.110)
    # Stroke 56, rod 110: 0.532892 mm at 10 degrees (slider-crank geometry, worked out apart).
    assert 1000 * found.piston_before == pytest.approx(0.532892, abs=1e-5)
    assert found.piston_after == pytest.approx(found.piston_before, abs=1e-12)


def test_surer_readings_weigh_more():
    found = compare([StrobeReading(1200, 8.0, 0.5), StrobeReading(5000, 30.0, 2.0)], CURVE)
    assert found.correction == pytest.approx((2.0 * 4 + 5.0 * 0.25) / 4.25)
    assert found.uncertainty == pytest.approx(1 / math.sqrt(4.25))


@pytest.mark.parametrize(
    ("readings", "curve", "turns", "says"),
    [
        ([], CURVE, "camshaft", "no strobe reading"),
        (read((1200, 10)), [], "camshaft", "rising speeds"),
        (read((1200, 10)), [(2000, 10), (1000, 5)], "camshaft", "rising speeds"),
        (read((1200, 110)), CURVE, "camshaft", "No engine is timed"),
        (read((50, 10)), CURVE, "camshaft", "No engine is timed"),
        (read((1200, 10)), CURVE, "wheel", "camshaft, crankshaft"),
    ],
)
def test_what_cannot_be_is_refused(readings, curve, turns, says):
    with pytest.raises(InputError, match=says):
        compare(readings, curve, turns)
