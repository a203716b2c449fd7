"""Speed: position tracks of three hours, read and fitted, beside a plain gpxpy loop."""

from __future__ import annotations

import sys
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

PLAN = [(80.0, 550.0), (50.0, 300.0)] * 12
"""Speed [km/h] and how long it is held [s]: three hours."""


def _plain(data: bytes) -> float:
    """What anybody would write first: gpxpy, then geographiclib from fix to fix [m]."""
    import gpxpy
    from geographiclib.geodesic import Geodesic

    points = [p for t in gpxpy.parse(data.decode()).tracks for s in t.segments for p in s.points]
    way, speeds = 0.0, []
    for a, b in pairwise(points):
        step = Geodesic.WGS84.Inverse(a.latitude, a.longitude, b.latitude, b.longitude)["s12"]
        way += step
        speeds.append(step / (b.time - a.time).total_seconds())
    return way


def _track_row(rate: float, limit_ms: float, tenths: int = 10) -> dict[str, Any]:
    """One row; the plain loop is timed on so many tenths of the track, and the row says so."""
    from support_ride import Truth, gpx, ride

    from tickover.physics.track import distance_ridden, read_ride, stretches
    from tickover.physics.tracklog import read_log

    data = gpx(ride(PLAN, rate))
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        taken = read_ride(read_log(data, "bench"))
        found = stretches(taken)
        best = min(best, time.perf_counter() - start)
    assert len(found) >= 24
    whole = ride(PLAN, rate)
    last = len(whole.time) * tenths // 10
    part = Truth(whole.time[:last], whole.speed[:last], whole.lat[:last], whole.lon[:last])
    piece = gpx(part)
    start = time.perf_counter()
    way = _plain(piece)
    theirs = 1e3 * (time.perf_counter() - start)
    ours = distance_ridden(read_ride(read_log(piece, "bench")))[0]
    assert abs(ours / way - 1) < 2e-3
    claim = f"track of 3 h at {rate:g} Hz read and fitted"
    if tenths < 10:
        claim += f"; other: a plain loop over {tenths} tenth of it, times {10 // tenths}"
        theirs *= 10 / tenths
    return {"claim": claim, "ours_ms": 1e3 * best, "other_ms": theirs,
            "ratio": theirs / (1e3 * best), "limit": f"< {limit_ms:g} ms",
            "met": 1e3 * best < limit_ms}  # fmt: skip


def rows() -> list[dict[str, Any]]:
    """The rows of this subject."""
    return [_track_row(1.0, 1000.0), _track_row(10.0, 5000.0, tenths=1)]


if __name__ == "__main__":
    for each in rows():
        print(each)
