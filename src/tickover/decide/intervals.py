"""Is a quantity inside its limits when the reading is an interval?

The reading says the quantity is somewhere in [low, high], any place as likely as another; the
act of reading adds a normal error of standard deviation `spread`. An infinite low or high means
that the reading was only a bound.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
Verdict = Literal["in", "out", "undecided"]
_NARROW = 1e-4  # interval width in spreads below which a series replaces the difference quotient
_NO_SPREAD = 1e-15  # of the interval: a spread that rounding swallows
_erf = np.frompyfunc(math.erf, 1, 1)


def probability_below(
    limit: ArrayLike, low: ArrayLike, high: ArrayLike, spread: ArrayLike = 0.0
) -> Floats:
    """Probability that the quantity is no more than a limit.

    Parameters
    ----------
    limit : float or array
        May be infinite [unit of the reading]
    low, high : float or array
        Ends of the reading, low <= high, both finite [unit of the reading]
    spread : float or array
        Standard deviation of the reading error; 0 for none [unit of the reading]

    Returns
    -------
    array of the common shape
        Shape () for plain numbers [1]

    Raises
    ------
    InputError
        If low is above high, an end is infinite or the spread is negative.

    Notes
    -----
    P = s / (hi - lo) [G((t - lo)/s) - G((t - hi)/s)], G(z) = z Phi(z) + phi(z): the rectangular
    density of GUM (JCGM 100:2008, 4.3.7) convolved with a normal one, integrated once.
    Checked in tests/published/test_monte_carlo_jcgm101.py.

    Examples
    --------
    >>> print(f"{probability_below(6.0, 5.0, 7.0, 0.2):.3f}")
    0.500
    >>> print(f"{probability_below(6.5, 5.0, 7.0):.3f}")
    0.750
    """
    t, lo, hi, s = _broadcast(limit, low, high, spread)
    if not (np.isfinite(lo) & np.isfinite(hi)).all():
        raise InputError(
            "A one-sided reading gives no probability by itself",
            given=_span(low, high),
            instead="the range from probability_bounds, or a reach for the open side",
        )
    return _below(t, lo, hi, s)


def probability_inside(
    lower: ArrayLike,
    upper: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    spread: ArrayLike = 0.0,
    reach: float | None = None,
) -> Floats:
    """Probability that the quantity lies between two limits.

    Parameters
    ----------
    lower, upper : float or array
        Limits, lower <= upper; infinite for a limit on one side only [unit of the reading]
    low, high : float or array
        Ends of the reading; -inf or inf where the reading was only a bound [the same unit]
    spread : float or array
        Standard deviation of the reading error [the same unit]
    reach : float, optional
        How far the quantity may lie beyond a one-sided reading, any place as likely as another:
        an assumption to be shown to the user [the same unit]

    Returns
    -------
    array of the common shape
        Shape () for plain numbers [1]

    Raises
    ------
    InputError
        If low is above high, lower above upper, the spread negative, or a reading is one-sided
        and no reach is given.

    Notes
    -----
    As `probability_below`; both limits count as inside.

    Examples
    --------
    >>> print(f"{probability_inside(4.0, 6.0, 5.0, 7.0, 0.2):.3f}")
    0.500
    """
    a, b, lo, hi, s = _broadcast(lower, upper, low, high, spread, limits=True)
    if reach is not None:
        if not (reach > 0.0 and math.isfinite(reach)):
            raise InputError("The reach must be above zero", given=str(reach))
        lo, hi = (
            np.where(np.isneginf(lo), hi - reach, lo),
            np.where(np.isposinf(hi), lo + reach, hi),
        )
    if not (np.isfinite(lo) & np.isfinite(hi)).all():
        raise InputError(
            "A one-sided reading gives no probability by itself",
            given=_span(low, high),
            instead="the range from probability_bounds, or a reach for the open side",
        )
    exact = s == 0.0
    inside = _below(b, lo, hi, s) - _below(a, lo, hi, s)
    if exact.any():  # the lower limit itself counts as inside
        width = hi - lo
        share = np.minimum(b, hi) - np.maximum(a, lo)
        point = ((a <= lo) & (lo <= b)).astype(np.float64)
        plain = np.clip(share, 0.0, None) / np.where(width > 0.0, width, 1.0)
        inside = np.where(exact, np.where(width > 0.0, plain, point), inside)
    result: Floats = np.clip(inside, 0.0, 1.0)
    return result


def probability_bounds(
    lower: float, upper: float, low: float, high: float, spread: float = 0.0
) -> tuple[float, float]:
    """Least and greatest probability of being inside, whatever the place within the reading.

    Parameters
    ----------
    lower, upper : float
        Limits, infinite for one side only [unit of the reading]
    low, high : float
        Ends of the reading, infinite where it was only a bound [the same unit]
    spread : float
        Standard deviation of the reading error [the same unit]

    Returns
    -------
    tuple of float
        (least, greatest), attained at a single place of the reading each [1]

    Raises
    ------
    InputError
        If low is above high, lower above upper or the spread negative.

    Notes
    -----
    For one place x the probability Phi((U-x)/s) - Phi((L-x)/s) rises towards the middle of the
    limits and falls beyond it, so the extremes are at the middle and at the ends of the reading.

    Examples
    --------
    A reading that is only an upper bound, just under the limits:

    >>> probability_bounds(4.0, 6.0, float("-inf"), 1.5)
    (0.0, 0.0)
    >>> probability_bounds(4.0, 6.0, float("-inf"), 5.0)
    (0.0, 1.0)
    """
    _broadcast(lower, upper, low, high, spread, limits=True)

    def at(place: float) -> float:
        if math.isinf(place):
            return float((upper if place > 0.0 else -lower) == math.inf)
        return float(probability_inside(lower, upper, place, place, spread))

    if math.isfinite(lower) and math.isfinite(upper):
        middle = 0.5 * (lower + upper)
    elif math.isfinite(lower):
        middle = math.inf
    else:
        middle = -math.inf if math.isfinite(upper) else 0.0
    best = min(max(middle, low), high)
    return min(at(low), at(high)), at(best)


def judge(low: float, high: float, lower: float, upper: float, guard: float = 0.0) -> Verdict:
    """Decide whether an interval reading proves the quantity in or out of its limits.

    Parameters
    ----------
    low, high : float
        Ends of the reading, infinite where it was only a bound [unit of the reading]
    lower, upper : float
        Limits, infinite for one side only [the same unit]
    guard : float
        Guard band kept on both sides of each limit [the same unit]

    Returns
    -------
    {'in', 'out', 'undecided'}
        'in' if low >= lower + guard and high <= upper - guard; 'out' if high <= lower - guard or
        low >= upper + guard, touching without reaching over included; otherwise 'undecided'.

    Raises
    ------
    InputError
        If low is above high, lower above upper or the guard negative.

    Notes
    -----
    Proof of conformity needs the whole interval inside, proof of the contrary the whole interval
    outside, each by the guard band: the idea of ISO 14253-1 (decision rules). A point reading
    (low = high) on a limit with no guard is 'in'.

    Examples
    --------
    >>> judge(5.0, 6.0, 4.0, 6.0), judge(5.0, 7.0, 4.0, 6.0), judge(6.0, 7.0, 4.0, 6.0)
    ('in', 'undecided', 'out')
    """
    _broadcast(lower, upper, low, high, guard, limits=True)
    if low >= lower + guard and high <= upper - guard:
        return "in"
    if high <= lower - guard or low >= upper + guard:
        return "out"
    return "undecided"


def _broadcast(*values: ArrayLike, limits: bool = False) -> list[Floats]:
    arrays = [np.asarray(value, dtype=np.float64) for value in values]
    if any(np.isnan(array).any() for array in arrays):
        raise InputError("Not a number among limits, reading and spread", given=str(values))
    try:
        shaped = list(np.broadcast_arrays(*arrays))
    except ValueError as problem:
        raise InputError("The shapes do not fit together", given=str(problem)) from problem
    *_, low, high, spread = shaped
    if (low > high).any():
        raise InputError("The reading ends below its start", given=_span(values[-3], values[-2]))
    if limits and (shaped[0] > shaped[1]).any():
        raise InputError("The lower limit is above the upper", given=_span(values[0], values[1]))
    if (spread < 0.0).any() or np.isinf(spread).any():
        raise InputError("A spread or guard must be zero or more", given=str(values[-1]))
    return shaped


def _span(low: ArrayLike, high: ArrayLike) -> str:
    return f"{np.asarray(low).tolist()}..{np.asarray(high).tolist()}"


def _below(t: Floats, lo: Floats, hi: Floats, s: Floats) -> Floats:
    width = hi - lo
    # A spread this small against the interval changes no probability by more than itself.
    exact = (s == 0.0) | (s < _NO_SPREAD * width)
    safe = np.where(exact, 1.0, s)
    # Beyond 40 spreads the answer is 0 or 1; differences are clipped before they can overflow.
    a = np.clip(t - lo, -40.0 * safe, width + 40.0 * safe) / safe
    b = np.clip(t - hi, -40.0 * safe - width, 40.0 * safe) / safe
    narrow = width < _NARROW * safe
    wide = (_ramp(a) - _ramp(b)) / np.where(narrow, 1.0, width / safe)
    middle = 0.5 * (a + b)
    density = np.exp(-0.5 * np.minimum(np.abs(middle), 40.0) ** 2) / math.sqrt(2.0 * math.pi)
    # The mean of Phi over a narrow interval, to second order in its width.
    slim = _phi(middle) - middle * density * (width / safe) ** 2 / 24.0
    share = np.clip(t - lo, 0.0, width) / np.where(width > 0.0, width, 1.0)
    plain = np.where(width > 0.0, share, (t >= lo).astype(np.float64))
    result: Floats = np.clip(np.where(exact, plain, np.where(narrow, slim, wide)), 0.0, 1.0)
    return result


def _phi(z: Floats) -> Floats:
    """Standard normal distribution function."""
    return 0.5 * (1.0 + np.asarray(_erf(z / math.sqrt(2.0)), dtype=np.float64))


def _ramp(z: Floats) -> Floats:
    """G(z) = z Phi(z) + phi(z), the integral of Phi."""
    near = np.clip(z, -40.0, 40.0)  # beyond, G is 0 or z to the last digit
    curve = near * _phi(near) + np.exp(-0.5 * near**2) / math.sqrt(2.0 * math.pi)
    result: Floats = curve + (np.maximum(z, 40.0) - 40.0)
    return result
