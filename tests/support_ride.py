"""Rides that never were: known speeds over the ellipsoid, written as phones write them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

Floats = NDArray[np.float64]
BEGIN = datetime(2026, 5, 2, 12, 0, 0, tzinfo=UTC).timestamp()


@dataclass
class Truth:
    """Where the machine was, and how fast."""

    time: Floats
    speed: Floats
    lat: Floats
    lon: Floats


def ride(
    plan: list[tuple[float, float]], rate_hz: float = 1.0, azimuth: float = 63.0,
    at: tuple[float, float] = (52.1, 4.3), begin: float = BEGIN,
) -> Truth:  # fmt: skip
    """Speeds [km/h] held for so long [s], with 0.8 m/s2 between them, along one geodesic."""
    fine = 0.1
    speed, before = [], 0.0
    for kmh, seconds in plan:
        goal = kmh / 3.6
        ramp = np.arange(before, goal, np.sign(goal - before) * 0.8 * fine)
        speed += [*ramp, *([goal] * round(seconds / fine))]
        before = goal
    v = np.array(speed)
    way = np.concatenate([[0.0], np.cumsum(v[:-1] * fine)])
    every = round(1.0 / (fine * rate_hz))
    v, way = v[::every], way[::every]
    time = begin + np.arange(len(v)) / rate_hz
    # Places from the reference library, so that our own distances are not tested by themselves.
    line = Geodesic.WGS84.Line(*at, azimuth)
    marks = np.arange(0.0, way[-1] + 400.0, 200.0)
    places = [line.Position(float(s)) for s in marks]
    lat = np.interp(way, marks, [p["lat2"] for p in places])
    lon = np.interp(way, marks, [p["lon2"] for p in places])
    return Truth(time, v, lat, lon)


def shaken(truth: Truth, rng: np.random.Generator, metres: float = 1.5) -> Truth:
    """Places off as a phone's are: a slow wander, and a small unrest from fix to fix."""
    n = len(truth.time)
    step = float(np.median(np.diff(truth.time)))
    keep = np.exp(-step / 20.0)
    wander = np.zeros((2, n))
    kicks = rng.normal(0.0, metres * np.sqrt(1 - keep**2), (2, n))
    for i in range(1, n):
        wander[:, i] = keep * wander[:, i - 1] + kicks[:, i]
    wander += rng.normal(0.0, 0.1 * metres, (2, n))
    return Truth(
        truth.time, truth.speed, truth.lat + wander[0] / 111e3,
        truth.lon + wander[1] / (111e3 * np.cos(np.deg2rad(truth.lat))),
    )  # fmt: skip


def gpx(*rides: Truth, speed: bool = False) -> bytes:
    """A GPX 1.1 with one track for each ride."""
    parts = ['<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="tests" '
             'xmlns="http://www.topografix.com/GPX/1/1">\n']  # fmt: skip
    for each in rides:
        parts.append("<trk><trkseg>\n")
        stamps = np.datetime_as_string((each.time * 1000).round().astype("datetime64[ms]"))
        for t, a, b, v in zip(stamps, each.lat, each.lon, each.speed, strict=True):
            more = f"<extensions><speed>{v:.3f}</speed></extensions>" if speed else ""
            parts.append(f'<trkpt lat="{a:.8f}" lon="{b:.8f}"><ele>3.0</ele>'
                         f"<time>{t}Z</time>{more}</trkpt>\n")  # fmt: skip
        parts.append("</trkseg></trk>\n")
    return "".join([*parts, "</gpx>\n"]).encode()


def nmea(each: Truth) -> bytes:
    """RMC sentences, each with its checksum."""
    lines = []
    for t, a, b, v in zip(each.time, each.lat, each.lon, each.speed, strict=True):
        when = datetime.fromtimestamp(t, tz=UTC)
        body = (
            f"GPRMC,{when:%H%M%S}.{when.microsecond // 1000:03d},A,{_dm(a, 2)},"
            f"{'N' if a >= 0 else 'S'},{_dm(b, 3)},{'E' if b >= 0 else 'W'},"
            f"{v / (1852 / 3600):.2f},084.4,{when:%d%m%y},,,A"
        )
        total = 0
        for sign in body.encode():
            total ^= sign
        lines.append(f"${body}*{total:02X}\r\n")
    return "".join(lines).encode()


def _dm(degrees: float, digits: int) -> str:
    whole = int(abs(degrees))
    return f"{whole:0{digits}d}{60 * (abs(degrees) - whole):09.6f}"
