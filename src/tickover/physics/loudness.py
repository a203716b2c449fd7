"""Levels in decibels: weighting by frequency, sums, what the background adds, the test speed."""

from __future__ import annotations

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
