"""A ride out of a position log: jumps, gaps and strangers taken out, steady stretches found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.physics.geodesy import distance, steps
from tickover.physics.tracklog import TrackLog

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Our assumptions, each said on the page that uses it.
FASTEST = 100.0
"""Faster between two fixes is a jump of the receiver, not a ride [m/s]."""
STILL = 0.7
"""Slower counts as standing [m/s]."""
SHORTEST = 8.0
"""Shortest stretch that counts as steady [s]."""
_FEWEST = 10  # fixes of a chain that is a recording; fewer are jumps
_AROUND_S = 1.0  # speed from places this far before and after [s]
_SMOOTH_S = 2.5
_REACH_S = 5.0  # steady means: this long before and after as well
_TURN_RAD = np.deg2rad(12.0)  # in 4 s; a chord over a tighter bend is too short
_LEAST_SPEED = 3.0


@dataclass(frozen=True, slots=True)
class Ride:
    """One machine's way, in order of time.

    Parameters
    ----------
    time, lat, lon, reported : array, shape (n,)
        As `TrackLog`.
    starts : array of bool, shape (n,)
        Where a new run begins: the first fix, and each after a gap.
    interval : float
        Usual time from fix to fix [s]
    others : int
        Further recordings in the same log, not used.
    notes : tuple of str
    """

    time: Floats
    lat: Floats
    lon: Floats
    reported: Floats
    starts: Flags
    interval: float
    others: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of the ride at one speed, straight enough to be measured.

    Parameters
    ----------
    start, end : float
        [s]
    speed, half : float
        Middle value, and half its interval, about 95 percent [m/s]
    by_receiver : bool
        Whether the receiver's own speed was used, not the places.
    """

    start: float
    end: float
    speed: float
    half: float
    by_receiver: bool

    @property
    def seconds(self) -> float:
        """How long it lasted [s]."""
        return self.end - self.start


def read_ride(log: TrackLog, part: int = 1) -> Ride:
    """The longest recording in a log, or the second longest and so on.

    Parameters
    ----------
    log : TrackLog
    part : int
        1 for the longest.

    Returns
    -------
    Ride
        Fixes that only a jump explains are left out and counted in the notes.

    Raises
    ------
    InputError
        No such recording.

    Notes
    -----
    The log is cut where time runs backwards or a fix cannot be reached from the one before; the
    blocks are then chained as far as one machine could have ridden them. Two riders' files
    joined, one after the other or fix by fix, fall into two chains; a fix thrown aside is a chain
    of its own, too short to count.
    """
    notes = list(log.notes)
    chains = _chains(log)
    kept = sorted((c for c in chains if len(c) >= _FEWEST), key=len, reverse=True)
    jumps = sum(len(c) for c in chains if len(c) < _FEWEST)
    if jumps:
        notes.append(f"{jumps} fixes left out: no machine gets there at {FASTEST * 3.6:.0f} km/h")
    if not kept:
        raise InputError("There is no ride in this log", given=f"{len(log.time)} fixes",
                         allowed=f"at least {_FEWEST} fixes that follow each other")  # fmt: skip
    if not 1 <= part <= len(kept):
        raise InputError("There is no such recording in this log", given=str(part),
                         allowed=f"1 to {len(kept)}, the longest first")  # fmt: skip
    if len(kept) > 1:
        notes.append(f"{len(kept)} recordings in one log, by different machines or receivers: "
                     f"number {part} of them is used, the longest is 1")  # fmt: skip
    rows = np.array(kept[part - 1])
    time = log.time[rows]
    gap = np.diff(time)
    usual = float(np.median(gap))
    late = gap > max(2.5, 3.0 * usual)
    starts = np.concatenate([[True], late])
    if late.any():
        notes.append(f"{int(late.sum())} gaps (tunnel, or no reception), {gap[late].sum():.0f} s "
                     "in all: no speed is taken across them")  # fmt: skip
    return Ride(time, log.lat[rows], log.lon[rows], log.reported[rows], starts, usual,
                len(kept) - 1, tuple(notes))  # fmt: skip


