"""Has the tracker found half the speed? Every second firing line tells."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tickover.physics.sound.marks import Marks
from tickover.physics.sound.orders import is_even

MISSING_DB = -8.0
HIGHEST_HZ = 850.0
MOST_LINES = 24
CLEAR = 6.0  # a line counts when its neighbours have this many times the power of chance


def cycle_lines(
    signal: NDArray[np.float64], marks: Marks, lines: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Coherent power of the lines of the cycle, and what chance alone would leave of each.

    Parameters
    ----------
    signal : array, shape (n,)
        At the rate of the marks [1]
    marks : Marks
    lines : int
        How many after the zeroth.

    Returns
    -------
    power, chance : array, shape (lines + 1,)
        Line k lies at order k / 2 [1]
    """
    count = 4 * lines
    starts = marks.times_s[:-1, :1] * marks.rate
    lengths = np.diff(marks.times_s[:, 0])[:, None] * marks.rate
    where = starts + lengths * (np.arange(count) / count)
    rows = np.interp(where, np.arange(signal.size), signal)
    each = np.fft.rfft(rows, axis=1)[:, : lines + 1] / count
    mean = each.mean(axis=0)
    spread = np.mean(np.abs(each - mean) ** 2, axis=0)
    return np.abs(mean) ** 2, spread / max(rows.shape[0], 1)


def every_second_missing_db(
    signal: NDArray[np.float64], marks: Marks, firing_angles_deg: tuple[float, ...]
) -> float | None:
    """Level of the odd firing lines against their even neighbours.

    Parameters
    ----------
    signal : array, shape (n,)
        At the rate of the marks [1]
    marks : Marks
    firing_angles_deg : tuple of float
        [deg]

    Returns
    -------
    float or None
        Near 0 at the right speed, far below when the engine turns twice as fast [dB];
        None for uneven patterns, or where too few firing lines stand clear of chance.
    """
    slots = len(firing_angles_deg)
    if not is_even(firing_angles_deg):
        return None
    cycle_hz = 1.0 / float(np.median(np.diff(marks.times_s[:, 0])))
    highest = min(int(HIGHEST_HZ / (cycle_hz * slots)), MOST_LINES)
    if highest < 3:
        return None
    power, chance = cycle_lines(signal, marks, (highest + 1) * slots)
    power, chance = power[::slots], chance[::slots]
    ratios = []
    # The first line has no neighbour below, and a telephone's missing bass would look like a
    # missing line; further up, the middle of both neighbours' levels is blind to any slope.
    for odd in range(3, highest + 1, 2):
        below, above = (power[odd + side] - chance[odd + side] for side in (-1, 1))
        if min(below, above) < CLEAR * chance[odd]:
            continue
        near = float(np.sqrt(below * above))
        own = max(float(power[odd] - chance[odd]), 0.02 * near)
        ratios.append(10.0 * np.log10(own / near))
    if not ratios:
        return None
    level = float(np.mean(np.minimum(ratios, 3.0)))
    # A single missing line may be the comb of one pipe: ask more of it.
    return level if len(ratios) > 1 else 0.5 * level
