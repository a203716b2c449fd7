"""Two views of the sound, frame by frame: its whitened spectrum and that of its envelope.

The spectrum sees engines whose firing rate the telephone lets through. The envelope sees slow
idles, whose firing rate it cuts off: every exhaust pulse still swells and dies.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled

HOP_S = 0.025
SPECTRUM_HZ = (50.0, 1100.0)
ENVELOPE_HZ = (4.0, 330.0)
ENVELOPE_RATE_HZ = 1000.0
WHITENING_HZ = 75.0
CHUNK = 256  # frames transformed together, so that a minute of sound stays small in memory


@dataclass(frozen=True, slots=True)
class Frames:
    """Whitened magnitudes, `values` shape (frames, bins), at `frequency` shape (bins,) [Hz]."""

    values: NDArray[np.float32]
    frequency: NDArray[np.float64]


def envelope(samples: NDArray[np.float32], rate: float) -> tuple[NDArray[np.float32], float]:
    """Compressed envelope near 1 kHz.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    array, float
        Envelope and its rate [1], [Hz]
    """
    step = max(1, round(rate / ENVELOPE_RATE_HZ))
    swell = np.sqrt(np.abs(samples))
    swell *= np.sqrt(swell)  # to the power 0.75, quicker than a general power
    taper = np.hanning(2 * step + 1).astype(np.float32)
    smooth = np.convolve(swell, taper / np.sum(taper), mode="same")
    return np.ascontiguousarray(smooth[::step]), rate / step


def frame_times(duration_s: float) -> NDArray[np.float64]:
    """Middles of the frames.

    Parameters
    ----------
    duration_s : float
        [s]

    Returns
    -------
    array, shape (frames,)
        [s]

    Examples
    --------
    >>> print(frame_times(0.1))
    [0.0125 0.0375 0.0625 0.0875]
    """
    return (np.arange(round(duration_s / HOP_S), dtype=np.float64) + 0.5) * HOP_S


def whitened_frames(
    signal: NDArray[np.float32],
    rate: float,
    window_s: float,
    band_hz: tuple[float, float],
    times_s: NDArray[np.float64],
) -> Frames:
    """Compressed magnitude spectra with the neighbourhood divided out.

    Parameters
    ----------
    signal : array, shape (n,)
        [1]
    rate : float
        [Hz]
    window_s : float
        [s]
    band_hz : (float, float)
        [Hz]
    times_s : array, shape (frames,)
        [s]

    Returns
    -------
    Frames
        Values near zero between lines, above zero on lines [1]
    """
    import scipy.fft  # not for every command

    length = max(16, round(window_s * rate))
    size = scipy.fft.next_fast_len(int(1.5 * length), real=True)
    step = rate / size
    first, last = int(np.ceil(band_hz[0] / step)), int(np.floor(band_hz[1] / step))
    last = min(last, size // 2)
    reach = max(1, round(WHITENING_HZ / step))
    low, high = max(0, first - reach), min(size // 2, last + reach)
    pad = length // 2 + 1
    padded = np.pad(signal, (pad, pad + 1))
    begins = np.clip(np.rint(times_s * rate).astype(int) + pad - length // 2, 0, None)
    begins = np.minimum(begins, padded.size - length)
    pieces = np.lib.stride_tricks.sliding_window_view(padded, length)
    window = np.hanning(length).astype(np.float32)
    values = np.empty((times_s.size, last - first + 1), dtype=np.float32)
    total = np.zeros(high - low + 2)
    for start in range(0, times_s.size, CHUNK):
        rows = pieces[begins[start : start + CHUNK]]
        rows = (rows - np.mean(rows, axis=1, keepdims=True)) * window
        lines = scipy.fft.rfft(rows, size, axis=1)
        _whiten(lines, low, high, first, reach, total, values[start : start + CHUNK])
    return Frames(values, np.arange(first, last + 1, dtype=np.float64) * step)


@compiled
def _whiten(
    lines: NDArray[np.complex64],
    low: int,
    high: int,
    first: int,
    reach: int,
    total: NDArray[np.float64],
    values: NDArray[np.float32],
) -> None:
    """Magnitude to the power 0.75 over its mean within `reach` bins, less one."""
    frames, bins = values.shape
    for frame in range(frames):
        for index in range(low, high + 1):
            line = lines[frame, index]
            fourth = np.sqrt(np.sqrt(line.real * line.real + line.imag * line.imag))
            total[index - low + 1] = total[index - low] + fourth * np.sqrt(fourth)
        for index in range(bins):
            here = index + first - low
            left, right = max(0, here - reach), min(high - low + 1, here + reach + 1)
            mean = (total[right] - total[left]) / (right - left)
            values[frame, index] = (total[here + 1] - total[here]) / (mean + 1e-12) - 1.0
