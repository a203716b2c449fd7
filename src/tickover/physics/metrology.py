"""What a measurement is worth: uncertainty, wear shapes, fits cold and hot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tickover.errors import InputError
from tickover.physics import guards


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty, both in one SI unit.

    Parameters
    ----------
    value : float
    uncertainty : float
        Standard uncertainty, one standard deviation, not negative.

    Raises
    ------
    InputError
        If the uncertainty is negative or not a number.

    Examples
    --------
    >>> Estimate(0.0560, 2e-6).expanded()
    4e-06
    """

    value: float
    uncertainty: float = 0.0

    def __post_init__(self) -> None:
        guards.not_negative("Uncertainty", self.uncertainty)

    def expanded(self, coverage: float = 2.0) -> float:
        """Return coverage times the standard uncertainty; 2 covers about 95 percent."""
        return coverage * self.uncertainty


def rectangular_uncertainty(half_width: float) -> float:
    """Standard uncertainty of a value that lies anywhere within plus or minus half_width.

    Parameters
    ----------
    half_width : float
        [any unit]

    Returns
    -------
    float
        half_width / sqrt(3) [same unit]

    Raises
    ------
    InputError
        If half_width is negative.

    Notes
    -----
    Source: JCGM 100:2008 (GUM), 4.3.7. Checked in tests/published/test_gum_rectangular.py.

    Examples
    --------
    >>> print(f"{rectangular_uncertainty(4.0):.4f}")
    2.3094
    """
    guards.not_negative("Half width", half_width)
    return half_width / math.sqrt(3.0)


def triangular_uncertainty(half_width: float) -> float:
    """Standard uncertainty when the middle of plus or minus half_width is likelier than the ends.

    Parameters
    ----------
    half_width : float
        [any unit]

    Returns
    -------
    float
        half_width / sqrt(6) [same unit]

    Raises
    ------
    InputError
        If half_width is negative.

    Notes
    -----
    Source: JCGM 100:2008 (GUM), 4.3.9. Checked in tests/published/test_gum_rectangular.py.

    Examples
    --------
    >>> print(f"{triangular_uncertainty(4.0):.4f}")
    1.6330
    """
    guards.not_negative("Half width", half_width)
    return half_width / math.sqrt(6.0)


def resolution_uncertainty(step: float) -> float:
    """Standard uncertainty left by reading to the nearest step.

    Parameters
    ----------
    step : float
        Smallest difference that is read [any unit]

    Returns
    -------
    float
        step / sqrt(12) [same unit]

    Raises
    ------
    InputError
        If step is negative.

    Notes
    -----
    Source: JCGM 100:2008 (GUM), F.2.2.1. Checked in tests/published/test_gum_rectangular.py.

    Examples
    --------
    >>> print(f"{resolution_uncertainty(1.0):.4f}")
    0.2887
    """
    guards.not_negative("Step", step)
    return step / math.sqrt(12.0)


def combined_uncertainty(*terms: float) -> float:
    """Root of the sum of squares of independent standard uncertainties.

    Parameters
    ----------
    *terms : float
        Each already multiplied by how strongly it acts on the result [same unit]

    Returns
    -------
    float
        [same unit]

    Raises
    ------
    InputError
        If a term is not a number.

    Notes
    -----
    Source: JCGM 100:2008 (GUM), 5.1.2. Checked in tests/published/test_gum_rectangular.py.

    Examples
    --------
    >>> combined_uncertainty(3.0, 4.0)
    5.0
    """
    if any(math.isnan(term) for term in terms):
        raise InputError("An uncertainty is missing", given="not a number")
    return math.hypot(*terms)


def mean_of_readings(readings: Sequence[float], instrument: float = 0.0) -> Estimate:
    """Mean of repeated readings with its uncertainty.

    Parameters
    ----------
    readings : sequence of float, length n
        [any unit]
    instrument : float
        Standard uncertainty common to all readings, which repeating does not shrink [same unit]

    Returns
    -------
    Estimate
        Mean; the spread over sqrt(n) and the instrument combined.

    Raises
    ------
    InputError
        Without readings, or if one is not finite.

    Notes
    -----
    Source: JCGM 100:2008 (GUM), 4.2.3. With fewer than about five readings the spread itself is
    poorly known: see `coverage_factor`.

    Examples
    --------
    >>> mean = mean_of_readings([10.0, 10.2, 9.8])
    >>> print(f"{mean.value:.2f} +- {mean.uncertainty:.3f}")
    10.00 +- 0.115
    """
    values = np.asarray(readings, dtype=float)
    if values.size == 0 or not np.isfinite(values).all():
        raise InputError("A mean needs at least one reading, all of them numbers")
    scatter = float(values.std(ddof=1)) / math.sqrt(values.size) if values.size > 1 else 0.0
    return Estimate(float(values.mean()), combined_uncertainty(scatter, instrument))


def coverage_factor(degrees_of_freedom: float, probability: float = 0.9545) -> float:
    """How many standard uncertainties cover the truth with this probability.

    Parameters
    ----------
    degrees_of_freedom : float
        Number of readings less one; infinity when the uncertainty itself is well known [1]
    probability : float
        Between 0 and 1 [1]

    Returns
    -------
    float
        [1]

    Raises
    ------
    InputError
        If degrees_of_freedom is not above zero or the probability not between 0 and 1.

    Notes
    -----
    Student's distribution, JCGM 100:2008 (GUM), annex G.3.

    Examples
    --------
    >>> print(f"{coverage_factor(4):.2f}  {coverage_factor(math.inf):.2f}")
    2.87  2.00
    """
    if not degrees_of_freedom > 0.0:
        raise InputError("Coverage needs at least two readings")
    if not 0.0 < probability < 1.0:
        raise InputError("A probability lies between 0 and 1", given=f"{probability:g}")
    from scipy import special  # heavy, and rarely needed

    tail = 0.5 * (1.0 + probability)
    if math.isinf(degrees_of_freedom):
        return float(special.ndtri(tail))
    return float(special.stdtrit(degrees_of_freedom, tail))


def clearance(hole: Estimate, shaft: Estimate) -> Estimate:
    """Space between two measured parts, negative when they interfere.

    Parameters
    ----------
    hole, shaft : Estimate
        Diameters, or any two lengths of which the second is taken from the first [m]

    Returns
    -------
    Estimate
        [m]

    Notes
    -----
    Uncertainties combine as for independent readings (GUM 5.1.2). Measured with the same
    micrometer set once, part of the error is common and cancels: then this is a little too wide.

    Examples
    --------
    >>> gap = clearance(Estimate(0.05604, 3e-6), Estimate(0.05600, 4e-6))
    >>> print(f"{1e6 * gap.value:.0f} +- {1e6 * gap.uncertainty:.0f} um")
    40 +- 5 um
    """
    return Estimate(
        hole.value - shaft.value, combined_uncertainty(hole.uncertainty, shaft.uncertainty)
    )
