"""How strong each firing slot sounds: one shared pulse with one amplitude for each slot.

Three readings of each view are averaged. The amplitude of the shared pulse is blind to noise but
suffers when pipes ring differently; the power of each slot's own average pulse bears that, but
not firings that come early and late; the loudness around a mark bears both, but the steady
noise has to be taken off it. They are read from the sound as it is and from the
whitened sound, in which no single ringing pipe can speak for all. None can tell a weak cylinder
from a quieter pipe: only a comparison with an earlier recording of the same engine can.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.physics.sound.marks import Marks
from tickover.physics.sound.orders import firing_gaps

BLOCKS = 8
PREDICTION_ORDER = 8
LEAST_CYCLES = 24
NORMAL_95 = 1.96
FILL_PARTS = 10
QUIET_PERCENT = 25.0


@dataclass(frozen=True, slots=True)
class SlotStrengths:
    """Strength of each slot against the upper middle one.

    `strength`, `low`, `high` shape (slots,): value and 95 % interval of chance alone;
    `alike` share of the pulses' power that one shared pulse explains [1];
    `deviation` standard error, for comparing two recordings [1].
    """

    strength: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    deviation: NDArray[np.float64]
    alike: float
    cycles: int


def slot_windows(
    signal: NDArray[np.float64],
    marks: Marks,
    fractions: NDArray[np.float64],
    use: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Sound around every mark of the cycles in use, equally long for all slots.

    Parameters
    ----------
    signal : array, shape (n,)
        At the rate of the marks [1]
    marks : Marks
    fractions : array, shape (slots,)
        [cycle]
    use : array, shape (cycles,)
        Which cycles to take.

    Returns
    -------
    array, shape (slots, cycles used, length)
        [1]
    """
    cycle = float(np.median(np.diff(marks.times_s[:, 0]))) * marks.rate
    length = max(8, int(np.min(firing_gaps(fractions)) * cycle))
    padded = np.pad(signal, (marks.before, length + 1))
    pieces = np.lib.stride_tricks.sliding_window_view(padded, length)
    places = np.clip(np.rint(marks.times_s[use] * marks.rate).astype(int), 0, signal.size - 1)
    return np.asarray([pieces[places[:, slot]] for slot in range(places.shape[1])])


