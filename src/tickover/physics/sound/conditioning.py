"""A raw recording made ready: mono, about 4 kHz, without hum, level and clipping measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

WORK_RATE_HZ = 4000.0
BAND_HZ = (45.0, 1900.0)
MAINS_HZ = (50.0, 60.0)
HUM_STANDS_OUT = 8.0  # a mains line must have this many times the power of its neighbours
CLIP_LEVEL = 0.98  # of the largest sample; a clipped recording has flat tops above this
HUM_STEADY = 0.93  # of a mains line's power keeps its phase for five seconds
BLOCK_S = 4.0
BEAT_S = 0.5
PAUSE_DB = 16.0  # below the median level
PIECE_S = 0.05
PAUSE_PIECES = 5


@dataclass(frozen=True, slots=True)
class Conditioned:
    """A recording ready to be analysed.

    `samples` shape (n,) hum removed and band passed, float32; `rate` [Hz]; `level` root mean
    square of the raw recording, full scale 1; `clipped` share of samples in flat tops [1];
    `hum_share` power of the removed mains lines over all power in the band [1];
    `pauses` share of the time in silences of a quarter second and longer [1].
    """

    samples: NDArray[np.float32]
    rate: float
    duration_s: float
    level: float
    clipped: float
    hum_share: float
    hum_hz: float | None
    pauses: float


def decimated(samples: NDArray[np.float32], rate: float) -> tuple[NDArray[np.float32], float]:
    """Low-passed recording at a rate near `WORK_RATE_HZ`.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    array, float
        Samples and their rate [1], [Hz]

    Examples
    --------
    >>> thinned, rate = decimated(np.zeros(48000, dtype=np.float32), 48000.0)
    >>> thinned.size, rate
    (4000, 4000.0)
    """
    step = max(1, round(rate / WORK_RATE_HZ))
    if step == 1:
        return samples.astype(np.float32, copy=False), rate
    from scipy.signal import firwin, upfirdn  # half a second to load: not for every command

    taps = firwin(10 * step + 1, 0.96 / step, window=("kaiser", 5.0)).astype(np.float32)
    thinned = upfirdn(taps, samples.astype(np.float32, copy=False), up=1, down=step)
    begin = (taps.size // 2) // step
    count = -(-samples.size // step)
    return np.ascontiguousarray(thinned[begin : begin + count]), rate / step


def clipped_share(samples: NDArray[np.float32]) -> float:
    """Share of samples in flat tops: neighbours that both sit at the very top.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> wave = np.sin(np.arange(4000, dtype=np.float32))
    >>> clipped_share(wave) < 0.03, clipped_share(np.clip(wave, -0.5, 0.5)) > 0.3
    (True, True)
    """
    if samples.size < 2:
        return 0.0
    high, low = float(np.max(samples)), float(np.min(samples))
    share = 0.0
    for top in (samples >= CLIP_LEVEL * high, samples <= CLIP_LEVEL * low):
        share += float(np.count_nonzero(top[1:] & top[:-1])) / samples.size
    return share


def condition(samples: NDArray[np.float32], rate: float) -> Conditioned:
    """Make a mono recording ready.

    Parameters
    ----------
    samples : array, shape (n,)
        Mono, full scale 1 [1]
    rate : float
        [Hz]

    Returns
    -------
    Conditioned
    """
    level = float(np.sqrt(np.mean(np.square(samples, dtype=np.float32), dtype=np.float64)))
    clipped = clipped_share(samples)
    thin, work_rate = decimated(samples, rate)
    thin = thin - np.float32(np.mean(thin))
    banded = band_passed(thin, work_rate, BAND_HZ)
    before = float(np.mean(np.square(banded, dtype=np.float64)))
    clean, hum_hz = without_hum(banded, work_rate)
    after = float(np.mean(np.square(clean, dtype=np.float64)))
    share = max(0.0, 1.0 - after / before) if before > 0.0 else 0.0
    return Conditioned(
        samples=clean,
        rate=work_rate,
        duration_s=samples.size / rate,
        level=level,
        clipped=clipped,
        hum_share=share,
        hum_hz=hum_hz,
        pauses=pause_share(banded, work_rate),
    )


def pause_share(samples: NDArray[np.float32], rate: float) -> float:
    """Share of the time spent in pauses: a quarter second or longer, far below the usual level.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    float
        A running engine has none, speech has some [1]

    Notes
    -----
    Shorter silences do not count: a slow single is silent between two firings.
    """
    quiet = _quiet_pieces(samples, rate, 50.0)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], quiet.astype(np.int8), [0]))))
    lengths = edges[1::2] - edges[::2]
    return float(np.sum(lengths[lengths >= PAUSE_PIECES])) / max(quiet.size, 1)


def sounding_part(samples: NDArray[np.float32], rate: float) -> tuple[int, int]:
    """Where the sound begins and ends: quiet before the start and after the stop left out.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    int, int
        `samples[begin:end]` sounds throughout, but for pauses inside.

    Examples
    --------
    >>> late = np.zeros(40000, dtype=np.float32)
    >>> late[20000:] = 0.1
    >>> sounding_part(late, 8000.0)
    (20000, 40000)
    """
    quiet = _quiet_pieces(samples, rate, 75.0)
    sounding = np.flatnonzero(~quiet)
    if sounding.size == 0:
        return 0, samples.size
    piece = int(PIECE_S * rate)
    begin, end = int(sounding[0]), int(sounding[-1]) + 1
    # Shorter silences at the ends are the time between two firings.
    first = begin * piece if begin >= PAUSE_PIECES else 0
    last = end * piece if quiet.size - end >= PAUSE_PIECES else samples.size
    return first, last


def _quiet_pieces(
    samples: NDArray[np.float32], rate: float, percentile: float
) -> NDArray[np.bool_]:
    """Which pieces of 50 ms lie far below this percentile of loudness."""
    piece = max(1, int(PIECE_S * rate))
    count = samples.size // piece
    if count < 2 * PAUSE_PIECES:
        return np.zeros(count, dtype=np.bool_)
    power = np.mean(np.square(samples[: count * piece].reshape(count, piece)), axis=1)
    limit = 10.0 ** (-PAUSE_DB / 10.0) * float(np.percentile(power, percentile))
    return np.asarray(power < limit)


def band_passed(
    samples: NDArray[np.float32], rate: float, band_hz: tuple[float, float]
) -> NDArray[np.float32]:
    """Band pass with raised cosine edges, without delay.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]
    band_hz : (float, float)
        [Hz]

    Returns
    -------
    array, shape (n,)
        [1]
    """
    size = _friendly(samples.size + int(0.1 * rate))
    spectrum = np.fft.rfft(samples, size)
    frequency = np.arange(spectrum.size, dtype=np.float64) * (rate / size)
    spectrum *= _edge(frequency, band_hz[0], 0.5) * (1.0 - _edge(frequency, band_hz[1], 0.1))
    return np.fft.irfft(spectrum, size)[: samples.size].astype(np.float32)


def _edge(frequency: NDArray[np.float64], at_hz: float, width: float) -> NDArray[np.float64]:
    place = np.clip((frequency / at_hz - 1.0) / width + 0.5, 0.0, 1.0)
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * place))


def _friendly(size: int) -> int:
    """Next size the transform is quick for."""
    from scipy.fft import next_fast_len

    return int(next_fast_len(size, real=True))


def without_hum(
    samples: NDArray[np.float32], rate: float
) -> tuple[NDArray[np.float32], float | None]:
    """Recording with the mains lines that stand out fitted and taken away.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    array, shape (n,), and the mains frequency or None
        [1], [Hz]

    Notes
    -----
    Mains is steadier than any engine: only lines narrower than 0.2 Hz over the whole
    recording are touched, so an engine that fires at 50 Hz keeps its own, wider lines.
    """
    if samples.size < 4.0 * rate:
        return samples, None
    size = _friendly(2 * samples.size)
    window = np.hanning(samples.size)
    power = np.abs(np.fft.rfft(samples * window, size)) ** 2
    step = rate / size
    found = [_mains_found(power, step, nominal, rate) for nominal in MAINS_HZ]
    mains_hz, harmonics = max(found, key=lambda item: len(item[1]))
    beats = [_beats(samples, rate, n * mains_hz) for n in harmonics]
    steady = [_steadiness(beat) > HUM_STEADY for beat in beats]
    beats = [beat for beat, keeps in zip(beats, steady, strict=True) if keeps]
    harmonics = [n for n, keeps in zip(harmonics, steady, strict=True) if keeps]
    if not harmonics:
        return samples, None
    mains_hz += _off_by(beats, harmonics)
    return _lines_taken(samples, rate, mains_hz, harmonics), mains_hz


def _mains_found(
    power: NDArray[np.float64], step: float, nominal: float, rate: float
) -> tuple[float, list[int]]:
    trials = nominal + np.arange(-0.2, 0.2001, 0.01)
    highest = int(min(1000.0, 0.45 * rate) / nominal)
    numbers = np.arange(1, highest + 1)
    near = power[np.rint(np.outer(trials, numbers) / step).astype(int)]
    level = np.median(near, axis=0) + 1e-30
    best = float(trials[int(np.argmax(np.sum(np.minimum(near / level, 100.0), axis=1)))])
    standing = []
    for number in numbers:
        middle = round(best * number / step)
        reach, near_reach = int(2.5 / step) + 1, int(0.12 / step) + 2
        around = power[max(0, middle - reach) : middle + reach]
        line = float(np.max(power[middle - near_reach : middle + near_reach + 1]))
        # The neighbours' upper quarter: an engine line is broad and fills it, mains does not.
        if line > HUM_STANDS_OUT * float(np.percentile(around, 75.0)):
            standing.append(int(number))
    return best, standing


def _beats(samples: NDArray[np.float32], rate: float, line_hz: float) -> NDArray[np.complex128]:
    """Amplitude and phase of a line, one value each half second."""
    piece = int(BEAT_S * rate)
    count = samples.size // piece
    wheel = np.exp(-2j * np.pi * line_hz / rate * np.arange(count * piece))
    return np.asarray((samples[: count * piece] * wheel).reshape(count, piece) @ np.hanning(piece))


def _steadiness(beats: NDArray[np.complex128]) -> float:
    """How much of a line keeps one phase for five seconds; mains does, an engine does not [1]."""
    span = min(10, beats.size)
    trials = np.exp(-2j * np.pi * np.outer(np.linspace(-0.05, 0.05, 21), np.arange(span)))
    shares = []
    for start in range(0, beats.size - span + 1, span):
        part = beats[start : start + span]
        kept = np.max(np.abs(trials @ part) ** 2) / span
        shares.append(float(kept / np.maximum(np.sum(np.abs(part) ** 2), 1e-30)))
    return float(np.mean(shares))


def _off_by(beats: list[NDArray[np.complex128]], harmonics: list[int]) -> float:
    """What the mains frequency found is short of, from how fast the lines' phases turn [Hz]."""
    trials = np.arange(-0.06, 0.0601, 0.001)
    total = np.zeros(trials.size)
    for number, beat in zip(harmonics, beats, strict=True):
        turns = np.outer(trials * number * BEAT_S, np.arange(beat.size))
        total += np.abs(np.exp(-2j * np.pi * turns) @ beat) ** 2
    return float(trials[int(np.argmax(total))])


def _lines_taken(
    samples: NDArray[np.float32], rate: float, mains_hz: float, harmonics: list[int]
) -> NDArray[np.float32]:
    """Least squares over overlapping blocks, so that slow drift of the mains is followed."""
    clean = samples.astype(np.float64)
    block = min(samples.size, int(BLOCK_S * rate))
    hop = max(1, block // 2)
    starts = list(range(0, max(1, samples.size - block + 1), hop))
    if starts[-1] + block < samples.size:
        starts.append(samples.size - block)
    window = np.hanning(block + 2)[1:-1]
    fitted = np.zeros(samples.size)
    weight = np.zeros(samples.size)
    for start in starts:
        piece = clean[start : start + block]
        turn = np.exp(-2j * np.pi * mains_hz / rate * np.arange(block))
        model = np.zeros(block)
        for number in harmonics:
            wheel = turn**number
            amplitude = 2.0 * np.sum(piece * wheel * window) / np.sum(window)
            model += np.real(amplitude * np.conj(wheel))
        fitted[start : start + block] += model * (window + 1e-6)
        weight[start : start + block] += window + 1e-6
    return (clean - fitted / np.maximum(weight, 1e-12)).astype(np.float32)
