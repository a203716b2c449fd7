"""What a measurement is worth: uncertainty, wear shapes, fits cold and hot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tickover.errors import InputError
from tickover.physics import guards

REFERENCE_TEMPERATURE = 293.15
"""Temperature at which lengths are stated, 20 degrees C [K]; ISO 1, from memory."""

EXPANSION = {
    "steel 1020": 11.7e-6,
    "steel 1040": 11.3e-6,
    "steel 4140": 12.3e-6,
    "grey iron": 11.4e-6,
    "ductile iron 60-40-18": 11.2e-6,
    "ductile iron 80-55-06": 10.6e-6,
    "aluminium 356": 21.5e-6,
    "aluminium 6061": 23.6e-6,
    "aluminium 2024": 22.9e-6,
    "copper": 17.0e-6,
    "bearing bronze C93200": 18.0e-6,
    "titanium Ti-6Al-4V": 8.6e-6,
}
"""Linear thermal expansion near room temperature [1/K], each good to about 5 percent.

Collected from published material tables; arithmetic is checked in
tests/published/test_materials.py.
"""


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


@dataclass(frozen=True, slots=True)
class Wear:
    """Shape of a bore or journal from readings at several stations and directions.

    Parameters
    ----------
    mean, smallest, largest : float
        [m]
    taper : float
        Largest difference along the axis in one direction; nan with a single station [m]
    taper_direction : int or None
        Column of that difference.
    out_of_round : float
        Largest difference between directions at one station; nan with a single direction [m]
    out_of_round_station : int or None
        Row of that difference.
    difference_uncertainty : float
        Standard uncertainty of taper and out of round [m]
    """

    mean: float
    smallest: float
    largest: float
    taper: float
    taper_direction: int | None
    out_of_round: float
    out_of_round_station: int | None
    difference_uncertainty: float


def wear_shape(readings: npt.ArrayLike, repeatability: float = 0.0) -> Wear:
    """Mean, taper and out of round of a bore or a journal.

    Parameters
    ----------
    readings : array, shape (stations, directions)
        Diameters: one row for each height, one column for each direction, the columns in the
        same direction all the way down; nan where not measured [m]
    repeatability : float
        Standard uncertainty of one reading against another with the same instrument. The
        setting error of the instrument cancels in a difference and does not belong here [m]

    Returns
    -------
    Wear

    Raises
    ------
    InputError
        If there is no reading, or one is not above zero.

    Notes
    -----
    Taper is the largest difference between stations in one direction, out of round the largest
    difference between directions at one station (common practice, no source). A difference of
    two readings carries sqrt(2) times the uncertainty of one.

    Examples
    --------
    >>> shape = wear_shape([[0.05605, 0.05602], [0.05602, 0.05601]])
    >>> print(f"taper {1e3 * shape.taper:.2f} mm, out of round {1e3 * shape.out_of_round:.2f} mm")
    taper 0.03 mm, out of round 0.03 mm
    """
    table = np.atleast_2d(np.asarray(readings, dtype=float))
    known = np.isfinite(table)
    if table.ndim != 2 or not known.any():
        raise InputError("Taper and out of round need readings at stations and directions")
    guards.positive("A diameter", table[known], "m")
    taper, direction = _largest_range(table, known, axis=0)
    round_, station = _largest_range(table, known, axis=1)
    values = table[known]
    return Wear(
        mean=float(values.mean()),
        smallest=float(values.min()),
        largest=float(values.max()),
        taper=taper,
        taper_direction=direction,
        out_of_round=round_,
        out_of_round_station=station,
        difference_uncertainty=math.sqrt(2.0) * repeatability,
    )


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


def thermal_growth(length: float, expansion: float, warming: float) -> float:
    """Growth of a length that is warmed.

    Parameters
    ----------
    length : float
        [m]
    expansion : float
        Linear expansion, as in `EXPANSION` [1/K]
    warming : float
        Temperature rise, negative when it cools [K]

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        If the length is negative.

    Notes
    -----
    length * expansion * warming. Checked in tests/published/test_materials.py.

    Examples
    --------
    >>> print(f"{1e3 * thermal_growth(0.1, EXPANSION['aluminium 356'], 100.0):.4f} mm")
    0.2150 mm
    """
    guards.not_negative("Length", length, "m")
    return length * expansion * warming


def clearance_hot(
    hole: float,
    shaft: float,
    hole_expansion: float,
    shaft_expansion: float,
    hole_temperature: float,
    shaft_temperature: float,
    measured_at: float = REFERENCE_TEMPERATURE,
) -> float:
    """Clearance of a fit whose parts are at other temperatures than when they were measured.

    Parameters
    ----------
    hole, shaft : float
        Diameters as measured [m]
    hole_expansion, shaft_expansion : float
        [1/K]
    hole_temperature, shaft_temperature : float
        [K]
    measured_at : float
        Temperature of both when measured [K]

    Returns
    -------
    float
        Negative when they interfere [m]

    Raises
    ------
    InputError
        If a diameter is negative.

    Notes
    -----
    Free expansion of both parts; a hole grows like the metal that would fill it.

    Examples
    --------
    >>> hot = clearance_hot(0.05604, 0.05600, 11.4e-6, 21.5e-6, 393.15, 433.15)
    >>> print(f"{1e6 * hot:.0f} um")
    -65 um
    """
    hole_growth = thermal_growth(hole, hole_expansion, hole_temperature - measured_at)
    shaft_growth = thermal_growth(shaft, shaft_expansion, shaft_temperature - measured_at)
    return hole + hole_growth - shaft - shaft_growth


def temperature_to_drop_in(
    hole: float,
    shaft: float,
    hole_expansion: float,
    wanted_clearance: float,
    measured_at: float = REFERENCE_TEMPERATURE,
) -> float:
    """Temperature the outer part must reach before the cold inner part drops in.

    Parameters
    ----------
    hole, shaft : float
        Diameters as measured, the hole smaller for an interference fit [m]
    hole_expansion : float
        Of the heated part [1/K]
    wanted_clearance : float
        Room to be left while fitting [m]
    measured_at : float
        Temperature of both when measured, and of the inner part while fitting [K]

    Returns
    -------
    float
        Not below measured_at [K]

    Raises
    ------
    InputError
        If a diameter or the expansion is not above zero.

    Notes
    -----
    Free expansion; the inner part warms from the first touch, so it must go in at once.

    Examples
    --------
    >>> kelvin = temperature_to_drop_in(0.05197, 0.052, EXPANSION["aluminium 356"], 0.02e-3)
    >>> print(f"{kelvin - 273.15:.0f} C")
    65 C
    """
    guards.positive("Hole diameter", hole, "m")
    guards.positive("Shaft diameter", shaft, "m")
    guards.positive("Expansion", hole_expansion, "1/K")
    needed = shaft + wanted_clearance - hole
    return measured_at + max(0.0, needed) / (hole * hole_expansion)


def _largest_range(
    table: npt.NDArray[np.float64], known: npt.NDArray[np.bool_], axis: int
) -> tuple[float, int | None]:
    """Largest (max - min) along an axis and the line it was found in; nan, None if undefined."""
    high = np.where(known, table, -np.inf).max(axis=axis)
    low = np.where(known, table, np.inf).min(axis=axis)
    enough = known.sum(axis=axis) >= 2
    if not enough.any():
        return math.nan, None
    ranges = np.where(enough, high - low, -np.inf)
    line = int(np.argmax(ranges))
    return float(ranges[line]), line