def whitened(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Signal through its own prediction error filter, which flattens ringing.

    Parameters
    ----------
    signal : array, shape (n,)
        [1]

    Returns
    -------
    array, shape (n,)
        Standard deviation one [1]

    Notes
    -----
    Linear prediction by the autocorrelation method, order `PREDICTION_ORDER`; textbook.
    """
    from scipy.linalg import solve_toeplitz
    from scipy.signal import lfilter

    order = PREDICTION_ORDER
    likeness = np.asarray(
        [float(signal[: signal.size - lag] @ signal[lag:]) for lag in range(order + 1)]
    )
    likeness[0] *= 1.0003  # keeps the equations well posed where the band is empty
    filtered = np.concatenate(([1.0], solve_toeplitz(likeness[:order], -likeness[1:])))
    flat = np.asarray(lfilter(filtered, [1.0], signal))
    return flat / max(float(np.std(flat)), 1e-12)


def slot_strengths(*views: NDArray[np.float64]) -> SlotStrengths:
    """Strength of each slot with an interval from leaving out one block of cycles at a time.

    Parameters
    ----------
    *views : array, shape (slots, cycles, length)
        From `slot_windows`, of the sound and of its whitened form; their strengths are
        averaged [1]

    Returns
    -------
    SlotStrengths

    Raises
    ------
    InputError
        If there are fewer than two slots or `LEAST_CYCLES` cycles.

    Examples
    --------
    >>> pulse = np.exp(-np.arange(40) / 8.0)
    >>> windows = np.array([1.0, 0.5])[:, None, None] * np.tile(pulse, (2, 30, 1))
    >>> print(np.round(slot_strengths(windows).strength, 3))
    [1.  0.5]
    """
    slots, cycles, _ = views[0].shape
    if slots < 2 or cycles < LEAST_CYCLES:
        raise InputError(
            "Slot strengths need at least two slots and enough cycles",
            given=f"{slots} slots, {cycles} cycles",
            allowed=f"2 or more slots, {LEAST_CYCLES} or more cycles",
        )
    parts = np.array_split(np.arange(cycles), BLOCKS)
    whole, left_out, alike = [], [], []
    for windows in views:
        sums = np.asarray([windows[:, part].sum(axis=1) for part in parts])
        squares = np.asarray([(windows[:, part] ** 2).sum(axis=1) for part in parts])
        total, square = sums.sum(axis=0), squares.sum(axis=0)
        strength, likeness = _strengths(total, square, float(cycles))
        whole.append(strength)
        alike.append(likeness)
        left_out.append(
            [
                _strengths(total - sums[i], square - squares[i], float(cycles - parts[i].size))[0]
                for i in range(BLOCKS)
            ]
        )
    strength = _scaled(np.mean(whole, axis=0))
    without = np.asarray([_scaled(row) for row in np.mean(left_out, axis=0)])
    spread = without - without.mean(axis=0)
    deviation = np.sqrt((BLOCKS - 1.0) / BLOCKS * np.sum(spread**2, axis=0))
    reach = NORMAL_95 * deviation
    return SlotStrengths(strength, strength - reach, strength + reach, deviation, alike[0], cycles)


def _strengths(
    total: NDArray[np.float64], squares: NDArray[np.float64], cycles: float
) -> tuple[NDArray[np.float64], float]:
    """Half what repeats, half how loud it is, from sums over the cycles (slots, length)."""
    average, power = total / cycles, squares / cycles
    length = average.shape[1]
    left, scale, _right = np.linalg.svd(average, full_matrices=False)
    amplitude = left[:, 0] * scale[0]
    # The pulse's own sign is arbitrary: most slots must come out positive.
    amplitude = amplitude * (1.0 if np.sum(amplitude) >= 0.0 else -1.0)
    alike = float(scale[0] ** 2 / max(np.sum(scale**2), 1e-30))
    repeats = np.sum(average**2, axis=1)
    chance = (np.sum(power, axis=1) - repeats) / cycles
    own = np.sqrt(np.maximum(repeats - chance, 1e-12 * length))
    coherent = _scaled(0.5 * (_scaled(amplitude) + _scaled(own)))
    return _scaled(0.5 * (coherent + _loudness(power, average))), alike


def _loudness(power: NDArray[np.float64], average: NDArray[np.float64]) -> NDArray[np.float64]:
    """Loudness of each slot from the mean power at each place of its window, shape (slots, length).

    Steady noise is taken off: what does not repeat, where there is least of it. At the pulse
    itself what does not repeat is firings that differ, which is sound of the engine.
    """
    rest = (power - average**2).mean(axis=0)
    edges = np.linspace(0, rest.size, min(FILL_PARTS, rest.size) + 1).astype(int)
    parts = np.add.reduceat(rest, edges[:-1]) / np.diff(edges)
    noise = float(np.percentile(parts, QUIET_PERCENT))
    return _scaled(np.sqrt(np.maximum((power - noise).sum(axis=1), 1e-12 * rest.size)))


def _scaled(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return values / _upper_middle(values)


def _upper_middle(values: NDArray[np.float64]) -> float:
    ordered = np.sort(values)
    return max(float(ordered[ordered.size // 2]), 1e-12)


def echo_fill_db(windows: NDArray[np.float64]) -> float:
    """Sound that repeats with the cycle: its quiet parts against its loud parts.

    Parameters
    ----------
    windows : array, shape (slots, cycles, length)
        From `slot_windows` [1]

    Returns
    -------
    float
        Far below 0 in the open, near 0 where echo fills the time between firings; noise does
        not count, since it does not repeat [dB]
    """
    _slots, cycles, length = windows.shape
    average = windows.mean(axis=1)
    chance = windows.var(axis=1) / cycles
    power = np.maximum(average**2 - chance, 0.0)
    edges = np.linspace(0, length, min(FILL_PARTS, length) + 1).astype(int)
    parts = np.add.reduceat(power, edges[:-1], axis=1) / np.diff(edges)
    quiet, loud = np.percentile(parts, [10.0, 95.0])
    return float(10.0 * np.log10((quiet + 1e-9) / (loud + 1e-9)))


def depth(strength: NDArray[np.float64]) -> tuple[int, float]:
    """The weakest slot, and how far it lies below the middle of the others.

    Parameters
    ----------
    strength : array, shape (slots,)
        [1]

    Returns
    -------
    int, float
        Index of the slot, and 0 for no weaker to 1 for silent [1]

    Examples
    --------
    >>> depth(np.array([1.0, 0.4, 1.1, 1.0]))
    (1, 0.6)
    """
    weakest = int(np.argmin(strength))
    others = np.delete(strength, weakest)
    return weakest, float(1.0 - strength[weakest] / np.median(others))


def best_rotation(
    earlier: NDArray[np.float64], later: NDArray[np.float64], fractions: NDArray[np.float64]
) -> tuple[int, bool]:
    """How far to turn the later slots so that they lie best on the earlier ones.

    Parameters
    ----------
    earlier, later : array, shape (slots, length)
        Average pulses of each slot [1]
    fractions : array, shape (slots,)
        [cycle]

    Returns
    -------
    shift : int
        `np.roll(later, shift)` belongs to earlier.
    clear : bool
        Whether this rotation is clearly better than the second best. Always for an uneven
        pattern, which has only one.

    Notes
    -----
    Each slot rings in its own way; the sum of correlations of like slots decides.
    """
    slots = fractions.size
    length = min(earlier.shape[1], later.shape[1])
    possible = [
        shift
        for shift in range(slots)
        if np.allclose(np.roll(firing_gaps(fractions), shift), firing_gaps(fractions), atol=2e-3)
    ]
    fits = []
    for shift in possible:
        turned = np.roll(later, shift, axis=0)[:, :length]
        base = earlier[:, :length]
        # Take away what all slots share, which says nothing about which is which.
        one = base - base.mean(axis=0)
        two = turned - turned.mean(axis=0)
        size = float(np.linalg.norm(one) * np.linalg.norm(two))
        fits.append(float(np.sum(one * two)) / size if size > 0.0 else 0.0)
    order = np.argsort(fits)[::-1]
    clear = len(possible) == 1 or fits[order[0]] - fits[order[1]] > 0.25
    return possible[int(order[0])], bool(clear)
