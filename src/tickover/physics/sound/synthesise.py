"""A synthetic engine recording, for demonstration and tests only.

Nothing here was recorded from an engine. Each cylinder sends decaying pulses down a pipe of
its own (a lossy delay line), flow noise rides on the pulses, and a background, mains hum and
the telephone's missing bass are laid over it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError
from tickover.physics.sound.orders import firing_fractions

SPEED_OF_SOUND_HOT_GAS = 500.0  # m/s, about 350 degC; only sets where the pipe rings


@dataclass(frozen=True, slots=True)
class SyntheticRecording:
    """A made-up recording with everything known about it.

    `samples` shape (n,) full scale 1, `rate` [Hz]; `cycle_times_s` where each cycle begins,
    shape (c + 1,); `firing_times_s` shape (c, cylinders); `strengths` of the slots.
    """

    samples: NDArray[np.float32]
    rate: int
    cycle_times_s: NDArray[np.float64]
    firing_times_s: NDArray[np.float64]
    strengths: NDArray[np.float64]
    label: str = "synthetic: computed, not recorded from an engine"

    def speed_rpm_at(self, times_s: ArrayLike) -> NDArray[np.float64]:
        """True mean speed over the one cycle centred on each time [1/min]."""
        return cycle_mean_speed(self.cycle_times_s, times_s)


def cycle_mean_speed(cycle_times_s: ArrayLike, times_s: ArrayLike) -> NDArray[np.float64]:
    """Mean speed over the one cycle centred on each time.

    Parameters
    ----------
    cycle_times_s : array, shape (c + 1,)
        Where each cycle begins; inside a cycle the crank turns evenly [s]
    times_s : array, shape (n,)
        [s]

    Returns
    -------
    array, shape (n,)
        [1/min]

    Examples
    --------
    >>> print(cycle_mean_speed([0.0, 0.1, 0.2, 0.3], [0.15]))
    [1200.]
    """
    edges = np.asarray(cycle_times_s, dtype=float)
    times = np.asarray(times_s, dtype=float)
    count = np.arange(edges.size, dtype=float)
    phase = np.interp(times, edges, count)
    # One cycle centred in time: find the half length by a few fixed point steps.
    length = np.interp(phase, count[:-1] + 0.5, np.diff(edges))
    for _ in range(12):
        low = np.interp(times - length / 2.0, edges, count)
        high = np.interp(times + length / 2.0, edges, count)
        length = length / np.clip(high - low, 0.25, 4.0)
    return np.asarray(120.0 / length)


def cycle_starts(
    speed_s: ArrayLike,
    speed_rpm: ArrayLike,
    duration_s: float,
    variation: float,
    generator: np.random.Generator,
) -> NDArray[np.float64]:
    """Times at which cycles begin, following a speed with random cycle lengths.

    Parameters
    ----------
    speed_s, speed_rpm : array, shape (k,)
        Corner points of the wanted speed [s], [1/min]
    duration_s : float
        [s]
    variation : float
        Standard deviation of the cycle length over its mean [1]
    generator : numpy Generator
        Chance, so that the same seed gives the same engine.

    Returns
    -------
    array, shape (c + 1,)
        [s]
    """
    corners, speeds = np.asarray(speed_s, dtype=float), np.asarray(speed_rpm, dtype=float)
    starts = [0.02]
    while starts[-1] < duration_s:
        length = 120.0 / float(np.interp(starts[-1], corners, speeds))
        length = 120.0 / float(np.interp(starts[-1] + length / 2.0, corners, speeds))
        factor = 1.0 + variation * float(np.clip(generator.standard_normal(), -3.0, 3.0))
        starts.append(starts[-1] + length * factor)
    return np.asarray(starts)


def synthesise(
    firing_angles_deg: ArrayLike,
    *,
    speed_rpm: float | tuple[tuple[float, float], ...] = 1100.0,
    duration_s: float = 20.0,
    rate: int = 48_000,
    seed: int = 1,
    strengths: ArrayLike | None = None,
    variation: float = 0.01,
    pipe_spread: float = 0.1,
    signal_to_noise_db: float = 20.0,
    hum_hz: float | None = None,
    hum_db: float = -20.0,
    high_pass_hz: float = 90.0,
    level: float = 0.5,
) -> SyntheticRecording:
    """Compute a recording of an engine that does not exist.

    Parameters
    ----------
    firing_angles_deg : array, shape (n,)
        [deg]
    speed_rpm : float, or pairs of (time [s], speed [1/min])
        [1/min]
    duration_s : float
        [s]
    rate : int
        [Hz]
    seed : int
        Same seed, same samples.
    strengths : array, shape (n,), optional
        Strength of each slot in firing order, 1 healthy, 0 dead [1]
    variation : float
        Cycle to cycle variation of the cycle length [1]
    pipe_spread : float
        Pipe lengths are drawn evenly from 1 +- this, loudness from 1 +- half of it [1]
    signal_to_noise_db : float
        Engine against background, over the whole band [dB]
    hum_hz, hum_db : float
        Mains hum and its level against the engine; none when `hum_hz` is left out [Hz], [dB]
    high_pass_hz : float
        What the telephone cuts off [Hz]
    level : float
        Peak of the result, full scale 1 [1]

    Returns
    -------
    SyntheticRecording

    Raises
    ------
    InputError
        If there is not one strength for each firing angle.

    Examples
    --------
    >>> made = synthesise([0, 360], speed_rpm=1000.0, duration_s=3.0)
    >>> made.label
    'synthetic: computed, not recorded from an engine'
    """
    fractions = firing_fractions(firing_angles_deg)
    amplitudes = np.ones(fractions.size) if strengths is None else np.asarray(strengths, float)
    if amplitudes.shape != fractions.shape:
        raise InputError(
            "The strengths do not fit the firing angles",
            given=f"{amplitudes.size} strengths",
            allowed=f"{fractions.size}, one for each firing",
        )
    chance = np.random.default_rng(seed)
    corners = ((0.0, speed_rpm),) if isinstance(speed_rpm, int | float) else speed_rpm
    seconds, speeds = zip(*corners, strict=True)
    starts = cycle_starts(seconds, speeds, duration_s, variation, chance)
    lengths = np.diff(starts)
    wobble = 0.1 * variation * chance.standard_normal((lengths.size, fractions.size))
    firings = starts[:-1, None] + lengths[:, None] * (fractions + wobble)
    engine = np.zeros(round(duration_s * rate))
    for slot in range(fractions.size):
        engine += _one_cylinder(
            firings[:, slot], lengths, float(amplitudes[slot]), engine.size, rate, pipe_spread,
            chance,
        )  # fmt: skip
    samples = _lay_over(engine, rate, signal_to_noise_db, hum_hz, hum_db, high_pass_hz, chance)
    samples *= level / float(np.max(np.abs(samples)))
    return SyntheticRecording(samples.astype(np.float32), rate, starts, firings, amplitudes)


def _one_cylinder(
    firings: NDArray[np.float64],
    lengths: NDArray[np.float64],
    strength: float,
    size: int,
    rate: int,
    spread: float,
    chance: np.random.Generator,
) -> NDArray[np.float64]:
    pipe_m = 1.1 * (1.0 + spread * chance.uniform(-1.0, 1.0))
    loudness = 1.0 + spread / 2.0 * chance.uniform(-1.0, 1.0)
    each = strength * loudness * (1.0 + 0.08 * chance.standard_normal(firings.size))
    # Open throttle at speed is louder: about as the square root of speed.
    each = each * np.sqrt(np.median(lengths) / lengths)
    place = firings * rate
    whole = np.floor(place).astype(int)
    inside = (whole >= 0) & (whole < size - 1)
    train = np.zeros(size)
    part = place - whole
    np.add.at(train, whole[inside], (each * (1.0 - part))[inside])
    np.add.at(train, whole[inside] + 1, (each * part)[inside])
    pulse = _blowdown(train, rate)
    hiss = 0.5 * pulse * chance.standard_normal(size)
    return _pipe(pulse + hiss, 2.0 * pipe_m / SPEED_OF_SOUND_HOT_GAS, rate)


def _blowdown(train: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    from scipy.signal import lfilter  # half a second to load: not for every command

    slow, fast = np.exp(-1.0 / (0.004 * rate)), np.exp(-1.0 / (0.0008 * rate))
    return np.asarray(lfilter([1.0], [1.0, -slow], train) - lfilter([1.0], [1.0, -fast], train))


def _pipe(signal: NDArray[np.float64], delay_s: float, rate: int) -> NDArray[np.float64]:
    """A pipe open at the end: the echo comes back upside down and duller."""
    from scipy.signal import lfilter

    delay = max(4, round(delay_s * rate))
    feedback = np.zeros(delay + 5)
    feedback[0] = 1.0
    feedback[delay : delay + 5] = 0.62 / 5.0
    return np.asarray(lfilter([1.0], feedback, signal))


def _lay_over(
    engine: NDArray[np.float64],
    rate: int,
    signal_to_noise_db: float,
    hum_hz: float | None,
    hum_db: float,
    high_pass_hz: float,
    chance: np.random.Generator,
) -> NDArray[np.float64]:
    from scipy.signal import butter, sosfilt

    low_cut = butter(2, high_pass_hz, "high", fs=rate, output="sos")
    heard = np.asarray(sosfilt(low_cut, engine))
    loud = float(np.sqrt(np.mean(heard**2))) or 1.0
    noise = np.asarray(sosfilt(low_cut, _pink(engine.size, chance)))
    noise *= loud * 10.0 ** (-signal_to_noise_db / 20.0) / float(np.sqrt(np.mean(noise**2)))
    if hum_hz is not None:
        seconds = np.arange(engine.size) / rate
        hum = np.zeros(engine.size)
        for harmonic in range(1, 9):
            hum += np.sin(2.0 * np.pi * harmonic * (hum_hz * seconds + chance.uniform())) / harmonic
        noise += hum * loud * 10.0 ** (hum_db / 20.0) / float(np.sqrt(np.mean(hum**2)))
    return heard + noise


def _pink(size: int, chance: np.random.Generator) -> NDArray[np.float64]:
    spectrum = np.fft.rfft(chance.standard_normal(size))
    spectrum /= np.sqrt(np.maximum(np.arange(spectrum.size), 1.0))
    return np.fft.irfft(spectrum, size)
