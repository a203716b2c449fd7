"""What somebody probably meant: the nearest word, the nearest sensible size."""

from __future__ import annotations

import math
from collections.abc import Iterable
from difflib import get_close_matches

_LONGEST_WORD = 40
_DECIMAL_SLIPS = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)
_UNIT_SLIPS = (25.4, 1 / 25.4)  # inches written as millimetres, or the reverse


def nearest_word(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like the one given, or None.

    Parameters
    ----------
    word : str
        As typed.
    known : iterable of str
        The words that exist.

    Returns
    -------
    str or None

    Examples
    --------
    >>> nearest_word("stoke", ["bore", "stroke", "rod"])
    'stroke'
    >>> nearest_word("wheel", ["bore", "stroke", "rod"]) is None
    True
    """
    by_small = {each.lower(): each for each in known}
    found = get_close_matches(word[:_LONGEST_WORD].strip().lower(), by_small, n=1, cutoff=0.6)
    return by_small[found[0]] if found else None


def slip_factor(ends: tuple[float, ...], low: float, high: float, typical: float) -> float | None:
    """The slip of the decimal point or of the unit that would explain an impossible size.

    Parameters
    ----------
    ends : tuple of float
        The size as typed, or both ends of a range [SI].
    low, high, typical : float
        What is possible, and what is usual [same unit].

    Returns
    -------
    float or None
        What to multiply the size by to get the likeliest meant one; None if no single slip
        makes it possible.

    Examples
    --------
    >>> slip_factor((6.4,), 0.02, 0.15, 0.065)
    0.01
    >>> slip_factor((92.0,), 4, 20, 9.5)
    0.1
    """
    middle = sum(ends) / len(ends)
    if middle <= 0 or not math.isfinite(middle):
        return None
    possible = [
        factor
        for factor in _DECIMAL_SLIPS + _UNIT_SLIPS
        if all(low <= end * factor <= high for end in ends)
    ]
    if not possible:
        return None
    return min(possible, key=lambda factor: abs(math.log(middle * factor / typical)))


def is_decimal_slip(factor: float) -> bool:
    """Whether the factor moves the decimal point, rather than changing inch and millimetre."""
    return factor in _DECIMAL_SLIPS
