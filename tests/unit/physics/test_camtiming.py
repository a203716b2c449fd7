"""Degree-wheel arithmetic, by hand."""

import pytest

from tickover.errors import InputError
from tickover.physics.camtiming import (
    LobeTiming,
    exhaust_timing,
    inlet_timing,
    lobe_separation_deg,
    overlap_deg,
    timing_error,
    tooth_deg,
    wheel_offset_deg,
)


def test_events_give_centre_duration_overlap_and_separation():
    inlet, exhaust = inlet_timing(15.0, 45.0), exhaust_timing(45.0, 15.0)
    assert (inlet.duration_deg, exhaust.duration_deg) == (240.0, 240.0)
    assert (inlet.centre_deg, exhaust.centre_deg) == (465.0, 255.0)
    assert overlap_deg(inlet, exhaust) == 30.0
    assert lobe_separation_deg(inlet, exhaust) == 105.0


@pytest.mark.parametrize("teeth_late", [-2, -1, 0, 1, 2])
def test_whole_teeth_are_found_whichever_way_round(teeth_late):
    shift = teeth_late * tooth_deg(34)
    late = timing_error(inlet_timing(15.0 - shift, 45.0 + shift), inlet_timing(15.0, 45.0), 34)
    assert late.teeth == teeth_late
    assert late.late_deg == pytest.approx(shift)
    assert late.rest_deg == pytest.approx(0.0, abs=1e-12)


def test_a_tooth_is_two_crank_turns_over_the_teeth():
    assert tooth_deg(36) == 20.0
    assert tooth_deg(34) == pytest.approx(21.176, abs=1e-3)


def test_lift_taken_too_low_lengthens_but_does_not_shift():
    late = timing_error(inlet_timing(20.0, 50.0), inlet_timing(15.0, 45.0), 34)
    assert (late.late_deg, late.teeth, late.duration_error_deg) == (0.0, 0, 10.0)


def test_piston_stop_gives_true_top_from_either_way_of_reading_the_wheel():
    assert wheel_offset_deg(-42.0, 45.0) == wheel_offset_deg(318.0, 45.0) == 1.5


@pytest.mark.parametrize(
    "make",
    [
        lambda: LobeTiming(340.0, 340.0),
        lambda: inlet_timing(15.0, -300.0),
        lambda: wheel_offset_deg(40.0, 42.0),
        lambda: tooth_deg(3),
    ],
)
def test_timing_that_never_closes_and_the_like_are_refused(make):
    with pytest.raises(InputError):
        make()
