"""Where the engine idles, how steady it is, how it drifts, and what it does when blipped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tickover.physics.sound.marks import Marks  # loads compiled loops: not for a kept blip

IDLE_BAND = 0.13  # of the idle speed; further off is not idling
BLIP_PEAK = 1.35  # times the idle around it
BLIP_LEAVES = 1.12
SETTLED = 0.08
HANGING_S = 1.0  # above the idle, after the throttle shut, hardly falling
FALLS_PER_S = 0.3  # a fall of the logarithm slower than this is hanging: e times in three seconds
SLOPE_S = 0.5
EDGE_S = 0.6
LEAST_DRIFT_S = 10.0
DETREND_CYCLES = 8
NORMAL_95 = 1.96


@dataclass(frozen=True, slots=True)
class Variation:
    """Cycle to cycle variation of the cycle length: value, 95 % interval, floor [1]."""

    value: float
    low: float
    high: float
    floor: float
    cycles: int


@dataclass(frozen=True, slots=True)
class Blip:
    """One twist of the throttle.

    `rise_s` from a tenth to nine tenths of the way up; `fall_s` from nine tenths back to three
    tenths; `settle_s` from the peak until within 8 % of the idle before, None if never;
    `hanging` when it stays nearly level above the idle for over a second on the way down.
    """

    start_s: float
    peak_s: float
    peak_rpm: float
    idle_before_rpm: float
    rise_s: float
    fall_s: float | None
    settle_s: float | None
    hanging: bool


@dataclass(frozen=True, slots=True)
class Drift:
    """Slope of the idle over the recording, with its 95 % interval [1/min per minute]."""

    rpm_per_minute: float
    low: float
    high: float


def idle_frames(speed_rpm: NDArray[np.float64], hop_s: float) -> NDArray[np.bool_]:
    """Frames in which the engine idles: near the slow running level, and not on its way.

    Parameters
    ----------
    speed_rpm : array, shape (frames,)
        [1/min]
    hop_s : float
        [s]

    Returns
    -------
    array, shape (frames,)
    """
    base = idle_level(speed_rpm, hop_s)
    near = np.abs(speed_rpm / base - 1.0) < IDLE_BAND
    reach = max(1, int(0.3 / hop_s))
    # A frame within 0.3 s of a departure is on its way up or down.
    away = np.convolve(speed_rpm > base * (1.0 + IDLE_BAND), np.ones(2 * reach + 1), "same") > 0.5
    return np.asarray(near & ~away)


def idle_level(speed_rpm: NDArray[np.float64], hop_s: float) -> NDArray[np.float64]:
    """Idle speed around each moment: a low percentile over about eight seconds.

    Parameters
    ----------
    speed_rpm : array, shape (frames,)
        [1/min]
    hop_s : float
        [s]

    Returns
    -------
    array, shape (frames,)
        [1/min]
    """
    step = max(1, int(0.5 / hop_s))
    reach = int(4.0 / hop_s)
    middles = np.arange(0, speed_rpm.size, step)
    levels = [np.percentile(speed_rpm[max(0, m - reach) : m + reach + 1], 25.0) for m in middles]
    # No local level may lie far above the recording's own slow running: a long blip is not idle.
    lowest = float(np.percentile(speed_rpm, 15.0))
    kept = np.minimum(levels, 1.35 * lowest)
    return np.interp(np.arange(speed_rpm.size), middles, kept)


def cycle_variation(marks: Marks, use: NDArray[np.bool_], fit: float) -> Variation | None:
    """Cycle to cycle variation of the length of a cycle.

    Parameters
    ----------
    marks : Marks
    use : array, shape (cycles,)
        Cycles that idle.
    fit : float
        Share of the power the average pulses explain; sets the floor [1]

    Returns
    -------
    Variation or None
        None with fewer than 20 cycles in use.

    Notes
    -----
    Standard deviation over mean, slow wandering over about 17 cycles taken out, averaged over
    the slots. The floor is what the marks' own scatter would make of a perfectly even engine;
    its square is taken off.
    """
    times = marks.times_s
    both = use[1:] & use[:-1]
    if np.count_nonzero(both) < 20:
        return None
    variances, counts = [], []
    for slot in range(times.shape[1]):
        lengths = np.diff(times[:, slot])
        slow = _running_mean(lengths, DETREND_CYCLES)
        relative = (lengths / slow - 1.0)[both]
        middle = float(np.median(np.abs(relative))) / 0.6745
        kept = np.abs(relative) < max(6.0 * middle, 0.01)
        # Taking out a mean over 17 takes 1/17 of the variance with it.
        gain = 1.0 - 1.0 / (2 * DETREND_CYCLES + 1)
        variances.append(float(np.mean(relative[kept] ** 2)) / gain)
        counts.append(int(np.count_nonzero(kept)))
    floor = mark_floor(marks, use, fit)
    value = float(np.sqrt(max(np.median(variances) - floor**2, 0.0)))
    cycles = int(np.median(counts))
    reach = NORMAL_95 * float(np.sqrt((value**2 + floor**2) / (2.0 * cycles)))
    return Variation(value, max(0.0, value - reach), value + reach, floor, cycles)


def mark_floor(marks: Marks, use: NDArray[np.bool_], fit: float) -> float:
    """Variation that the scatter of the marks alone would show.

    Parameters
    ----------
    marks : Marks
    use : array, shape (cycles,)
    fit : float
        [1]

    Returns
    -------
    float
        [1]

    Notes
    -----
    From the sharpness of the average pulse and the noise left: the smallest possible standard
    deviation of a time of arrival, twice per cycle.
    """
    slope = np.gradient(marks.pulses, axis=1)
    strongest = float(np.max(np.sum(slope**2, axis=1)))
    noise = float(np.mean(marks.pulses**2)) * (1.0 - fit) / max(fit, 1e-6)
    deviation_samples = np.sqrt(noise / max(strongest, 1e-30))
    cycle = float(np.median(np.diff(marks.times_s[:, 0])[use[1:]])) if np.any(use[1:]) else 1.0
    return float(np.sqrt(2.0) * deviation_samples / (cycle * marks.rate))


def _running_mean(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    total = np.concatenate(([0.0], np.cumsum(values)))
    index = np.arange(values.size)
    low, high = np.maximum(index - reach, 0), np.minimum(index + reach + 1, values.size)
    return np.asarray((total[high] - total[low]) / (high - low))


def idle_drift(
    times_s: NDArray[np.float64], speed_rpm: NDArray[np.float64], idle: NDArray[np.bool_]
) -> Drift | None:
    """Slope of the idle speed over the recording.

    Parameters
    ----------
    times_s, speed_rpm : array, shape (frames,)
        [s], [1/min]
    idle : array, shape (frames,)

    Returns
    -------
    Drift or None
        None when the idling parts span less than 10 s.

    Notes
    -----
    Theil-Sen slope through one median for each second; its interval from the order statistics
    of the slopes (Sen 1968), widened for the dependence of neighbouring seconds.
    """
    seconds = np.floor(times_s).astype(int)
    middles, levels = [], []
    for second in np.unique(seconds[idle]):
        here = idle & (seconds == second)
        if np.count_nonzero(here) >= 10:
            middles.append(float(np.mean(times_s[here])))
            levels.append(float(np.median(speed_rpm[here])))
    if len(middles) < 6 or middles[-1] - middles[0] < LEAST_DRIFT_S - 1.5:
        return None
    when, level = np.asarray(middles), np.asarray(levels)
    first, second_index = np.triu_indices(when.size, 1)
    slopes = np.sort((level[second_index] - level[first]) / (when[second_index] - when[first]))
    count = when.size
    reach = NORMAL_95 * np.sqrt(count * (count - 1) * (2 * count + 5) / 18.0) * 1.5
    low = int(max(0, np.floor((slopes.size - reach) / 2.0)))
    high = int(min(slopes.size - 1, np.ceil((slopes.size + reach) / 2.0)))
    return Drift(
        60.0 * float(np.median(slopes)), 60.0 * float(slopes[low]), 60.0 * float(slopes[high])
    )


def find_blips(times_s: NDArray[np.float64], speed_rpm: NDArray[np.float64]) -> tuple[Blip, ...]:
    """Every twist of the throttle in a speed track.

    Parameters
    ----------
    times_s, speed_rpm : array, shape (frames,)
        [s], [1/min]

    Returns
    -------
    tuple of Blip
    """
    if times_s.size < 8:
        return ()
    hop = float(times_s[1] - times_s[0])
    base = idle_level(speed_rpm, hop)
    high = speed_rpm > BLIP_LEAVES * base
    edges = np.flatnonzero(np.diff(np.concatenate(([0], high.astype(np.int8), [0]))))
    # What begins at the very end cannot be timed, and marks run wild where a recording breaks off.
    last = speed_rpm.size - int(EDGE_S / hop)
    blips = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        peak = begin + int(np.argmax(speed_rpm[begin:end]))
        if speed_rpm[peak] < BLIP_PEAK * base[peak] or begin == 0 or begin > last:
            continue
        blips.append(_one_blip(times_s, speed_rpm, base, int(begin), int(end), peak))
    return tuple(blips)


def _one_blip(
    times: NDArray[np.float64],
    speed: NDArray[np.float64],
    base: NDArray[np.float64],
    begin: int,
    end: int,
    peak: int,
) -> Blip:
    hop = float(times[1] - times[0])
    idle = float(np.median(speed[max(0, begin - int(2.0 / hop)) : max(1, begin - 2)]))
    idle = min(idle, float(base[begin])) if idle > 1.2 * base[begin] else idle
    swing = float(speed[peak]) - idle
    rising, falling = speed[: peak + 1], speed[peak:]
    tenth = _crossing(times[: peak + 1][::-1], rising[::-1], idle + 0.1 * swing)
    nine_up = _crossing(times[: peak + 1][::-1], rising[::-1], idle + 0.9 * swing)
    nine_down = _crossing(times[peak:], falling, idle + 0.9 * swing)
    three = _crossing(times[peak:], falling, idle + 0.3 * swing)
    settle = _crossing(times[peak:], falling, idle * (1.0 + SETTLED))
    rise = (nine_up - tenth) if tenth is not None and nine_up is not None else 0.0
    fall = three - nine_down if three is not None and nine_down is not None else None
    return Blip(
        start_s=float(tenth if tenth is not None else times[begin]),
        peak_s=float(times[peak]),
        peak_rpm=float(speed[peak]),
        idle_before_rpm=idle,
        rise_s=float(abs(rise)),
        fall_s=None if fall is None else float(fall),
        settle_s=None if settle is None else float(settle - times[peak]),
        hanging=_hangs(times, speed, nine_down, settle),
    )


def _hangs(
    times: NDArray[np.float64],
    speed: NDArray[np.float64],
    shut: float | None,
    settled: float | None,
) -> bool:
    """Whether the speed stays nearly level for long between the peak and the idle."""
    if shut is None:
        return False
    hop = float(times[1] - times[0])
    reach = max(1, int(SLOPE_S / hop / 2.0))
    logs = np.log(np.maximum(speed, 1.0))
    slope = (logs[2 * reach :] - logs[: -2 * reach]) / (2 * reach * hop)
    middles = times[reach:-reach]
    between = (middles > shut) & (middles < (times[-1] if settled is None else settled))
    return bool(np.count_nonzero(between & (slope > -FALLS_PER_S)) * hop > HANGING_S)


def _crossing(times: NDArray[np.float64], speed: NDArray[np.float64], level: float) -> float | None:
    """First moment the speed passes below a level, between frames."""
    below = np.flatnonzero(speed < level)
    if below.size == 0 or below[0] == 0:
        return None
    after = int(below[0])
    part = (speed[after - 1] - level) / (speed[after - 1] - speed[after])
    return float(times[after - 1] + part * (times[after] - times[after - 1]))
