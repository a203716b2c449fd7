"""What a log says once the sensor's delay, warm-up, misfires and restless stretches are out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.tasks.mixture.logfile import Log
from tickover.tasks.mixture.readings import Reading

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

# A wideband sensor cannot tell beyond these; it sits on them while it warms up.
_LOWEST, _HIGHEST = 0.60, 1.45
_OPENING_EDGES = np.array([0.0, 0.02, 0.09, 0.18, 0.31, 0.43, 0.62, 0.87, 1.0001])
_SPEED_STEP_RPM = 1000.0
_STEADY_S = 0.6
_STEADY_OPENING = 0.02
_STEADY_SPEED = 0.03
_MISFIRE_SPREAD = 0.05
_LONGEST_DELAY_S = 2.0
_MEMORY_S = 1.0
"""Sensor noise is alike over about this long, so a second of log counts as one reading."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a log that was left out, and why."""

    start: float
    end: float
    why: str


@dataclass(frozen=True, slots=True)
class Cell:
    """What the log says of one cell of the map."""

    opening: float
    speed_rpm: float
    lam: float
    spread: float
    seconds: float


@dataclass(frozen=True, slots=True)
class CleanLog:
    """A log, cleaned and put into cells.

    Parameters
    ----------
    cells : tuple of Cell
    delay : float
        Sensor delay taken out [s]
    delay_found : bool
        Found in the log, rather than given.
    left_out : tuple of Stretch
        Warm-up, misfire, gaps.
    seconds, steady_seconds : float
        Length of the log, and of what was used [s]
    rows_skipped : int
    """

    cells: tuple[Cell, ...]
    delay: float
    delay_found: bool
    left_out: tuple[Stretch, ...]
    seconds: float
    steady_seconds: float
    rows_skipped: int


def clean(log: Log, delay: float | None = None) -> CleanLog:
    """Take out what means nothing, and put the rest into cells.

    Parameters
    ----------
    log : Log
    delay : float, optional
        From exhaust valve to figure [s]; found by correlation when not given.

    Returns
    -------
    CleanLog

    Raises
    ------
    InputError
        If the mixture never moves (a sensor cold or stuck), or nothing steady is left.
    """
    step = float(np.median(np.diff(log.time)))
    rate = 1.0 / step if step > 0.0 else 50.0
    lam = np.where((log.lam > _LOWEST) & (log.lam < _HIGHEST), log.lam, np.nan)
    finite = lam[np.isfinite(lam)]
    if finite.size < 10 or float(np.std(finite)) < 1e-4:
        raise InputError(
            "The mixture in this log never moves",
            given=f"lambda {finite[0]:.3f} throughout" if finite.size else "no usable lambda",
            allowed="a sensor that is hot and plugged in",
            instead="the ride again, after a minute of warming the sensor",
        )
    left_out = list(_gaps(log.time, step))
    warm = _warm_from(lam, rate)
    if warm > 0:
        left_out.append(Stretch(float(log.time[0]), float(log.time[warm]), "sensor warming up"))
    found = delay is None
    lag = _find_delay(log, lam, warm, rate) if delay is None else round(delay * rate)
    lam = _shift(lam, lag)
    good = np.isfinite(lam) & np.isfinite(log.opening) & np.isfinite(log.speed_rpm)
    good[:warm] = False
    steady = _steady(log, rate) & good
    misfire = _misfire(lam, steady, rate)
    left_out.extend(_stretches(log.time, misfire, "misfire: it reads falsely lean"))
    steady &= ~misfire
    if not steady.any():
        raise InputError(
            "No steady stretch is left in this log",
            given=f"{log.time[-1] - log.time[0]:.0f} s",
            allowed=f"throttle and speed held for {_STEADY_S:g} s or longer",
            instead="a ride with the throttle held at each mark for some seconds",
        )
    return CleanLog(
        cells=_cells(log, lam, steady, step),
        delay=lag / rate,
        delay_found=found,
        left_out=tuple(sorted(left_out, key=lambda s: s.start)),
        seconds=float(log.time[-1] - log.time[0]),
        steady_seconds=float(steady.sum() * step),
        rows_skipped=log.rows_skipped,
    )


def readings_of(cleaned: CleanLog, name: str) -> tuple[Reading, ...]:
    """The cells as readings, each as sure as the seconds behind it allow."""
    return tuple(
        Reading(c.opening, c.speed_rpm, lam=c.lam, spread=c.spread, where=name)
        for c in cleaned.cells
    )


def _gaps(time: Floats, step: float) -> list[Stretch]:
    wide = np.flatnonzero(np.diff(time) > max(5.0 * step, 0.5))
    return [Stretch(float(time[i]), float(time[i + 1]), "gap in the log") for i in wide]


def _warm_from(lam: Floats, rate: float) -> int:
    """Index from which the sensor lives: two seconds of figures that are there and move."""
    window = max(int(2.0 * rate), 5)
    alive = np.isfinite(lam)
    moves = np.zeros(lam.size, dtype=bool)
    moves[1:] = np.abs(np.diff(np.nan_to_num(lam, nan=0.0))) > 1e-6
    live = np.cumsum(alive & moves)
    present = np.cumsum(alive)
    if lam.size <= window:
        return 0
    enough = (present[window:] - present[:-window] > 0.9 * window) & (
        live[window:] - live[:-window] > 0.1 * window
    )
    first = np.flatnonzero(enough)
    if not first.size:
        return 0
    return 0 if first[0] <= rate * 0.2 else int(first[0])


