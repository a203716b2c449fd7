"""The parts of a carburettor and the engine it feeds, as plain numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.physics.guards import not_negative, positive, within

Floats = NDArray[np.float64]
ScrewKind = Literal["mixture", "air"]
SlideKind = Literal["slide", "constant velocity"]
BowlVent = Literal["air", "box"]


@dataclass(frozen=True, slots=True)
class Needle:
    """A jet needle: diameters along its length, hung in one of several grooves.

    Parameters
    ----------
    name : str
        As stamped, or any name.
    positions, diameters : tuple of float
        Distance below the top groove, rising, and diameter there [m]
    clips : int
        Number of grooves; 1 is the top one, the needle hangs lowest and the mixture is leanest.
    clip_step : float
        From groove to groove [m]
    jet_below_clip : float
        From the top groove down to the upper edge of the needle jet with the slide shut and the
        clip in the top groove [m]
    """

    name: str
    positions: tuple[float, ...]
    diameters: tuple[float, ...]
    clips: int = 5
    clip_step: float = 0.9e-3
    jet_below_clip: float = 25.0e-3

    def __post_init__(self) -> None:
        if len(self.positions) != len(self.diameters) or len(self.positions) < 2:
            raise InputError(
                "A needle wants a diameter at two places at least, and as many as places",
                given=f"{len(self.positions)} places, {len(self.diameters)} diameters",
                allowed="two or more pairs",
                instead="distance below the top groove and diameter, pair by pair",
                where=f"needle {self.name}",
            )
        if any(b <= a for a, b in zip(self.positions, self.positions[1:], strict=False)):
            raise InputError(
                "The places along a needle must go down from the top groove",
                given=", ".join(f"{1000 * p:g}" for p in self.positions) + " mm",
                allowed="rising distances",
                instead="the places in order, top first",
                where=f"needle {self.name}",
            )
        positive("Needle diameter", np.asarray(self.diameters), "m")
        within("Number of clip grooves", float(self.clips), 1, 20)
        positive("Step between clip grooves", self.clip_step, "m")


@dataclass(frozen=True, slots=True)
class Carburettor:
    """What stays when jets are changed.

    Parameters
    ----------
    bore : float
        At the slide [m]
    needle_jet : float
        Bore of the needle jet [m]
    kind : str
        "slide" (the cable lifts the slide) or "constant velocity" (a piston floats by itself).
    screw : str
        "mixture" (behind the slide, outwards is richer) or "air" (in the bleed, outwards leaner).
    screw_area : float
        Area the screw opens per turn [m2]
    pilot_outlet : float
        Area open to the pilot mixture whatever the screw does, bypass holes with it [m2]
    pilot_air_jet, main_air_jet : float
        Bores of the bleeds; 0 for none in the main [m]
    main_height, pilot_height : float
        Of the needle jet's mouth and of the pilot's highest point over the fuel level [m]
    idle_lift : float
        Of the slide at idle [m]
    bowl_vent : str
        "air" or "box": where the bowl is vented to.
    piston_pressure : float
        Drop at which a floating piston rides [Pa]
    """

    bore: float
    needle_jet: float
    kind: SlideKind = "slide"
    screw: ScrewKind = "mixture"
    screw_area: float = 0.04e-6
    pilot_outlet: float = 0.12e-6
    pilot_air_jet: float = 2.2e-3
    main_air_jet: float = 0.7e-3
    main_height: float = 3.0e-3
    pilot_height: float = 2.0e-3
    idle_lift: float = 0.5e-3
    bowl_vent: BowlVent = "air"
    piston_pressure: float = 1600.0

    def __post_init__(self) -> None:
        within("Carburettor bore", self.bore, 5e-3, 80e-3, "m")
        positive("Needle jet bore", self.needle_jet, "m")
        positive("Pilot air jet bore", self.pilot_air_jet, "m")
        not_negative("Main air jet bore", self.main_air_jet, "m")
        positive("Screw area per turn", self.screw_area, "m2")
        positive("Pilot outlet", self.pilot_outlet, "m2")
        within("Idle lift", self.idle_lift, 0.0, 0.5 * self.bore, "m")


@dataclass(frozen=True, slots=True)
class Breathing:
    """The engine as the carburettor sees it, for one cylinder.

    Filling nearly cancels in the mixture (the air that goes in also sucks the fuel), so a guess
    of it does little harm.

    Parameters
    ----------
    swept : float
        Swept volume fed by this carburettor [m3]
    compression_ratio : float
        [-]
    best_speed_rpm : float
        Where it fills best [rpm]
    filling : float
        Volumetric efficiency there, throttle full open [-]
    """

    swept: float
    compression_ratio: float = 9.0
    best_speed_rpm: float = 7000.0
    filling: float = 0.88

    def __post_init__(self) -> None:
        within("Swept volume", self.swept, 1e-5, 2e-3, "m3")
        within("Compression ratio", self.compression_ratio, 4.0, 20.0)
        within("Speed of best filling", self.best_speed_rpm, 1000.0, 20000.0, "rpm")
        within("Filling", self.filling, 0.3, 1.3)


@dataclass(frozen=True, slots=True)
class Setting:
    """What a mechanic can change."""

    pilot_jet: float
    screw_turns: float
    cutaway: float
    needle: Needle
    clip: int
    main_jet: float

    def __post_init__(self) -> None:
        for name, value, low, high, unit in (
            ("Pilot jet bore", self.pilot_jet, 0.1e-3, 3e-3, "m"),
            ("Main jet bore", self.main_jet, 0.2e-3, 6e-3, "m"),
            ("Cutaway", self.cutaway, 0.0, 15e-3, "m"),
            ("Screw turns", self.screw_turns, 0.0, 15.0, "turns"),
        ):
            # Thousands of settings are made in a search; the guard is for the bad one.
            if not low <= value <= high:
                within(name, value, low, high, unit)
        if not 1 <= self.clip <= self.needle.clips:
            raise InputError(
                "This needle has no such clip groove",
                given=f"{self.clip}",
                allowed=f"1 (top, leanest) to {self.needle.clips} (richest)",
                instead="the groove counted from the top",
                where=f"needle {self.needle.name}",
            )

    def with_(self, **changes: object) -> Setting:
        """The same setting with something changed."""
        return replace(self, **changes)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Air:
    """What the carburettor breathes and burns.

    Parameters
    ----------
    pressure : float
        Of the room [Pa]
    temperature : float
        At the carburettor's mouth [K]
    density : float
        Of the moist air of the room [kg/m3]
    fuel_density : float
        In the bowl [kg/m3]
    stoichiometric_ratio : float
        [kg/kg]
    box_resistance : float
        Depression in the air box over the square of one cylinder's air flow [Pa s2/kg2]
    """

    pressure: float = 101325.0
    temperature: float = 293.15
    density: float = 1.2041
    fuel_density: float = 740.0
    stoichiometric_ratio: float = 14.58
    box_resistance: float = 0.0

    def __post_init__(self) -> None:
        within("Air pressure", self.pressure, 30e3, 120e3, "Pa")
        within("Air temperature", self.temperature, 230.0, 340.0, "K")
        within("Air density", self.density, 0.3, 2.0, "kg/m3")
        within("Fuel density", self.fuel_density, 600.0, 900.0, "kg/m3")
        within("Stoichiometric ratio", self.stoichiometric_ratio, 5.0, 20.0)
        not_negative("Resistance of the air box", self.box_resistance, "Pa s2/kg2")


def needle_diameter(needle: Needle, clip: int, lift: Floats | float) -> Floats:
    """Diameter of the needle at the mouth of the needle jet.

    Parameters
    ----------
    needle : Needle
    clip : int
        Groove, 1 the top one.
    lift : float or array, shape (n,)
        Of the slide [m]

    Returns
    -------
    array, shape (n,)
        [m]

    Examples
    --------
    >>> taper = Needle("A", (0.0, 0.03, 0.06), (2.5e-3, 2.5e-3, 1.6e-3))
    >>> print(f"{1000 * needle_diameter(taper, 3, 0.010)[0]:.3f} mm")
    2.296 mm
    """
    at = needle.jet_below_clip + np.atleast_1d(np.asarray(lift)) + (clip - 1) * needle.clip_step
    return np.interp(at, needle.positions, needle.diameters)
