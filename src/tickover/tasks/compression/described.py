"""The engine as the compression test sees it, and the day it was tested."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from tickover.errors import InputError
from tickover.physics.atmosphere import SEA_LEVEL_PRESSURE, pressure_at_altitude, station_pressure
from tickover.physics.cylinder import Cylinder
from tickover.physics.leakdown import jet_area
from tickover.physics.valveflow import Valve

PSI = 6894.757293168361  # Pa


@dataclass(frozen=True, slots=True)
class CylinderSpec:
    """One engine's cylinders, all alike.

    Parameters
    ----------
    name : str
    cylinders : int
        1 to 8
    bore, stroke, rod : float
        [m]
    ratio : float
        Compression ratio, from the book or measured [1]
    ratio_sd : float
        One standard uncertainty of it [1]
    inlet, exhaust : Valve
        Timing at the seat
    timing_sd_deg : float
        One standard uncertainty of the cam timing [crank deg]
    neighbours : tuple of pairs of int
        Cylinders with a gasket between them, numbered from 1
    tooth_deg : float, optional
        What a tooth of the cam sprocket is worth [crank deg]
    book_limit : tuple of float, optional
        Least and greatest reading the book allows, gauge at sea level [Pa]
    assumptions : tuple of str
        What was assumed because the engine file does not say
    """

    name: str
    cylinders: int
    bore: float
    stroke: float
    rod: float
    ratio: float
    inlet: Valve
    exhaust: Valve
    ratio_sd: float = 0.25
    timing_sd_deg: float = 3.0
    neighbours: tuple[tuple[int, int], ...] = ()
    tooth_deg: float | None = None
    book_limit: tuple[float, float] | None = None
    assumptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.cylinders <= 8:
            raise InputError(
                "Count the cylinders", given=str(self.cylinders), allowed="1 to 8 cylinders"
            )
        self.cylinder()  # refuses what no engine has

    @property
    def places(self) -> tuple[str, ...]:
        """Names of the cylinders."""
        return tuple(f"cyl{n}" for n in range(1, self.cylinders + 1))

    @property
    def displacement(self) -> float:
        """Of one cylinder [m3]."""
        return math.pi / 4.0 * self.bore**2 * self.stroke

    @property
    def crevice_volume(self) -> float:
        """Usual crevices: ring lands, plug thread, gasket edge: 0.45 percent of the swept [m3]."""
        return 0.0045 * self.displacement

    def cylinder(self) -> Cylinder:
        """For the physics, with usual crevices."""
        return Cylinder(
            self.bore, self.stroke, self.rod, self.ratio, self.inlet, self.exhaust,
            self.crevice_volume,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Conditions:
    """How the test was done. What is None nobody said: it is carried as unknown.

    Parameters
    ----------
    altitude : float
        Of the workshop above the sea [m]
    sea_level_pressure : float, optional
        From the weather report [Pa]; the standard day if None
    air_temperature : float
        [K]
    engine_temperature : float, optional
        [K]; cold (the air's) if None
    speed_rpm, slow_rpm : float, optional
        Cranking speeds of the test and of the second, slower test
    throttle : "open", "shut" or None
    battery : "charged", "weak" or None
    strokes : int
        Compression strokes counted
    hose_volume : float, optional
        Of the gauge's hose [m3]
    check_valve : "plug", "gauge" or None
        The end of the hose where the check valve sits
    oil_volume : float, optional
        For the wet test [m3]
    jet_diameter : float, optional
        Master jet of the leak-down tester [m]
    supply : float, optional
        Its supply pressure, gauge [Pa]
    unseated_rings : bool
        Freshly built, rings not run in
    cam_late_deg, cam_late_sd_deg : float, optional
        From the degree wheel
    ratio, ratio_sd : float, optional
        Compression ratio as measured, in place of the engine file's [1]
    """

    altitude: float = 0.0
    sea_level_pressure: float | None = None
    air_temperature: float = 293.15
    engine_temperature: float | None = None
    speed_rpm: float | None = None
    slow_rpm: float | None = None
    throttle: Literal["open", "shut"] | None = None
    battery: Literal["charged", "weak"] | None = None
    strokes: int = 8
    hose_volume: float | None = None
    check_valve: Literal["plug", "gauge"] | None = None
    oil_volume: float | None = None
    jet_diameter: float | None = None
    supply: float | None = None
    unseated_rings: bool = False
    cam_late_deg: float | None = None
    cam_late_sd_deg: float = 1.5
    ratio: float | None = None
    ratio_sd: float = 0.1

    def __post_init__(self) -> None:
        for rpm in (self.speed_rpm, self.slow_rpm):
            if rpm is not None and not 60.0 <= rpm <= 1200.0:
                raise InputError(
                    "That is not a cranking speed", given=f"{rpm:g} rpm", allowed="60 to 1200 rpm"
                )
        if not 1 <= self.strokes <= 40:
            raise InputError(
                "Count the compression strokes of one cylinder",
                given=str(self.strokes),
                allowed="1 to 40",
            )
        if self.oil_volume is not None and not 0.1e-6 <= self.oil_volume <= 30e-6:
            raise InputError(
                "The oil for a wet test is not that much",
                given=f"{self.oil_volume * 1e6:g} cc",
                allowed="0.1 to 30 cc",
            )
        if self.ratio is not None and not 3.5 <= self.ratio <= 18.0:
            raise InputError(
                "The compression ratio is not a petrol engine's",
                given=f"{self.ratio:g}",
                allowed="3.5 to 18",
                instead=f"{self.ratio / 10:g}" if 35.0 <= self.ratio <= 180.0 else "",
            )
        if self.supply is not None and not 0.2e5 <= self.supply <= 12e5:
            raise InputError(
                "The leak-down supply pressure is not one",
                given=f"{self.supply / PSI:g} psi",
                allowed="3 to 174 psi",
            )
        self.air_pressure  # noqa: B018 - refuses an altitude or weather that is none
        self.jet_area  # noqa: B018 - refuses a jet that is none

    @property
    def air_pressure(self) -> float:
        """Where the engine stands, absolute [Pa]."""
        if self.sea_level_pressure is None:
            return pressure_at_altitude(self.altitude)
        return station_pressure(self.sea_level_pressure, self.altitude)

    @property
    def wall_temperature(self) -> float:
        """Of the metal [K]."""
        known = self.engine_temperature
        return self.air_temperature if known is None else known

    @property
    def jet_area(self) -> float:
        """Effective area of the tester's master jet, 1.0 mm if nobody said [m2]."""
        return jet_area(1.0e-3 if self.jet_diameter is None else self.jet_diameter)

    @property
    def supply_pressure(self) -> float:
        """Leak-down supply, 100 psi if nobody said, gauge [Pa]."""
        return 100.0 * PSI if self.supply is None else self.supply


def at_sea_level(reading: float, air_pressure: float) -> float:
    """A gauge reading as it would be on a standard day at sea level.

    Parameters
    ----------
    reading : float
        Gauge [Pa]
    air_pressure : float
        Where it was taken, absolute [Pa]

    Returns
    -------
    float
        Gauge [Pa]

    Notes
    -----
    Absolute pressures scale with the outside pressure, whatever its temperature. One printed table
    of readings over altitude follows air density instead, that is the colder air of the mountain
    as well, and stands up to 7 percent higher at 10000 ft (tests/published/test_evenness_rules.py).

    Examples
    --------
    >>> print(f"{at_sea_level(140 * PSI, 94322.0) / PSI:.0f} psi")
    150 psi
    """
    return (reading + air_pressure) * SEA_LEVEL_PRESSURE / air_pressure - SEA_LEVEL_PRESSURE


@dataclass(frozen=True, slots=True)
class CylinderReadings:
    """What was read on one cylinder; None where it was not.

    Parameters
    ----------
    place : str
        "cyl1" ...
    dry, wet, slow, first : float, optional
        Dial after the strokes counted; with oil; at the slower speed; after the first stroke.
        Gauge [Pa]
    leak_percent : float, optional
        Of the leak-down tester [%]
    heard : str, optional
        Where the air came out: "inlet", "exhaust", "crankcase", "neighbour" or "nowhere"
    strokes_to_full : int, optional
        Strokes until the needle stopped: checks the hose, names no fault
    """

    place: str
    dry: float | None = None
    wet: float | None = None
    slow: float | None = None
    first: float | None = None
    leak_percent: float | None = None
    heard: str | None = None
    strokes_to_full: int | None = None


EvidenceKey = tuple[
    tuple[tuple[str, float], ...],
    tuple[tuple[str, float], ...],
    tuple[tuple[tuple[str, str], float], ...],
]


@dataclass(frozen=True, slots=True)
class OtherEvidence:
    """What the rest of the book says about a cylinder.

    Parameters
    ----------
    tight_inlet, tight_exhaust : mapping of place to probability
        That a valve of the cylinder has too little clearance, from the clearance readings
    odds : mapping of (place, cause) to factor
        Work done since and the like: 0.3 on ("cyl2", "exhaust valve") after lapping it
    """

    tight_inlet: dict[str, float] = field(default_factory=dict)
    tight_exhaust: dict[str, float] = field(default_factory=dict)
    odds: dict[tuple[str, str], float] = field(default_factory=dict)

    def as_key(self) -> EvidenceKey:
        """The same as sorted tuples, to remember answers by."""
        return (
            tuple(sorted(self.tight_inlet.items())),
            tuple(sorted(self.tight_exhaust.items())),
            tuple(sorted(self.odds.items())),
        )

    @classmethod
    def of_key(cls, key: EvidenceKey) -> OtherEvidence:
        """Back from `as_key`."""
        return cls(dict(key[0]), dict(key[1]), dict(key[2]))
