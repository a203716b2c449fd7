"""Order waterfall: how loud each half order of the crankshaft is, from moment to moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.tasks.listen.listening import Listening

ORDERS = 24
"""Half orders shown, 0.5 to 12."""
WINDOW_CYCLES = 8
MOST_ROWS = 60
RANGE_DB = 36.0
STEPS = 9
_SAMPLES_PER_CYCLE = 512


@dataclass(frozen=True, slots=True)
class Waterfall:
    """Levels 0 to 9 of each half order over time.

    `times_s` middle of each row [s]; `levels` one text of digits a row, the digit at k belonging
    to order (k + 1) / 2; 9 is the loudest of the whole picture, each step 4 dB.
    """

    times_s: tuple[float, ...]
    levels: tuple[str, ...]

    def mean_level(self, order: float) -> float:
        """Mean level of one order over all rows, 0 to 9."""
        place = round(2.0 * order) - 1
        return float(np.mean([int(row[place]) for row in self.levels]))


def waterfall(samples: NDArray[np.float32], rate: float, heard: Listening) -> Waterfall | None:
    """The order waterfall of a recording that was understood.

    Parameters
    ----------
    samples : array, shape (n,)
        Full scale 1 [1]
    rate : float
        [Hz]
    heard : Listening

    Returns
    -------
    Waterfall or None
        None where the recording was refused or holds too few cycles.

    Notes
    -----
    The sound is read at even steps of crank angle between the marks, eight cycles at a time, under
    a Hann window: a line then stays in its column whatever the speed does.
    """
    from tickover.physics.sound.conditioning import decimated

    starts = np.asarray([row[0] for row in heard.marks_s])
    if heard.refused is not None or starts.size <= WINDOW_CYCLES:
        return None
    low, low_rate = decimated(samples, rate)
    whole = starts.size - 1
    count = min(MOST_ROWS, max(1, whole - WINDOW_CYCLES + 1))
    firsts = np.unique(np.linspace(0, whole - WINDOW_CYCLES, count).round().astype(int))
    steps = np.arange(WINDOW_CYCLES * _SAMPLES_PER_CYCLE) / _SAMPLES_PER_CYCLE
    window = np.hanning(steps.size)
    cycles = np.arange(starts.size, dtype=float)
    here = np.arange(low.size) / low_rate
    lines = WINDOW_CYCLES * np.arange(1, ORDERS + 1)
    rows = []
    for first in firsts:
        moments = np.interp(first + steps, cycles, starts)
        lines_of = np.abs(np.fft.rfft(np.interp(moments, here, low) * window))[lines]
        rows.append(lines_of)
    power = 20.0 * np.log10(np.asarray(rows) + 1e-12)
    scaled = STEPS * (1.0 + (power - power.max()) / RANGE_DB)
    digits = np.clip(np.round(scaled), 0, STEPS).astype(int)
    middles = np.interp(firsts + WINDOW_CYCLES / 2.0, cycles, starts)
    return Waterfall(
        tuple(round(float(t), 2) for t in middles),
        tuple("".join(map(str, row)) for row in digits),
    )
