"""Speed over time: every frame scored against every speed, and the best path through them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.sound.spectra import (
    ENVELOPE_HZ,
    SPECTRUM_HZ,
    Frames,
    envelope,
    frame_times,
    whitened_frames,
)
from tickover.physics.sound.templates import WINDOWS_S, Combs, combs, window_of

LONG_WINDOW_S = 0.4
STEPS_PER_HOP = 24
STEP_COST = 0.006
CROSS_OVER_HZ = 40.0
WEAK_COST = 0.02  # a one-weak variant must beat the healthy comb by this


@dataclass(frozen=True, slots=True)
class Track:
    """Speed over time: `times_s`, `speed_rpm`, `score`, each shape (frames,)."""

    times_s: NDArray[np.float64]
    speed_rpm: NDArray[np.float64]
    score: NDArray[np.float64]


def score_map(
    samples: NDArray[np.float32],
    rate: float,
    fractions: NDArray[np.float64],
    speeds_rpm: NDArray[np.float64],
    patterns: list[NDArray[np.float64]],
) -> tuple[NDArray[np.float64], NDArray[np.float32]]:
    """How well every candidate speed explains every frame.

    Parameters
    ----------
    samples : array, shape (n,)
        Conditioned recording [1]
    rate : float
        [Hz]
    fractions : array, shape (n,)
        [cycle]
    speeds_rpm : array, shape (candidates,)
        [1/min]
    patterns : list of array, shape (n,)
        Strengths of the slots to look for, from `variants`; the first is preferred [1]

    Returns
    -------
    times : array, shape (frames,)
        [s]
    scores : array, shape (frames, candidates)
        2 ((1 - w) r_spectrum^2 + w r_envelope^2), w = 1 / (1 + (firing / 40 Hz)^2) [1]
    """
    times = frame_times(samples.size / rate)
    swell, swell_rate = envelope(samples, rate)
    scores = np.zeros((times.size, speeds_rpm.size), dtype=np.float32)
    which = window_of(speeds_rpm)
    firing_hz = speeds_rpm * fractions.size / 120.0
    weight = (1.0 / (1.0 + (firing_hz / CROSS_OVER_HZ) ** 2)).astype(np.float32)
    for index, window_s in enumerate(WINDOWS_S):
        here = np.flatnonzero(which == index)
        if here.size == 0:
            continue
        # A long window hardly changes from hop to hop: every second frame is enough.
        skip = 2 if window_s >= LONG_WINDOW_S else 1
        some = times[::skip]
        part = np.zeros((some.size, here.size), dtype=np.float32)
        for signal, signal_rate, band, share in (
            (samples, rate, SPECTRUM_HZ, 1.0 - weight[here]),
            (swell, swell_rate, ENVELOPE_HZ, weight[here]),
        ):
            frames = whitened_frames(signal, signal_rate, window_s, band, some)
            templates = combs(fractions, speeds_rpm[here], frames.frequency, window_s, patterns)
            likeness = _likeness(frames, templates)
            part += 2.0 * share * likeness**2
        scores[::skip, here] = part
        if skip == 2:
            between = 0.5 * (part[:-1] + part[1:])
            scores[1 : 2 * between.shape[0] : 2, here] = between
            scores[2 * between.shape[0] + 1 :: 2, here] = part[-1]
    return times, scores


def _likeness(frames: Frames, templates: Combs) -> NDArray[np.float32]:
    values = frames.values
    length = np.sqrt(np.sum((values - values.mean(axis=1, keepdims=True)) ** 2, axis=1))
    best = np.zeros((values.shape[0], templates.matrix.shape[1]), dtype=np.float32)
    for number, matrix in enumerate(templates.matrix):
        found = values @ matrix.T / np.maximum(length, 1e-9)[:, None]
        np.maximum(best, found - (WEAK_COST if number else 0.0), out=best)
    return best


def best_path(scores: NDArray[np.float32]) -> NDArray[np.int64]:
    """Most plausible speed index per frame (Viterbi).

    Parameters
    ----------
    scores : array, shape (frames, candidates)
        [1]

    Returns
    -------
    array, shape (frames,)

    Notes
    -----
    Maximises the sum of scores less `STEP_COST` for every step on the grid, with at most
    `STEPS_PER_HOP` steps between frames.

    Examples
    --------
    >>> print(best_path(np.eye(3, dtype=np.float32)))
    [0 1 2]
    """
    back = np.zeros(scores.shape, dtype=np.int16)
    total = np.empty((2, scores.shape[1]))
    total[0] = scores[0]
    path = np.zeros(scores.shape[0], dtype=np.int64)
    _viterbi(scores, STEPS_PER_HOP, STEP_COST, back, total[0], total[1], path)
    return path


@compiled
def _viterbi(
    scores: NDArray[np.float32], reach: int, cost: float, back: NDArray[np.int16],
    total: NDArray[np.float64], fresh: NDArray[np.float64], path: NDArray[np.int64],
) -> None:  # fmt: skip
    frames, count = scores.shape
    for frame in range(1, frames):
        for here in range(count):
            best, origin = total[here], here
            for there in range(max(0, here - reach), min(count, here + reach + 1)):
                value = total[there] - cost * abs(there - here)
                if value > best:
                    best, origin = value, there
            fresh[here] = best + scores[frame, here]
            back[frame, here] = origin
        for here in range(count):
            total[here] = fresh[here]
    end = 0
    for here in range(count):
        if total[here] > total[end]:
            end = here
    path[frames - 1] = end
    for frame in range(frames - 1, 0, -1):
        path[frame - 1] = back[frame, path[frame]]


def track_speed(
    times_s: NDArray[np.float64], scores: NDArray[np.float32], speeds_rpm: NDArray[np.float64]
) -> Track:
    """Best path, refined between grid points.

    Parameters
    ----------
    times_s : array, shape (frames,)
        [s]
    scores : array, shape (frames, candidates)
        [1]
    speeds_rpm : array, shape (candidates,)
        [1/min]

    Returns
    -------
    Track
    """
    path = best_path(scores)
    rows = np.arange(path.size)
    inner = np.clip(path, 1, speeds_rpm.size - 2)
    left, middle, right = (scores[rows, inner + shift].astype(float) for shift in (-1, 0, 1))
    bend = left - 2.0 * middle + right
    shift = np.where(bend < -1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
    shift = np.clip(shift, -0.5, 0.5) * (inner == path)
    step = np.log(speeds_rpm[1] / speeds_rpm[0])
    speed = speeds_rpm[path] * np.exp(step * shift)
    return Track(times_s, speed, scores[rows, path].astype(float))
