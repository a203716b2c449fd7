"""Marks: the moment of every firing, found together by dynamic programming.

First pass: where the envelope rises. Later passes: where the average pulse of each slot fits
best. Every pass weighs the fit against how unlikely a step is from the speed track.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.sound.orders import firing_gaps
from tickover.physics.sound.tracking import Track

FIRST_TOLERANCE = 0.06  # standard deviation allowed of a firing gap against the track
TOLERANCE = 0.03
REACH = 4.0  # how many of these a step may be off
PASSES = 3
LEVEL_S = 0.4
TRUST = 0.3  # samples of noise are not independent; this share of them is
MEAN_S = 0.15  # the speed given for a moment is the mean over this long


@dataclass(frozen=True, slots=True)
class Marks:
    """Firings found, one row a cycle.

    `times_s` shape (cycles, slots); `pulses` shape (slots, length) average pulse of each slot
    at `rate`, mark at sample `before`; `agreement` share of cycles whose length agrees with
    the track within 12 %.
    """

    times_s: NDArray[np.float64]
    pulses: NDArray[np.float64]
    before: int
    rate: float
    agreement: float


def levelled(samples: NDArray[np.float32], rate: float) -> NDArray[np.float64]:
    """Recording divided by its own slow loudness, so that a blip does not drown the idle.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    array, shape (n,)
        [1]
    """
    return np.asarray(samples / loudness(samples, rate), dtype=np.float64)


def loudness(samples: NDArray[np.float32], rate: float) -> NDArray[np.float64]:
    """Slow root mean square, over `LEVEL_S` smoothed twice.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    array, shape (n,)
        Never zero [1]
    """
    power = samples.astype(np.float64) ** 2
    for _ in range(2):
        power = _running_mean(power, int(LEVEL_S * rate / 2.0))
    return np.asarray(np.sqrt(power + 1e-12 + 1e-3 * float(np.mean(power))))


def _running_mean(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    total = np.concatenate(([0.0], np.cumsum(values)))
    index = np.arange(values.size)
    low, high = np.maximum(index - reach, 0), np.minimum(index + reach + 1, values.size)
    return np.asarray(np.maximum((total[high] - total[low]) / (high - low), 0.0))


def mark_signal(samples: NDArray[np.float32], rate: float) -> tuple[NDArray[np.float64], float]:
    """What the marks are sought in: levelled, at half the rate.

    Parameters
    ----------
    samples : array, shape (n,)
        Conditioned recording [1]
    rate : float
        [Hz]

    Returns
    -------
    array, shape (n / 2,), and its rate
        [1], [Hz]
    """
    return np.ascontiguousarray(halved(levelled(samples, rate))), rate / 2.0


def find_marks(
    half: NDArray[np.float64],
    half_rate: float,
    fractions: NDArray[np.float64],
    track: Track,
) -> Marks:
    """Moment of every firing.

    Parameters
    ----------
    half : array, shape (n,)
        From `mark_signal` [1]
    half_rate : float
        [Hz]
    fractions : array, shape (n,)
        [cycle]
    track : Track
        Speed to start from.

    Returns
    -------
    Marks
    """
    grid = np.arange(half.size) / half_rate
    cycle = np.interp(grid, track.times_s, 120.0 / track.speed_rpm) * half_rate
    gaps = firing_gaps(fractions)
    shortest = float(np.min(gaps) * np.median(cycle))
    before = max(2, int(min(0.3 * shortest, 0.008 * half_rate)))
    length = before + max(4, int(min(0.7 * shortest, 0.035 * half_rate)))
    rises = _rises(half, half_rate, shortest)
    places = _first_marks(rises, cycle, gaps)
    if np.ptp(gaps) > 1e-6:
        places = _best_turn(half, rises, places, fractions, cycle, before, length)
    for _ in range(PASSES - 1):
        places, match = _better_marks(half, places, cycle, gaps, before, length)
    fine = _between_samples(match, places)
    pulses, _ = average_pulses(half, places, before, length)
    times = fine / half_rate
    lengths = np.diff(times[:, 0])
    expected = np.interp(
        (times[1:, 0] + times[:-1, 0]) / 2.0, track.times_s, 120.0 / track.speed_rpm
    )
    agreement = float(np.mean(np.abs(lengths / expected - 1.0) < 0.12)) if lengths.size else 0.0
    return Marks(times, pulses, before, half_rate, agreement)


def _better_marks(
    half: NDArray[np.float64],
    places: NDArray[np.int64],
    cycle: NDArray[np.float64],
    gaps: NDArray[np.float64],
    before: int,
    length: int,
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """One more pass: where the average pulses around these marks fit best."""
    pulses, noise = average_pulses(half, places, before, length)
    match = _matches(half, pulses, before)
    match -= 0.5 * np.sum(pulses**2, axis=1)[:, None]
    match *= TRUST / noise
    return _best_marks(match, cycle, gaps, TOLERANCE, REACH), match


def _best_turn(
    half: NDArray[np.float64],
    rises: NDArray[np.float64],
    places: NDArray[np.int64],
    fractions: NDArray[np.float64],
    cycle: NDArray[np.float64],
    before: int,
    length: int,
) -> NDArray[np.int64]:
    """Marks of an uneven pattern begun at the firing where it lies best on the sound.

    With a weak cylinder the first pass can lay the pattern on the wrong firings, one of them on
    silence, and later passes never leave it: each slot is tried as the first.
    """
    trials, energies, begins = [], [], []
    for slot in range(fractions.size):
        begin = places[:, slot]
        turned = begin[:, None] + fractions * cycle[np.clip(begin, 0, half.size - 1)][:, None]
        turned = turned[turned[:, -1] < half.size]
        if turned.shape[0] < 2:
            continue
        tried, _ = _better_marks(
            half, np.rint(turned).astype(np.int64), cycle, firing_gaps(fractions), before, length
        )
        if tried.shape[0] < 2:
            continue
        pulses, _ = average_pulses(half, tried, before, length)
        trials.append(tried)
        energies.append(float(np.sum(pulses**2)))
        begins.append(float(np.mean(rises[np.clip(tried, 0, rises.size - 1)])))
    if not trials:
        return places
    # A pulse begins louder than it ends: on a weak firing the sound still rises, on the tail of
    # a strong one it falls. At speed rises blur and the energy of the pulses tells instead.
    worth = np.asarray(energies) / max(energies) + np.asarray(begins) / max(*begins, 1e-9)
    return trials[int(np.argmax(worth))]


def _first_marks(
    rises: NDArray[np.float64], cycle: NDArray[np.float64], gaps: NDArray[np.float64]
) -> NDArray[np.int64]:
    """First pass; an even pattern has one kind of gap, so one row does for all slots."""
    slots = gaps.size
    if np.ptp(gaps) > 1e-6:
        return _best_marks(np.tile(rises, (slots, 1)), cycle, gaps, FIRST_TOLERANCE, REACH)
    row = _best_marks(rises[None, :], cycle / slots, np.ones(1), FIRST_TOLERANCE, REACH)
    return row[: row.shape[0] // slots * slots, 0].reshape(-1, slots)


def halved(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Every second sample after a low pass.

    Parameters
    ----------
    values : array, shape (n,)
        [1]

    Returns
    -------
    array, shape (n / 2,)
        [1]
    """
    from scipy.signal import firwin, upfirdn

    taps = firwin(41, 0.48)
    thin = upfirdn(taps, values, up=1, down=2)
    return np.asarray(thin[10 : 10 + -(-values.size // 2)])


def _rises(signal: NDArray[np.float64], rate: float, shortest: float) -> NDArray[np.float64]:
    """How much louder it is just after than just before each sample, in deviations."""
    swell = np.abs(signal) ** 0.7
    reach = max(3, int(min(0.3 * shortest, 0.012 * rate)))
    total = np.concatenate((np.zeros(reach), np.cumsum(swell), np.zeros(reach)))
    total[total.size - reach :] = total[total.size - reach - 1]
    middle = total[reach : reach + swell.size]
    rise = total[2 * reach : 2 * reach + swell.size] - 2.0 * middle + total[: swell.size]
    deviation = float(np.std(rise))
    return np.asarray(rise / deviation if deviation > 0.0 else rise)


def average_pulses(
    signal: NDArray[np.float64], places: NDArray[np.int64], before: int, length: int
) -> tuple[NDArray[np.float64], float]:
    """Average sound around the marks of each slot, and the variance left over.

    Parameters
    ----------
    signal : array, shape (n,)
        [1]
    places : array, shape (cycles, slots)
        Sample of each mark
    before, length : int
        Samples before the mark, and in all

    Returns
    -------
    pulses : array, shape (slots, length)
        [1]
    noise : float
        [1]
    """
    padded = np.pad(signal, (before, length))
    pieces = np.lib.stride_tricks.sliding_window_view(padded, length)
    pulses = np.empty((places.shape[1], length))
    left = 0.0
    for slot in range(places.shape[1]):
        rows = pieces[np.clip(places[:, slot], 0, signal.size - 1)]
        pulses[slot] = np.mean(rows, axis=0)
        left += float(np.mean((rows - pulses[slot]) ** 2))
    return pulses, max(left / places.shape[1], 1e-9)


def explained(signal: NDArray[np.float64], marks: Marks, use: NDArray[np.bool_]) -> float:
    """Share of the power around the marks that the average pulses of these cycles explain.

    Parameters
    ----------
    signal : array, shape (n,)
        From `mark_signal` [1]
    marks : Marks
    use : array, shape (cycles,)

    Returns
    -------
    float
        Near 1 for a clean engine, near 0 for noise [1]
    """
    if np.count_nonzero(use) < 4:
        return 0.0
    places = np.rint(marks.times_s[use] * marks.rate).astype(np.int64)
    pulses, noise = average_pulses(signal, places, marks.before, marks.pulses.shape[1])
    # The average of n cycles keeps one n-th of the noise: take it out again.
    power = max(0.0, float(np.mean(pulses**2)) - noise / np.count_nonzero(use))
    return power / (power + noise)


def _matches(
    signal: NDArray[np.float64], pulses: NDArray[np.float64], before: int
) -> NDArray[np.float64]:
    """How each pulse lies on the sound at each place."""
    found = np.empty((pulses.shape[0], signal.size))
    _fill_matches(found, signal, pulses, before)
    return found


@compiled
def _fill_matches(
    found: NDArray[np.float64], signal: NDArray[np.float64], pulses: NDArray[np.float64],
    before: int,
) -> None:  # fmt: skip
    slots, length = pulses.shape
    size = signal.size
    for slot in range(slots):
        for place in range(size):
            first = max(0, before - place)
            last = min(length, size - place + before)
            total = 0.0
            for index in range(first, last):
                total += signal[place - before + index] * pulses[slot, index]
            found[slot, place] = total


def _best_marks(
    match: NDArray[np.float64],
    cycle: NDArray[np.float64],
    gaps: NDArray[np.float64],
    tolerance: float,
    reach: float,
) -> NDArray[np.int64]:
    """The marks, in cycles and slots, that lie best on the sound with even enough gaps."""
    slots, size = match.shape
    total = np.full((slots, size), -1e30)
    back = np.full((slots, size), -1, dtype=np.int32)
    places = np.empty(size, dtype=np.int64)
    count = _follow_marks(match, cycle, gaps, tolerance, reach, total, back, places)
    return places[: count // slots * slots][::-1].reshape(-1, slots)


@compiled
def _follow_marks(
    match: NDArray[np.float64],
    cycle: NDArray[np.float64],
    gaps: NDArray[np.float64],
    tolerance: float,
    reach: float,
    total: NDArray[np.float64],
    back: NDArray[np.int32],
    places: NDArray[np.int64],
) -> int:
    """Fill in the places from the last mark to the first; gives their count."""
    slots, size = match.shape
    for place in range(size):
        for slot in range(slots):
            previous = (slot - 1) % slots
            wanted = gaps[previous] * cycle[place]
            low = int(wanted * (1.0 - reach * tolerance))
            high = int(wanted * (1.0 + reach * tolerance)) + 1
            best, origin = -1e30, -1
            for step in range(max(1, low), high + 1):
                if step > place:
                    break
                value = total[previous, place - step]
                if value > -1e29:
                    off = (step / wanted - 1.0) / tolerance
                    value -= 0.5 * off * off
                    if value > best:
                        best, origin = value, place - step
            if slot == 0 and place < 1.5 * cycle[place] and best < 0.0:
                best, origin = 0.0, -1
            if best > -1e29:
                total[slot, place] = best + match[slot, place]
                back[slot, place] = origin
    last = slots - 1
    start = max(0, size - int(1.5 * cycle[size - 1]))
    end = start
    for place in range(start, size):
        if total[last, place] > total[last, end]:
            end = place
    count = 0
    slot, place = last, end
    while place >= 0 and total[slot, place] > -1e29:
        places[count] = place
        count += 1
        place = back[slot, place]
        slot = (slot - 1) % slots
    return count


def _between_samples(match: NDArray[np.float64], places: NDArray[np.int64]) -> NDArray[np.float64]:
    """Marks moved to the top of the parabola through the match and its neighbours."""
    fine = places.astype(np.float64)
    size = match.shape[1]
    for slot in range(places.shape[1]):
        here = np.clip(places[:, slot], 1, size - 2)
        left, middle, right = (match[slot, here + shift] for shift in (-1, 0, 1))
        bend = left - 2.0 * middle + right
        shift = np.where(bend < -1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
        fine[:, slot] += np.clip(shift, -0.5, 0.5)
    return fine


def cycle_count(marks: Marks, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cycles turned since the first mark, running on at the end speeds outside the marks.

    Parameters
    ----------
    marks : Marks
    times_s : array, shape (n,)
        [s]

    Returns
    -------
    array, shape (n,)
        [cycle]
    """
    times, count = marks.times_s, np.arange(marks.times_s.shape[0], dtype=float)
    places = slot_places(times)
    knots, turned = times.ravel(), (count[:, None] + places[None, :]).ravel()
    found = np.interp(times_s, knots, turned)
    first, last = times[1, 0] - times[0, 0], times[-1, -1] - times[-2, -1]
    found = np.where(times_s < knots[0], turned[0] + (times_s - knots[0]) / first, found)
    return np.where(times_s > knots[-1], turned[-1] + (times_s - knots[-1]) / last, found)


def slot_places(times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where in the cycle the marks of each slot really lie, on average.

    Parameters
    ----------
    times_s : array, shape (cycles, slots)
        [s]

    Returns
    -------
    array, shape (slots,)
        From the first slot [cycle]
    """
    lengths = np.diff(times_s[:, 0])[:, None]
    return np.asarray(np.median((times_s[:-1] - times_s[:-1, :1]) / lengths, axis=0))


def mean_speed(marks: Marks, times_s: NDArray[np.float64], over_s: float) -> NDArray[np.float64]:
    """Mean speed over a time centred on each moment, from the marks.

    Parameters
    ----------
    marks : Marks
    times_s : array, shape (n,)
        [s]
    over_s : float
        [s]

    Returns
    -------
    array, shape (n,)
        [1/min]
    """
    turned = cycle_count(marks, times_s + over_s / 2.0) - cycle_count(marks, times_s - over_s / 2)
    return np.asarray(120.0 * turned / over_s)
