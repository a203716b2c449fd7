"""Levels in decibels: weighting by frequency, sums, what the background adds, the test speed."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError
from tickover.physics import guards

Floats = NDArray[np.float64]
_F1, _F2, _F3, _F4 = 20.598997, 107.65265, 737.86223, 12194.217
_LEAST_MARGIN = 3.0


def a_weighting(frequency: ArrayLike) -> Floats:
    """What is added to a level at a frequency to weigh it as A.

    Parameters
    ----------
    frequency : float or array
        Exact, not nominal: 1000 x 10^(n/10) for third octaves [Hz]

    Returns
    -------
    array of the same shape
        [dB]

    Raises
    ------
    InputError
        If a frequency is not above zero.

    Notes
    -----
    Source: IEC 61672-1, design goal. Checked in tests/published/test_iec_61672_weighting.py.

    Examples
    --------
    >>> print(f"{a_weighting(125.893):.1f} dB")
    -16.1 dB
    """
    f = np.asarray(frequency, dtype=np.float64)
    guards.positive("Frequency", f, "Hz")
    s = f**2
    share = (_F4**2 * s**2) / ((s + _F1**2) * (s + _F4**2) * np.sqrt((s + _F2**2) * (s + _F3**2)))
    result: Floats = 20.0 * np.log10(share) + 2.000
    return result


OCTAVES = (16.0, 31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16000.0)
"""Nominal middles of the octave bands [Hz]."""


def exact_octave(nominal: float) -> float:
    """Exact middle of an octave band.

    Parameters
    ----------
    nominal : float
        As meters print it [Hz]

    Returns
    -------
    float
        [Hz]

    Raises
    ------
    InputError
        If no octave band has this middle.

    Notes
    -----
    1000 x 10^(3n/10), base ten as in IEC 61260-1.
    Checked in tests/published/test_iec_61672_weighting.py.

    Examples
    --------
    >>> print(f"{exact_octave(125.0):.3f} Hz")
    125.893 Hz
    """
    if nominal not in OCTAVES:
        raise InputError("No octave band has this middle", given=f"{nominal:g} Hz",
                         allowed=", ".join(f"{each:g}" for each in OCTAVES))  # fmt: skip
    return float(1000.0 * 10.0 ** (0.3 * (OCTAVES.index(nominal) - 6)))


def weighted_octaves(levels: Mapping[float, float]) -> float:
    """A-weighted level of a noise whose octave bands were read without weighting.

    Parameters
    ----------
    levels : mapping of float to float
        Nominal middle [Hz] to level [dB]

    Returns
    -------
    float
        [dB(A)]

    Raises
    ------
    InputError
        No band, or one that is none.

    Notes
    -----
    Sum of the bands, each weighted at its exact middle. A band as a whole is not weighted quite
    as its middle is: some tenths of a decibel.

    Examples
    --------
    >>> print(f"{weighted_octaves({1000.0: 90.0, 2000.0: 88.8}):.2f} dB(A)")
    93.01 dB(A)
    """
    bands = [exact_octave(nominal) for nominal in levels]
    if not bands:
        raise InputError("There is no octave level to add")
    return level_sum(np.asarray(list(levels.values())) + a_weighting(bands))


def mean_half(levels: ArrayLike, alone: float = 1.0) -> float:
    """Half the 95 percent interval of a mean of readings, from their own spread.

    Parameters
    ----------
    levels : array, shape (n,)
        [dB]
    alone : float
        Standard deviation taken for one reading alone: our assumption [dB]

    Returns
    -------
    float
        [dB]

    Raises
    ------
    InputError
        Without any level.

    Notes
    -----
    t(n-1; 0.975) s / sqrt(n), Student; readings good to half a decibel at best.

    Examples
    --------
    >>> print(f"{mean_half([92.0, 93.0, 94.0]):.2f} dB")
    2.48 dB
    """
    from scipy.special import stdtrit

    each = np.atleast_1d(np.asarray(levels, dtype=np.float64))
    if each.size == 0:
        raise InputError("There is no level to take a mean of")
    if each.size == 1:
        return 2.0 * alone
    spread = max(float(np.std(each, ddof=1)), 0.5 / np.sqrt(12.0))
    half: float = float(stdtrit(each.size - 1, 0.975)) * spread / float(np.sqrt(each.size))
    return half


def level_sum(levels: ArrayLike) -> float:
    """Level of sounds together, that do not know of each other.

    Parameters
    ----------
    levels : array, shape (n,)
        [dB]

    Returns
    -------
    float
        [dB]

    Raises
    ------
    InputError
        Without any level, or with one that is no number.

    Notes
    -----
    10 lg of the sum of 10^(L/10). Checked in tests/published/test_iec_61672_weighting.py.

    Examples
    --------
    >>> print(f"{level_sum([90.0, 90.0]):.2f} dB")
    93.01 dB
    """
    each = np.atleast_1d(np.asarray(levels, dtype=np.float64))
    if each.size == 0 or not np.isfinite(each).all():
        raise InputError("There is no level to add", given=str(levels))
    most = float(each.max())
    return most + 10.0 * float(np.log10(np.sum(10.0 ** ((each - most) / 10.0))))


def without_background(total: float, background: float) -> float:
    """Level of the machine alone, from the reading and the reading without it.

    Parameters
    ----------
    total, background : float
        [dB]

    Returns
    -------
    float
        [dB]

    Raises
    ------
    InputError
        If the background is less than 3 dB below: then nothing can be said.

    Notes
    -----
    10 lg (10^(L/10) - 10^(B/10)). The stationary test wants 10 dB between them (third party).
    Checked in tests/published/test_iec_61672_weighting.py.

    Examples
    --------
    >>> print(f"{without_background(90.0, 80.0):.2f} dB")
    89.54 dB
    """
    if not total - background >= _LEAST_MARGIN:
        raise InputError("The background drowns the machine",
                         given=f"{total:g} dB with it, {background:g} dB without",
                         allowed="at least 3 dB between them, 10 dB for a test")  # fmt: skip
    return total + 10.0 * float(np.log10(1.0 - 10.0 ** ((background - total) / 10.0)))


def stationary_test_speed(rated_power_speed: float) -> float:
    """Crank speed of the stationary noise test.

    Parameters
    ----------
    rated_power_speed : float
        At which the engine gives its most power [1/s]

    Returns
    -------
    float
        [1/s]

    Raises
    ------
    InputError
        If the speed is not above zero.

    Notes
    -----
    Above 5000 rpm half of it, else three quarters: 97/24/EC chapter 9, UN R41 (third party).
    Checked in tests/published/test_iec_61672_weighting.py.

    Examples
    --------
    >>> print(f"{60 * stationary_test_speed(8500 / 60):.0f} rpm")
    4250 rpm
    """
    guards.positive("Speed of most power", rated_power_speed, "1/s")
    # A thousandth of a turn a minute, so that 5000 rpm in turns a second stays at the boundary.
    return rated_power_speed * (0.5 if 60.0 * rated_power_speed > 5000.001 else 0.75)
