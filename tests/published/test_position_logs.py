"""Position logs: the published RMC sentence; GPX against gpxpy, NMEA against pynmea2."""

from datetime import UTC, datetime

import gpxpy
import numpy as np
import pynmea2
import pytest
from support_ride import gpx, nmea, ride

from tickover.errors import FileError
from tickover.physics.tracklog import checksum, read_log

PUBLISHED = b"GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W"
SHORT = [(40.0, 20.0), (60.0, 20.0)]


def test_published_sentence():
    assert checksum(PUBLISHED) == 0x6A
    log = read_log(b"$" + PUBLISHED + b"*6A\r\n" + b"$" + PUBLISHED + b"*6A\r\n", "x")
    assert log.lat[0] == pytest.approx(48.1173, abs=1e-6)
    assert log.lon[0] == pytest.approx(11.516667, abs=1e-6)
    assert 3.6 * log.reported[0] == pytest.approx(41.4848, abs=1e-4)
    assert log.time[0] == datetime(1994, 3, 23, 12, 35, 19, tzinfo=UTC).timestamp()


def test_checksum_against_byte_by_byte():
    rng = np.random.default_rng(1)
    for size in range(1, 90):
        body = rng.integers(1, 255, size).astype(np.uint8)
        assert checksum(body.tobytes()) == int(np.bitwise_xor.reduce(body))


def test_gpx_against_gpxpy():
    data = gpx(ride(SHORT, 10.0), speed=True)
    ours = read_log(data, "x")
    theirs = [p for t in gpxpy.parse(data.decode()).tracks for s in t.segments for p in s.points]
    assert len(ours.time) == len(theirs)
    assert [p.latitude for p in theirs] == ours.lat.tolist()
    assert [p.longitude for p in theirs] == ours.lon.tolist()
    assert [p.time.timestamp() for p in theirs] == pytest.approx(ours.time.tolist(), abs=1e-6)


def test_nmea_against_pynmea2():
    truth = ride(SHORT, 1.0, at=(-33.9, -70.6))
    data = nmea(truth)
    ours = read_log(data, "x")
    for row, line in enumerate(data.decode().split()):
        theirs = pynmea2.parse(line)
        assert ours.lat[row] == pytest.approx(theirs.latitude, abs=1e-9)
        assert ours.lon[row] == pytest.approx(theirs.longitude, abs=1e-9)
        assert ours.reported[row] == pytest.approx(theirs.spd_over_grnd * 1852 / 3600)


def test_wrong_checksum_and_lost_fix_are_counted_not_used():
    lines = nmea(ride(SHORT)).split(b"\r\n")
    lines[3] = lines[3].replace(b",N,", b",S,")
    lines[5] = b"$GPRMC,120005,V,,,,,,,020526,,,N*7D"
    log = read_log(b"\r\n".join(lines), "x")
    assert len(log.time) == len(lines) - 3
    assert any("wrong checksum" in note for note in log.notes)


def test_entities_are_refused():
    bomb = b'<?xml version="1.0"?><!DOCTYPE g [<!ENTITY a "aaaa">]><gpx>&a;</gpx>'
    with pytest.raises(FileError, match="document type"):
        read_log(bomb, "x")


def test_broken_off_log_is_read_as_far_as_it_goes():
    data = gpx(ride(SHORT))
    log = read_log(data[: len(data) // 2], "x")
    assert len(log.time) > 10
    assert "breaks off" in log.notes[0]


@pytest.mark.parametrize(
    "data", [b"", b"time,lat,lon\n", b"<gpx></gpx>", b"$GPGSV,1*00", b"\x00\xff"]
)
def test_no_log_is_a_clear_sentence(data):
    with pytest.raises(FileError) as caught:
        read_log(data, "ride.gpx")
    assert "ride.gpx" in str(caught.value)
