"""Combs: what the spectrum of each engine speed should look like for a firing pattern."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LOWEST_RPM = 300.0
HIGHEST_RPM = 13_000.0
GRID_STEP = 0.0075
WINDOWS_S = (0.8, 0.4, 0.2, 0.1)
PERIODS_IN_WINDOW = 5.0
WEAK_LEFT = 0.3  # strength left in the weak cylinder of a one-weak variant
LAST_LINE = 40.0  # lines of the cycle beyond this count less: speed wanders within a frame


@dataclass(frozen=True, slots=True)
class Combs:
    """Templates of one window length.

    `matrix` shape (variants, candidates, bins), each row zero mean and unit length.
    """

    matrix: NDArray[np.float32]


def speed_grid(lowest_rpm: float, highest_rpm: float) -> NDArray[np.float64]:
    """Candidate speeds, evenly spaced in their logarithm.

    Parameters
    ----------
    lowest_rpm, highest_rpm : float
        [1/min]

    Returns
    -------
    array, shape (candidates,)
        [1/min]

    Examples
    --------
    >>> print(np.round(speed_grid(1000.0, 1020.0)))
    [1000. 1008. 1015. 1023.]
    """
    count = int(np.ceil(np.log(highest_rpm / lowest_rpm) / GRID_STEP)) + 1
    return np.asarray(lowest_rpm * np.exp(GRID_STEP * np.arange(count)))


def window_of(speeds_rpm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Index of the window length that holds about five cycles.

    Parameters
    ----------
    speeds_rpm : array, shape (candidates,)
        [1/min]

    Returns
    -------
    array, shape (candidates,)
        Index into `WINDOWS_S`

    Examples
    --------
    >>> print(window_of(np.array([800.0, 1500.0, 9000.0])))
    [0 1 3]
    """
    wanted = np.log(PERIODS_IN_WINDOW * 120.0 / speeds_rpm)
    return np.asarray(np.argmin(np.abs(wanted[:, None] - np.log(np.asarray(WINDOWS_S))), axis=1))


def line_weights(
    fractions: NDArray[np.float64], strengths: NDArray[np.float64], count: int
) -> NDArray[np.float64]:
    """Amplitude of each line of the cycle of ideal pulses.

    Parameters
    ----------
    fractions : array, shape (n,)
        Place of each firing [cycle]
    strengths : array, shape (n,)
        [1]
    count : int
        Lines after the zeroth.

    Returns
    -------
    array, shape (count + 1,)
        Line k lies at order k / 2; the zeroth is set to zero [1]

    Examples
    --------
    >>> print(np.round(line_weights(np.array([0.0, 0.5]), np.ones(2), 4), 6))
    [0. 0. 1. 0. 1.]
    """
    lines = np.arange(count + 1)
    turns = np.exp(-2j * np.pi * np.outer(lines, fractions))
    weights = np.abs(turns @ strengths) / np.sum(strengths)
    weights[0] = 0.0
    return np.asarray(weights)


def variants(fractions: NDArray[np.float64], weak: bool) -> list[NDArray[np.float64]]:
    """Strength patterns looked for: healthy, and one weak.

    Parameters
    ----------
    fractions : array, shape (n,)
        [cycle]
    weak : bool
        Whether to look for one weak cylinder too.

    Returns
    -------
    list of array, shape (n,)
        Healthy first [1]

    Examples
    --------
    >>> len(variants(np.array([0.0, 0.375]), weak=True)), len(variants(np.arange(4) / 4, weak=True))
    (3, 2)
    """
    number = fractions.size
    patterns = [np.ones(number)]
    if number < 2 or not weak:
        return patterns
    even = bool(np.allclose(fractions, np.arange(number) / number, atol=2e-3))
    for slot in range(1 if even else number):
        pattern = np.ones(number)
        pattern[slot] = WEAK_LEFT
        patterns.append(pattern)
    return patterns


def combs(
    fractions: NDArray[np.float64],
    speeds_rpm: NDArray[np.float64],
    frequency_hz: NDArray[np.float64],
    window_s: float,
    patterns: list[NDArray[np.float64]],
) -> Combs:
    """Comb templates for some speeds on one frequency axis.

    Parameters
    ----------
    fractions : array, shape (n,)
        [cycle]
    speeds_rpm : array, shape (candidates,)
        [1/min]
    frequency_hz : array, shape (bins,)
        [Hz]
    window_s : float
        Sets how wide a line is [s]
    patterns : list of array, shape (n,)
        From `variants` [1]

    Returns
    -------
    Combs
    """
    cycle_hz = speeds_rpm / 120.0
    place = frequency_hz[None, :] / cycle_hz[:, None]
    line = np.rint(place).astype(np.int64)
    distance = np.abs(place - line) * cycle_hz[:, None]
    # Half width of a Hann line is 2 / window; wandering speed widens high lines.
    width = 1.6 / window_s + 0.002 * frequency_hz[None, :]
    shape = np.clip(1.0 - distance / width, 0.0, None) / np.sqrt(width * window_s)
    shape *= np.exp(-0.5 * (line / LAST_LINE) ** 2)
    rows = []
    for pattern in patterns:
        weights = line_weights(fractions, pattern, int(np.max(line)))
        row = shape * weights[line]
        row -= np.mean(row, axis=1, keepdims=True)
        row /= np.maximum(np.linalg.norm(row, axis=1, keepdims=True), 1e-9)
        rows.append(row)
    return Combs(np.asarray(rows, dtype=np.float32))
