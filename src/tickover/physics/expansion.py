"""Heat makes metal grow: what it does to lengths and fits."""

from __future__ import annotations

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
