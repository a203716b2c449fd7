"""Are the cylinders alike, and does the book allow the readings?

The rules are those manuals print (see tests/published/test_evenness_rules.py); the first decides,
the others are told beside it. They are ratios of gauge readings, as printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.tasks.compression.described import PSI, at_sea_level


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule and how the readings stand to it.

    Parameters
    ----------
    words : str
        The rule
    figure : float
        What the readings make of it, in its unit
    unit : str
        "percent" or "psi"
    holds : bool
    where : tuple of str
        Cylinders that break it
    """

    words: str
    figure: float
    unit: str
    holds: bool
    where: tuple[str, ...]


LOWEST_SHARE = 0.75


def rules(readings: Mapping[str, float]) -> tuple[Rule, ...]:
    """The evenness rules over readings of one kind of test.

    Parameters
    ----------
    readings : mapping of place to float
        Gauge [Pa]

    Returns
    -------
    tuple of Rule
        The deciding rule first; empty with fewer than two readings.

    Notes
    -----
    75 percent of the highest; 70 percent and 100 psi (several car makers' manuals); within 10 psi
    (US Army TM 10-3930-618-20); 20 percent below average (US Army TM 1-1500-204-23-1).

    Examples
    --------
    >>> first = rules({"cyl1": 150 * PSI, "cyl2": 111 * PSI})[0]
    >>> first.holds, round(first.figure), first.where
    (False, 74, ('cyl2',))
    """
    if len(readings) < 2:
        return ()
    highest, lowest = max(readings.values()), min(readings.values())
    average = sum(readings.values()) / len(readings)
    share = lowest / highest if highest > 0.0 else 0.0
    below = 1.0 - lowest / average if average > 0.0 else 0.0

    def breaking(limit: float) -> tuple[str, ...]:
        return tuple(place for place, value in readings.items() if value < limit)

    seventy = max(0.70 * highest, 100.0 * PSI)
    return (
        Rule(
            "the lowest at least 75 percent of the highest",
            100.0 * share,
            "percent",
            share >= LOWEST_SHARE,
            breaking(LOWEST_SHARE * highest),
        ),
        Rule(
            "the lowest at least 70 percent of the highest and 100 psi",
            100.0 * share,
            "percent",
            lowest >= seventy,
            breaking(seventy),
        ),
        Rule(
            "none more than 20 percent below the average",
            100.0 * below,
            "percent",
            below <= 0.20,
            breaking(0.80 * average),
        ),
        Rule(
            "all within 10 psi",
            (highest - lowest) / PSI,
            "psi",
            highest - lowest <= 10.0 * PSI,
            breaking(highest - 10.0 * PSI),
        ),
    )


def against_book(
    reading: float, limit: tuple[float, float] | None, air_pressure: float
) -> str | None:
    """Whether a reading, brought to sea level, lies within the book's limits.

    Parameters
    ----------
    reading : float
        Gauge [Pa]
    limit : tuple of float, optional
        Least and greatest, gauge at sea level [Pa]
    air_pressure : float
        Where it was taken [Pa]

    Returns
    -------
    str or None
        "below", "within", "above"; None without limits

    Examples
    --------
    >>> against_book(125 * PSI, (130 * PSI, 190 * PSI), 101325.0)
    'below'
    >>> against_book(125 * PSI, (130 * PSI, 190 * PSI), 89875.0)
    'within'
    """
    if limit is None:
        return None
    level = at_sea_level(reading, air_pressure)
    if level < limit[0]:
        return "below"
    return "above" if level > limit[1] else "within"
