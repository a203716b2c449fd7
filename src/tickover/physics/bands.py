"""A quantity known only as lying between two values, and sums with it.

Much of what a workshop knows is a band: a pump is 60 to 90 percent tight, a grade of oil is
anything between two viscosities. Sums with bands keep every combination of their ends, so the
result certainly holds the truth if the inputs do. It may be wider than need be when the same
band appears twice in a sum: write such a sum so that each band appears once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Band:
    """Somewhere between low and high, both included, nothing said about where.

    Parameters
    ----------
    low, high : float
        [any one SI unit]

    Raises
    ------
    InputError
        If low is above high, or either is not a number.

    Examples
    --------
    >>> Band(0.6, 0.9) * 2.0
    Band(low=1.2, high=1.8)
    >>> Band(1.0, 2.0) - Band(1.0, 2.0)
    Band(low=-1.0, high=1.0)
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if math.isnan(self.low) or math.isnan(self.high):
            raise InputError("A range needs two numbers", given=f"{self.low} to {self.high}")
        if self.low > self.high:
            raise InputError(
                "A range starts with its smaller end",
                given=f"{self.low:g} to {self.high:g}",
                instead=f"{self.high:g} to {self.low:g}",
            )

    @property
    def middle(self) -> float:
        """Half way between the ends."""
        return 0.5 * (self.low + self.high)

    @property
    def half_width(self) -> float:
        """Half the distance between the ends."""
        return 0.5 * (self.high - self.low)

    def holds(self, value: float) -> bool:
        """Whether the value lies in the band, ends included."""
        return self.low <= value <= self.high

    def hull(self, other: Band) -> Band:
        """Return the smallest band that holds both."""
        return Band(min(self.low, other.low), max(self.high, other.high))

    def __add__(self, other: Band | float) -> Band:
        right = as_band(other)
        return Band(self.low + right.low, self.high + right.high)

    __radd__ = __add__

    def __sub__(self, other: Band | float) -> Band:
        right = as_band(other)
        return Band(self.low - right.high, self.high - right.low)

    def __rsub__(self, other: float) -> Band:
        return as_band(other) - self

    def __mul__(self, other: Band | float) -> Band:
        right = as_band(other)
        ends = [a * b for a, b in product((self.low, self.high), (right.low, right.high))]
        return Band(min(ends), max(ends))

    __rmul__ = __mul__

    def __truediv__(self, other: Band | float) -> Band:
        right = as_band(other)
        if right.low <= 0.0 <= right.high:
            raise InputError(
                "Cannot divide by a range that holds zero",
                given=f"{right.low:g} to {right.high:g}",
                allowed="a range above zero",
            )
        ends = [a / b for a, b in product((self.low, self.high), (right.low, right.high))]
        return Band(min(ends), max(ends))

    def __rtruediv__(self, other: float) -> Band:
        return as_band(other) / self


def as_band(value: Band | float) -> Band:
    """Return a plain number as a band without width; a band stays what it is.

    Parameters
    ----------
    value : Band or float

    Returns
    -------
    Band

    Examples
    --------
    >>> as_band(2.0)
    Band(low=2.0, high=2.0)
    """
    return value if isinstance(value, Band) else Band(float(value), float(value))


def over_corners(function: Callable[..., float], *bands: Band | float) -> Band:
    """Carry bands through a function by trying all their ends.

    Parameters
    ----------
    function : callable
        Takes one float for each band, returns a float. It must rise or fall with each argument
        without turning round inside the bands, else the true extremes are not at the ends.
    *bands : Band or float

    Returns
    -------
    Band

    Examples
    --------
    >>> over_corners(lambda a, b: a * b, Band(1.0, 2.0), Band(3.0, 4.0))
    Band(low=3.0, high=8.0)
    """
    ends = [(band.low, band.high) for band in map(as_band, bands)]
    values = [function(*corner) for corner in product(*ends)]
    return Band(min(values), max(values))
