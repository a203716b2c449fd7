"""Crank a cylinder on the starter and read the gauge: what it should say, and why.

The description of the cylinder, the air and the gauge; the sums are in `cylinder_kernel`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.physics.atmosphere import SEA_LEVEL_PRESSURE
from tickover.physics.gauge import Gauge
from tickover.physics.valveflow import Valve


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One cylinder, sound or not, before anybody cranks it.

    Parameters
    ----------
    bore, stroke, rod : float
        [m]
    ratio : float
        Geometric compression ratio [1]
    inlet, exhaust : Valve
        Timing at the seat
    crevice_volume : float
        Ring lands and gasket edge, at the wall's temperature [m3]
    """

    bore: float
    stroke: float
    rod: float
    ratio: float
    inlet: Valve
    exhaust: Valve
    crevice_volume: float = 0.5e-6

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("bore", self.bore, 0.02, 0.2),
            ("stroke", self.stroke, 0.02, 0.2),
        ):
            if not low <= value <= high:
                raise InputError(
                    f"The {name} is not an engine's",
                    given=f"{value * 1e3:g} mm",
                    allowed=f"{low * 1e3:g} to {high * 1e3:g} mm",
                )
        if not self.rod > 0.6 * self.stroke:
            raise InputError(
                "The rod is too short for the stroke",
                given=f"{self.rod * 1e3:g} mm for a stroke of {self.stroke * 1e3:g} mm",
                allowed="more than 0.6 of the stroke between centres",
            )
        if not 3.0 <= self.ratio <= 20.0:
            raise InputError(
                "The compression ratio is not a petrol engine's",
                given=f"{self.ratio:g}",
                allowed="3 to 20",
                instead=f"{self.ratio / 10:g}" if 30.0 <= self.ratio <= 200.0 else "",
            )
        if not self.exhaust.opens_deg < self.inlet.closes_deg - 180.0:
            raise InputError(
                "The exhaust opens after the inlet closes, which is no four-stroke",
                given=f"exhaust opens {self.exhaust.opens_deg:g}, inlet closes "
                f"{self.inlet.closes_deg:g} crank degrees",
            )
        if not 20.0 <= self.exhaust.opens_deg <= 240.0 or not (
            480.0 <= self.inlet.closes_deg <= 700.0
        ):
            raise InputError(
                "The cam timing does not fit the strokes",
                given=f"exhaust opens {self.exhaust.opens_deg:g}, inlet closes "
                f"{self.inlet.closes_deg:g} crank degrees of the cycle",
                allowed="exhaust opens 20 to 240, inlet closes 480 to 700",
            )
        if not 0.0 <= self.crevice_volume <= 0.2 * self.clearance:
            raise InputError(
                "The crevices are too large for the chamber",
                given=f"{self.crevice_volume * 1e6:g} cc",
                allowed=f"0 to {0.2 * self.clearance * 1e6:.1f} cc",
            )

    @property
    def displacement(self) -> float:
        """Swept volume [m3]."""
        return 0.25 * math.pi * self.bore**2 * self.stroke

    @property
    def clearance(self) -> float:
        """Volume left at top dead centre [m3]."""
        return self.displacement / (self.ratio - 1.0)


@dataclass(frozen=True, slots=True)
class Air:
    """The air outside and the metal inside.

    Parameters
    ----------
    pressure : float
        Where the engine stands, absolute [Pa]
    temperature : float
        Of the air [K]
    wall_temperature : float
        Of cylinder, head and piston [K]
    """

    pressure: float = SEA_LEVEL_PRESSURE
    temperature: float = 293.15
    wall_temperature: float = 293.15

    def __post_init__(self) -> None:
        if not 45e3 <= self.pressure <= 110e3:
            raise InputError(
                "The air pressure is out of range",
                given=f"{self.pressure / 100:g} hPa",
                allowed="450 to 1100 hPa absolute, where the engine stands",
            )
        for name, value in (("air", self.temperature), ("engine", self.wall_temperature)):
            if not 233.0 <= value <= 473.0:
                raise InputError(
                    f"The {name} temperature is out of range",
                    given=f"{value - 273.15:g} °C",
                    allowed="-40 to 200 °C",
                )


