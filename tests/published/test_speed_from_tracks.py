"""Known speeds ridden over the ellipsoid (places from GeographicLib) and read back."""

import numpy as np
import pytest
from support_ride import BEGIN, Truth, gpx, nmea, ride, shaken

from tickover.physics.track import distance_ridden, read_ride, stretches
from tickover.physics.tracklog import read_log

PLAN = [(50.0, 60.0), (0.0, 20.0), (80.0, 60.0), (100.0, 60.0), (0.0, 10.0), (120.0, 40.0)]
HELD = [50.0, 80.0, 100.0, 120.0]


def cut(each: Truth, rows) -> Truth:
    return Truth(each.time[rows], each.speed[rows], each.lat[rows], each.lon[rows])


@pytest.mark.parametrize("rate", [1.0, 10.0])
@pytest.mark.parametrize("write", [gpx, nmea])
def test_clean_log_gives_the_speeds_held(rate, write):
    found = stretches(read_ride(read_log(write(ride(PLAN, rate)), "x")))
    assert [3.6 * s.speed for s in found] == pytest.approx(HELD, rel=2e-4)


@pytest.mark.parametrize("rate", [1.0, 10.0])
def test_interval_holds_the_truth_of_shaken_places(rate):
    truth = ride(PLAN, rate)
    hits = errors = 0
    wrong, widths = [], []
    for seed in range(15):
        log = read_log(gpx(shaken(truth, np.random.default_rng(seed))), "x")
        for s in stretches(read_ride(log)):
            inside = (truth.time >= s.start) & (truth.time <= s.end)
            middle = float(np.median(truth.speed[inside]))
            hits += abs(s.speed - middle) <= s.half
            errors += 1
            wrong.append(s.speed / middle - 1)
            widths.append(s.half / middle)
    assert errors >= 45
    assert np.median(widths) < 0.02  # an interval that says nothing would always hit
    assert hits >= 0.95 * errors
    assert abs(np.mean(wrong)) < 2e-3  # no bias beyond the thousandth allowed for chords


def test_way_ridden():
    truth = ride(PLAN)
    way, across = distance_ridden(read_ride(read_log(gpx(truth), "x")))
    from geographiclib.geodesic import Geodesic

    whole = Geodesic.WGS84.Inverse(truth.lat[0], truth.lon[0], truth.lat[-1], truth.lon[-1])["s12"]
    assert way == pytest.approx(
        whole, abs=3.0
    )  # walking pace at five starts and stops is not counted
    assert across == 0.0


def test_jumps_are_left_out_and_counted():
    truth = ride(PLAN)
    truth.lat[100], truth.lon[200] = truth.lat[100] + 0.05, truth.lon[200] - 1.0
    found = read_ride(read_log(gpx(truth), "x"))
    assert len(found.time) == len(truth.time) - 2
    assert any(note.startswith("2 fixes left out") for note in found.notes)
    assert next(3.6 * s.speed for s in stretches(found)) == pytest.approx(50.0, rel=1e-3)


def test_tunnel_is_a_gap_no_speed_is_taken_across():
    truth = ride(PLAN)
    away = (truth.time > BEGIN + 180) & (truth.time < BEGIN + 200)
    found = read_ride(read_log(gpx(cut(truth, ~away)), "x"))
    assert any("1 gaps" in note for note in found.notes)
    for s in stretches(found):
        assert s.end <= BEGIN + 180 or s.start >= BEGIN + 200
    assert distance_ridden(found)[1] > 100.0


@pytest.mark.parametrize("mixed", [False, True])
def test_two_riders_joined_fall_apart(mixed):
    one = ride(PLAN)
    other = ride([(70.0, 200.0)], at=(48.0, 11.0), begin=BEGIN + 30)
    data = gpx(one, other)
    if mixed:
        every = Truth(*(np.concatenate(pair) for pair in zip(
            (one.time, one.speed, one.lat, one.lon),
            (other.time, other.speed, other.lat, other.lon), strict=True)))  # fmt: skip
        data = gpx(cut(every, np.argsort(every.time, kind="stable")))
    log = read_log(data, "x")
    first, second = read_ride(log), read_ride(log, 2)
    assert first.others == 1
    assert any("2 recordings" in note for note in first.notes)
    assert len(first.time) == len(one.time)
    assert [3.6 * s.speed for s in stretches(first)] == pytest.approx(HELD, rel=1e-3)
    assert [3.6 * s.speed for s in stretches(second)] == pytest.approx([70.0], rel=1e-3)


def test_bend_and_slow_drift_are_no_steady_stretch():
    n = 400
    turn = np.cumsum(np.full(n, np.deg2rad(6.0)))
    step = 20.0
    north, east = np.cumsum(step * np.cos(turn)), np.cumsum(step * np.sin(turn))
    round_ = Truth(BEGIN + np.arange(n), np.full(n, step), 52 + north / 111e3,
                   4 + east / (111e3 * np.cos(np.deg2rad(52))))  # fmt: skip
    assert stretches(read_ride(read_log(gpx(round_), "x"))) == ()