def _chains(log: TrackLog) -> list[NDArray[np.int64]]:
    """Rows of the log that one machine can have ridden, in order of time."""
    time, lat, lon = log.time, log.lat, log.lon
    gap, way = np.diff(time), steps(lat, lon)
    with np.errstate(divide="ignore", invalid="ignore"):
        cut = (gap <= 0.0) | (way > FASTEST * gap)
    same = (gap == 0.0) & (way < 0.5)  # the same fix written twice
    cut &= ~same
    edges = np.flatnonzero(cut) + 1
    blocks = np.split(np.arange(len(time)), edges)
    chains: list[list[NDArray[np.int64]]] = []
    for block in blocks:
        first = block[0]
        best, best_pace = None, FASTEST
        # Newest first: of two that could, the one last seen is the same machine.
        for chain in reversed(chains[-50:]):
            last = chain[-1][-1]
            apart = time[first] - time[last]
            if apart <= 0.0:
                continue
            pace = float(distance(lat[last], lon[last], lat[first], lon[first])) / apart
            if pace < best_pace:
                best, best_pace = chain, pace
        if best is None:
            chains.append([block])
        else:
            best.append(block)
    found = []
    for chain in chains:
        rows = np.concatenate(chain)
        fresh = np.concatenate([[True], np.diff(time[rows]) > 0.0])
        found.append(rows[fresh])
    return found


def speeds(ride: Ride) -> tuple[Floats, bool]:
    """Speed at every fix, and whether it is the receiver's own.

    Parameters
    ----------
    ride : Ride

    Returns
    -------
    (array of shape (n,), bool)
        nan near gaps and ends [m/s]

    Notes
    -----
    The receiver's own (Doppler) speed where nearly every fix carries one; else places one second
    before and after, over the ellipsoid.
    """
    n = len(ride.time)
    if np.isfinite(ride.reported).mean() > 0.9:
        return ride.reported.copy(), True
    k = max(1, round(_AROUND_S / ride.interval))
    found = np.full(n, np.nan)
    if n > 2 * k:
        way = steps(ride.lat, ride.lon, 2 * k)
        found[k:-k] = way / (ride.time[2 * k :] - ride.time[: -2 * k])
        run = np.cumsum(ride.starts)
        found[k:-k][run[2 * k :] != run[: -2 * k]] = np.nan
    return found, False


def stretches(ride: Ride) -> tuple[Stretch, ...]:
    """The steady, straight stretches of a ride.

    Parameters
    ----------
    ride : Ride

    Returns
    -------
    tuple of Stretch
        In order of time.

    Notes
    -----
    Speed smoothed over 5 s that changes less than 3 percent (or 0.5 m/s) from 5 s before to 5 s
    after, on a way that bends less than 3 degrees a second, for 8 s or more; cut anew where it
    has drifted 6 percent. The value is a median, its interval from the median deviation with one
    independent value for each 3 s, a floor of 0.02 m/s and a thousandth for chords on bends.
    Checked by riding known speeds in tests/published/test_speed_from_tracks.py.
    """
    speed, own = speeds(ride)
    n = len(speed)
    h = max(1, round(_REACH_S / ride.interval))
    if n <= 2 * h + 1:
        return ()
    smooth = _moving_mean(speed, max(0, round(_SMOOTH_S / ride.interval)))
    allowed = np.maximum(0.03 * smooth[h:-h], 0.5)
    before, now, after = smooth[: -2 * h], smooth[h:-h], smooth[2 * h :]
    with np.errstate(invalid="ignore"):
        steady = (
            (np.abs(after - before) < allowed)
            & (np.abs(after - now) < allowed)
            & (np.abs(now - before) < allowed)
            & (now > _LEAST_SPEED)
        )
    run = np.cumsum(ride.starts)
    steady &= run[2 * h :] == run[: -2 * h]
    good = np.zeros(n, dtype=bool)
    good[h:-h] = steady
    good &= _straight(ride) & np.isfinite(speed) & np.isfinite(smooth)
    found = []
    for first, last in _spans(good):
        for a, b in _without_drift(smooth, first, last):
            if ride.time[b] - ride.time[a] >= SHORTEST:
                found.append(_stretch(ride.time, speed, a, b, own))
    return tuple(found)


