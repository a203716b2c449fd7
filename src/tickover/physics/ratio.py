"""Compression ratio from what burette, micrometer and depth gauge say."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Chamber:
    """What is left above the piston at top dead centre.

    Parameters
    ----------
    bore, stroke : float
        [m]
    head_volume : float
        Chamber in the head to its face, plug and valves in, by burette [m3]
    gasket_thickness, gasket_bore : float
        Crushed thickness, and diameter of the hole [m]
    deck : float
        Piston edge below the cylinder's top at top dead centre, negative if it stands above [m]
    dome_volume : float
        What the crown displaces above its edge, negative for a dish or pockets [m3]
    """

    bore: float
    stroke: float
    head_volume: float
    gasket_thickness: float = 0.0
    gasket_bore: float = 0.0
    deck: float = 0.0
    dome_volume: float = 0.0

    def __post_init__(self) -> None:
        if not (0.02 <= self.bore <= 0.2 and 0.02 <= self.stroke <= 0.2):
            raise InputError(
                "Bore and stroke are not an engine's",
                given=f"{self.bore * 1e3:g} x {self.stroke * 1e3:g} mm",
                allowed="20 to 200 mm each",
            )
        if self.gasket_thickness and not 0.8 * self.bore <= self.gasket_bore <= 1.5 * self.bore:
            raise InputError(
                "The gasket's hole does not go with the bore",
                given=f"{self.gasket_bore * 1e3:g} mm on a bore of {self.bore * 1e3:g} mm",
                allowed="0.8 to 1.5 times the bore",
            )


def clearance_volume(chamber: Chamber) -> float:
    """Volume above the piston at top dead centre.

    Parameters
    ----------
    chamber : Chamber

    Returns
    -------
    float
        [m3]

    Raises
    ------
    InputError
        If nothing is left, so a number has the wrong sign or unit.

    Examples
    --------
    >>> parts = Chamber(0.061, 0.0488, 19e-6, 1.0e-3, 0.062, 0.5e-3, 3.6e-6)
    >>> print(f"{1e6 * clearance_volume(parts):.2f} cc")
    19.88 cc
    """
    quarter = math.pi / 4.0
    volume = (
        chamber.head_volume
        + quarter * chamber.gasket_bore**2 * chamber.gasket_thickness
        + quarter * chamber.bore**2 * chamber.deck
        - chamber.dome_volume
    )
    if not volume > 0.0:
        raise InputError(
            "Dome and deck leave no room above the piston",
            given=f"{volume * 1e6:.1f} cc",
            allowed="more than 0",
            instead="a deck above the cylinder's top and a dish with a minus sign, volumes in cc",
        )
    return volume


def compression_ratio(chamber: Chamber) -> float:
    """Geometric compression ratio, (swept + clearance) over clearance.

    Parameters
    ----------
    chamber : Chamber

    Returns
    -------
    float
        [1]

    Notes
    -----
    Source: J. B. Heywood, Internal Combustion Engine Fundamentals (1988), equation 2.1.

    Examples
    --------
    >>> print(f"{compression_ratio(Chamber(0.056, 0.056, 137.9284839e-6 / 8.5)):.3f}")
    9.500
    """
    swept = math.pi / 4.0 * chamber.bore**2 * chamber.stroke
    return 1.0 + swept / clearance_volume(chamber)


def dome_volume(bore: float, drop: float, poured: float) -> float:
    """Volume the crown displaces, from the burette with the piston drawn down.

    Parameters
    ----------
    bore : float
        [m]
    drop : float
        Piston edge below the plate on the cylinder's top [m]
    poured : float
        What fills the space under the plate [m3]

    Returns
    -------
    float
        Positive for a dome, negative for a dish [m3]

    Examples
    --------
    >>> print(f"{1e6 * dome_volume(0.061, 0.010, 25.6e-6):.2f} cc")
    3.62 cc
    """
    return math.pi / 4.0 * bore * bore * drop - poured