def _cell_numbers(opening: Floats, speed: Floats) -> NDArray[np.int64]:
    across = np.digitize(opening, _OPENING_EDGES) - 1
    up = np.nan_to_num(speed / _SPEED_STEP_RPM, nan=0.0).astype(np.int64)
    out: NDArray[np.int64] = np.clip(across, 0, 7) * 64 + np.clip(up, 0, 63)
    return out


def _find_delay(log: Log, lam: Floats, warm: int, rate: float) -> int:
    """Delay at which opening and speed explain the mixture best.

    The mixture that each cell of the map has on average is a signal in time; its
    cross-correlation with lambda peaks at the delay. The averages are taken again at the delay
    found, until it stays.
    """
    cell = _cell_numbers(np.nan_to_num(log.opening), log.speed_rpm)[warm:]
    value = lam[warm:]
    most = min(int(_LONGEST_DELAY_S * rate), value.size // 4)
    lag = 0
    for _ in range(4):
        shifted = _shift(value, lag)
        ok = np.isfinite(shifted)
        count = np.bincount(cell[ok], minlength=512)
        total = np.bincount(cell[ok], weights=shifted[ok], minlength=512)
        mean = total / np.maximum(count, 1)
        expected = mean[cell]
        expected = expected - expected.mean()
        seen = np.where(np.isfinite(value), value, np.nanmean(value))
        seen = seen - seen.mean()
        size = 1 << int(np.ceil(np.log2(seen.size + most)))
        spectrum = np.conj(np.fft.rfft(expected, size)) * np.fft.rfft(seen, size)
        correlation = np.fft.irfft(spectrum, size)[: most + 1]
        best = int(np.argmax(correlation))
        if best == lag:
            break
        lag = best
    return lag


def _shift(lam: Floats, lag: int) -> Floats:
    if lag <= 0:
        return lam.copy()
    out = np.full(lam.size, np.nan)
    out[:-lag] = lam[lag:]
    return out


def _steady(log: Log, rate: float) -> Bools:
    window = max(int(_STEADY_S * rate), 3)
    from tickover.tasks.mixture.logscan import quiet

    out: Bools = quiet(log.opening, window, _STEADY_OPENING, False) & quiet(
        log.speed_rpm, window, _STEADY_SPEED, True
    )
    return out


def _misfire(lam: Floats, steady: Bools, rate: float) -> Bools:
    """Steady throttle, restless lambda: unburnt charges pass the sensor as air."""
    window = max(int(_STEADY_S * rate), 5)
    filled = np.where(np.isfinite(lam), lam, 1.0)
    kernel_sum = np.cumsum(np.insert(filled, 0, 0.0))
    kernel_square = np.cumsum(np.insert(filled * filled, 0, 0.0))
    mean = (kernel_sum[window:] - kernel_sum[:-window]) / window
    square = (kernel_square[window:] - kernel_square[:-window]) / window
    spread = np.sqrt(np.maximum(square - mean * mean, 0.0))
    out = np.zeros(lam.size, dtype=bool)
    start = window // 2
    out[start : start + spread.size] = spread > _MISFIRE_SPREAD
    return out & steady


def _stretches(time: Floats, marked: Bools, why: str) -> list[Stretch]:
    edges = np.diff(np.concatenate([[0], marked.astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    merged: list[Stretch] = []
    for a, b in zip(starts, ends, strict=True):
        if merged and time[a] - merged[-1].end < 2.0:
            merged[-1] = Stretch(merged[-1].start, float(time[b]), why)
        elif time[b] - time[a] > 0.2:
            merged.append(Stretch(float(time[a]), float(time[b]), why))
    return merged


def _cells(log: Log, lam: Floats, steady: Bools, step: float) -> tuple[Cell, ...]:
    opening, speed = log.opening[steady], log.speed_rpm[steady]
    value = np.log(lam[steady])
    number = _cell_numbers(opening, speed)
    count = np.bincount(number, minlength=512)
    n = np.maximum(count, 1)
    mean = np.bincount(number, weights=value, minlength=512) / n
    square = np.bincount(number, weights=value * value, minlength=512) / n
    at_opening = np.bincount(number, weights=opening, minlength=512) / n
    at_speed = np.bincount(number, weights=speed, minlength=512) / n
    cells = []
    for i in np.flatnonzero(count * step >= 0.4):
        seconds = float(count[i] * step)
        spread = float(np.sqrt(max(square[i] - mean[i] ** 2, 0.0)))
        # One second of log is one reading; below 1 % the sensor itself is the limit.
        sure = max(spread / np.sqrt(max(seconds / _MEMORY_S, 1.0)), 0.01)
        cells.append(
            Cell(float(at_opening[i]), float(at_speed[i]), float(np.exp(mean[i])), sure, seconds)
        )
    return tuple(cells)