@dataclass(frozen=True, slots=True)
class CrankTest:
    """A compression test of one cylinder.

    Parameters
    ----------
    cylinder : Cylinder
    air : Air
    gauge : Gauge
    speed : float
        Of the crankshaft [rad/s]
    leak_area : float
        All leaks to the outside, effective [m2]
    heat_factor : float
        On Hohenberg's coefficient [1]
    throttle_area : float, optional
        What throttle or slide leaves open for this cylinder, effective [m2]; wide open if None
    port_volume : float
        Between throttle and valve [m3]
    oil_volume : float
        Oil put in for a wet test [m3]
    """

    cylinder: Cylinder
    air: Air = field(default_factory=Air)
    gauge: Gauge = field(default_factory=Gauge)
    speed: float = 31.4159
    leak_area: float = 0.32e-6
    heat_factor: float = 1.0
    throttle_area: float | None = None
    port_volume: float = 60e-6
    oil_volume: float = 0.0

    def __post_init__(self) -> None:
        if not 2.0 <= self.speed <= 160.0:
            raise InputError(
                "That is not a cranking speed",
                given=f"{self.speed * 60 / (2 * math.pi):.0f} rpm",
                allowed="20 to 1500 rpm",
            )
        if not 0.0 <= self.leak_area <= 100e-6:
            raise InputError(
                "The leak area is out of range",
                given=f"{self.leak_area * 1e6:g} mm2",
                allowed="0 to 100 mm2",
            )
        if not 0.0 <= self.heat_factor <= 10.0:
            raise InputError(
                "The heat factor is out of range", given=f"{self.heat_factor:g}", allowed="0 to 10"
            )
        if not 0.0 <= self.oil_volume <= 0.7 * self.cylinder.clearance:
            raise InputError(
                "That much oil would fill the chamber",
                given=f"{self.oil_volume * 1e6:g} cc in a chamber of "
                f"{self.cylinder.clearance * 1e6:.1f} cc",
                allowed=f"0 to {0.7 * self.cylinder.clearance * 1e6:.1f} cc",
            )
        if self.throttle_area is not None and not 0.0 <= self.throttle_area <= 1.0:
            raise InputError(
                "The throttle area is out of range",
                given=f"{self.throttle_area * 1e6:g} mm2",
                allowed="0 or more",
            )

    def row(self) -> NDArray[np.float64]:
        """The numbers of this test as the kernel numbers them, shape (COLUMNS,)."""
        from tickover.physics import cylinder_row as k

        c, deg = self.cylinder, math.pi / 180.0
        row = np.zeros(k.COLUMNS)
        row[[k.BORE, k.STROKE, k.ROD, k.RATIO]] = c.bore, c.stroke, c.rod, c.ratio
        row[[k.IN_OPENS, k.IN_CLOSES]] = c.inlet.opens_deg * deg, c.inlet.closes_deg * deg
        row[[k.EX_OPENS, k.EX_CLOSES]] = c.exhaust.opens_deg * deg, c.exhaust.closes_deg * deg
        row[[k.IN_AREA, k.IN_CAP]] = c.inlet.open_area, c.inlet.port_area
        row[[k.EX_AREA, k.EX_CAP]] = c.exhaust.open_area, c.exhaust.port_area
        row[[k.LEAK, k.CREVICE, k.OIL]] = self.leak_area, c.crevice_volume, self.oil_volume
        row[[k.HEAT, k.WALL_T]] = self.heat_factor, self.air.wall_temperature
        row[[k.AIR_P, k.AIR_T, k.SPEED]] = self.air.pressure, self.air.temperature, self.speed
        row[k.THROTTLE] = 1.0 if self.throttle_area is None else self.throttle_area
        row[k.PORT_V] = self.port_volume
        row[[k.GAUGE_V, k.DEAD_V]] = self.gauge.held_volume, self.gauge.dead_volume
        row[[k.CHECK_AREA, k.CRACKING]] = self.gauge.check_valve_area, self.gauge.cracking_pressure
        return row


def crank(test: CrankTest, strokes: int = 10) -> NDArray[np.float64]:
    """Gauge pressure after each compression stroke of a test.

    Parameters
    ----------
    test : CrankTest
    strokes : int
        Compression strokes of this cylinder, 1 to 40

    Returns
    -------
    array, shape (strokes,)
        Absolute [Pa]; take off the air's pressure for what the dial shows.

    Raises
    ------
    InputError
        If strokes is out of range.

    Notes
    -----
    Single-zone model; air with variable heats; see `cylinder_kernel`.
    Checked against SciPy in tests/unit/physics/test_cylinder.py, against Cantera in
    tests/published/test_isentropic_compression.py.

    Examples
    --------
    >>> inlet = Valve(opens_deg=340, closes_deg=585, lift=7.5e-3, seat_diameter=26e-3)
    >>> exhaust = Valve(opens_deg=135, closes_deg=380, lift=7e-3, seat_diameter=22e-3)
    >>> engine = Cylinder(0.056, 0.056, 0.110, 9.2, inlet, exhaust)
    >>> needle = crank(CrankTest(engine), strokes=8) - 101325.0
    >>> bool(9.5e5 < needle[-1] < 13e5) and bool(needle[0] < 0.8 * needle[-1])
    True
    """
    readings: NDArray[np.float64] = crank_many(test.row()[np.newaxis, :], strokes)[0]
    return readings


def crank_many(rows: NDArray[np.float64], strokes: int, *, threads: int = 1) -> NDArray[np.float64]:
    """Many tests at once.

    Parameters
    ----------
    rows : array, shape (n, COLUMNS)
        From `CrankTest.row`
    strokes : int
        1 to 40
    threads : int
        How many threads share the work

    Returns
    -------
    array, shape (n, strokes)
        Gauge pressures, absolute [Pa]

    Raises
    ------
    InputError
        If strokes is out of range.
    """
    from tickover.physics.cylinder_kernel import crank_tests, room

    if not 1 <= strokes <= 40:
        raise InputError(
            "Count the compression strokes of one cylinder", given=str(strokes), allowed="1 to 40"
        )
    table = np.ascontiguousarray(rows, dtype=np.float64)
    readings = np.empty((table.shape[0], strokes))
    peaks = np.empty_like(readings)
    if threads <= 1 or table.shape[0] < 16:
        crank_tests(table, readings, peaks, *room())
        return readings
    parts: Sequence[NDArray[np.intp]] = np.array_split(np.arange(table.shape[0]), threads)
    with ThreadPoolExecutor(threads) as pool:
        jobs = [
            pool.submit(
                crank_tests,
                table[part[0] : part[-1] + 1],
                readings[part[0] : part[-1] + 1],
                peaks[part[0] : part[-1] + 1],
                *room(),
            )
            for part in parts
            if part.size
        ]
        for job in jobs:
            job.result()
    return readings


def speed_from_rpm(rpm: float) -> float:
    """Crank speed.

    Parameters
    ----------
    rpm : float
        [1/min]

    Returns
    -------
    float
        [rad/s]

    Examples
    --------
    >>> print(f"{speed_from_rpm(300.0):.3f} rad/s")
    31.416 rad/s
    """
    return rpm * math.pi / 30.0