def _stretch(time: Floats, speed: Floats, first: int, last: int, own: bool) -> Stretch:
    inside = speed[first : last + 1]
    middle = float(np.median(inside))
    scale = 1.4826 * float(np.median(np.abs(inside - middle)))
    lasts = float(time[last] - time[first])
    # 1.25: a median is that much less sharp than a mean.
    half = 2.0 * 1.25 * scale / np.sqrt(max(2.0, lasts / 3.0)) + 0.02 + 1e-3 * middle
    return Stretch(float(time[first]), float(time[last]), middle, float(half), own)


def _moving_mean(values: Floats, reach: int) -> Floats:
    if reach == 0:
        return values
    filled = np.where(np.isfinite(values), values, 0.0)
    sums = np.concatenate([[0.0], np.cumsum(filled)])
    holes = np.concatenate([[0], np.cumsum(~np.isfinite(values))])
    wide = 2 * reach + 1
    mean = np.full(len(values), np.nan)
    if len(values) >= wide:
        whole = holes[wide:] == holes[:-wide]
        mean[reach:-reach] = np.where(whole, (sums[wide:] - sums[:-wide]) / wide, np.nan)
    return mean


def _straight(ride: Ride) -> Flags:
    """Where the way bends little: chords of 4 s before and after point alike."""
    k = max(1, round(4.0 / ride.interval))
    flags = np.zeros(len(ride.time), dtype=bool)
    if len(flags) <= 2 * k:
        return flags
    north = np.diff(ride.lat)
    east = (np.diff(ride.lon) + 540.0) % 360.0 - 180.0
    east *= np.cos(np.deg2rad(ride.lat[:-1]))
    y, x = (np.concatenate([[0.0], np.cumsum(each)]) for each in (north, east))
    y1, x1 = y[k:-k] - y[: -2 * k], x[k:-k] - x[: -2 * k]
    y2, x2 = y[2 * k :] - y[k:-k], x[2 * k :] - x[k:-k]
    turn = np.abs(np.arctan2(x1 * y2 - y1 * x2, x1 * x2 + y1 * y2))
    flags[k:-k] = turn < _TURN_RAD
    return flags


def _spans(flags: Flags) -> list[tuple[int, int]]:
    edges = np.diff(np.concatenate([[0], flags.astype(np.int8), [0]]))
    first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _without_drift(smooth: Floats, first: int, last: int) -> list[tuple[int, int]]:
    """A span cut wherever its speed has wandered by more than 6 percent."""
    inside = smooth[first : last + 1]
    if inside.max() - inside.min() <= max(0.06 * inside.min(), 1.0):
        return [(first, last)]
    pieces, start = [], first
    low = high = smooth[first]
    for row in range(first, last + 1):
        low, high = min(low, smooth[row]), max(high, smooth[row])
        if high - low > max(0.06 * low, 1.0):
            pieces.append((start, row - 1))
            start, low, high = row, smooth[row], smooth[row]
    pieces.append((start, last))
    return pieces


def distance_ridden(ride: Ride) -> tuple[float, float]:
    """How far the machine went, and how much of it is a straight line across gaps.

    Parameters
    ----------
    ride : Ride

    Returns
    -------
    (float, float)
        Way and share across gaps, standing left out [m]

    Notes
    -----
    Steps of about one second, because shorter ones add up the unrest of the places; wander while
    standing is not counted.
    """
    k = max(1, round(1.0 / ride.interval))
    # Every start of a run, and the fix before it, is kept so that gaps stay gaps.
    keep = np.zeros(len(ride.time), dtype=bool)
    keep[::k] = True
    keep |= ride.starts
    keep[np.flatnonzero(ride.starts[1:])] = True
    keep[-1] = True
    rows = np.flatnonzero(keep)
    way = steps(ride.lat[rows], ride.lon[rows])
    gap = ride.starts[rows[1:]]
    moving = gap | (way > STILL * np.diff(ride.time[rows]))
    return float(way[moving].sum()), float(way[gap].sum())
