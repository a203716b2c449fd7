"""Oil pump and circuit: how much oil a turn moves, how long priming takes, what pressure to expect.

The pressure model is deliberately small. A pump that moves so much a turn feeds clearances that
leak in proportion to pressure over viscosity (bearings) and holes that pass the root of pressure
whatever the viscosity (jets, camshaft drillings); a relief valve cuts the top. One reading of the
engine itself sets the scale, so no clearance has to be known, and the unknown share of holes
makes the answer a band instead of a number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.bands import Band, as_band

USUAL_TIGHTNESS = Band(0.5, 0.95)
"""Share of the displacement a pump in order delivers at cranking speed (common practice, no
source): thick cold oil seals well, a worn pump with hot oil slips."""


def gear_pump_displacement(
    tip_diameter: float, centre_distance: float, width: float, teeth: int, pressure_angle: float
) -> float:
    """Oil moved for each turn by two equal spur gears.

    Parameters
    ----------
    tip_diameter : float
        Over the teeth [m]
    centre_distance : float
        Between the shafts [m]
    width : float
        Of the gears [m]
    teeth : int
        On one gear.
    pressure_angle : float
        Usually 20 degrees [rad]

    Returns
    -------
    float
        For each turn of the driving gear [m^3]

    Raises
    ------
    InputError
        If the gears could not mesh.

    Notes
    -----
    Work done by the pressure as the point of contact runs along one base pitch:
    V = 2*pi*b*(ra^2 - rw^2 - p^2/12), ra tip radius, rw half the centre distance,
    p = 2*pi*rw*cos(angle)/z. Valid with relief grooves at both ends of the contact, which engine
    pumps have. It tends to 2*pi*m^2*z*b for standard gears.

    Examples
    --------
    >>> turn = gear_pump_displacement(0.032, 0.0267, 0.010, 10, math.radians(20.0))
    >>> print(f"{1e6 * turn:.2f} cm3 a turn")
    4.56 cm3 a turn
    """
    guards.positive("Gear width", width, "m")
    tip, pitch = 0.5 * tip_diameter, 0.5 * centre_distance
    if teeth < 3 or not pitch < tip < 2.0 * pitch:
        raise InputError(
            "Such gears cannot mesh",
            given=f"tip diameter {1e3 * tip_diameter:g} mm, "
            f"centres {1e3 * centre_distance:g} mm, {teeth} teeth",
            allowed="tip diameter a little more than the centre distance",
        )
    base_pitch = 2.0 * math.pi * pitch * math.cos(pressure_angle) / teeth
    return 2.0 * math.pi * width * (tip**2 - pitch**2 - base_pitch**2 / 12.0)


def trochoid_pump_displacement(
    inner_tip_diameter: float, inner_root_diameter: float, width: float, inner_lobes: int
) -> Band:
    """Oil moved for each turn by an inner and outer rotor with one lobe more.

    Parameters
    ----------
    inner_tip_diameter : float
        Over the tips of the inner rotor: twice tip to centre [m]
    inner_root_diameter : float
        Twice the distance from the centre to the bottom between two lobes [m]
    width : float
        [m]
    inner_lobes : int

    Returns
    -------
    Band
        For each turn of the inner rotor [m^3]

    Raises
    ------
    InputError
        If the root is not smaller than the tip.

    Notes
    -----
    Work done by the pressure on both rotors between their sealing contacts: with l the distance
    of a contact from the pitch point, each radian moves b/(2*n)*(l1^2 - l2^2), n lobes of the
    outer rotor; averaged while a contact opposite the mesh is the sealing one. Two things are
    not measured from outside and make the band: how far out the centres of the outer lobes lie
    (up to twice the pitch radius), and where in the mesh the other contact is.
    Checked against rotors drawn and measured in tests/unit/physics/test_oilpump.py.

    Examples
    --------
    >>> turn = trochoid_pump_displacement(0.030, 0.020, 0.012, 4)
    >>> print(f"{1e6 * turn.low:.2f} to {1e6 * turn.high:.2f} cm3 a turn")
    4.32 to 4.56 cm3 a turn
    """
    guards.positive("Rotor width", width, "m")
    guards.positive("Inner root diameter", inner_root_diameter, "m")
    if not inner_tip_diameter > inner_root_diameter or inner_lobes < 2:
        raise InputError(
            "The tips of the inner rotor must stand outside its roots",
            given=f"tip {1e3 * inner_tip_diameter:g} mm, root {1e3 * inner_root_diameter:g} mm",
        )
    tip = 0.5 * inner_tip_diameter
    eccentricity = 0.25 * (inner_tip_diameter - inner_root_diameter)
    outer_lobes = inner_lobes + 1
    pitch, outer_tip, outer_root = (
        outer_lobes * eccentricity,
        tip - eccentricity,
        tip + eccentricity,
    )
    turn = np.linspace(-math.pi / outer_lobes, math.pi / outer_lobes, 201)

    def far_contact(centres: float) -> float:
        """Mean square distance from pitch point to contact, lobe centres that far out."""
        to_centre = np.sqrt(centres**2 + pitch**2 + 2.0 * centres * pitch * np.cos(turn))
        return float(np.mean((to_centre - (centres - outer_tip)) ** 2))

    in_mesh = max((outer_tip - pitch) ** 2, (outer_root - pitch) ** 2)
    one, other = far_contact(outer_tip), far_contact(max(2.0 * pitch, outer_tip))
    return Band(min(one, other) - in_mesh, max(one, other)) * (math.pi * width / outer_lobes)


def plunger_pump_displacement(
    bore: float, stroke: float, plungers: int = 1, strokes_per_turn: float = 1.0
) -> float:
    """Oil moved for each turn by plungers.

    Parameters
    ----------
    bore, stroke : float
        Of one plunger [m]
    plungers : int
    strokes_per_turn : float
        Delivery strokes of one plunger for each turn of the pump shaft [1]

    Returns
    -------
    float
        [m^3]

    Raises
    ------
    InputError
        If bore or stroke is not above zero.

    Notes
    -----
    pi/4 * bore^2 * stroke.

    Examples
    --------
    >>> print(f"{1e6 * plunger_pump_displacement(0.008, 0.010):.3f} cm3")
    0.503 cm3
    """
    guards.positive("Plunger bore", bore, "m")
    guards.positive("Plunger stroke", stroke, "m")
    return 0.25 * math.pi * bore**2 * stroke * plungers * strokes_per_turn


def pump_flow(
    displacement: Band | float,
    pump_turns_per_crank_turn: float,
    crank_turns_per_second: Band | float,
    tightness: Band | float = USUAL_TIGHTNESS,
) -> Band:
    """Oil a pump delivers.

    Parameters
    ----------
    displacement : Band or float
        For each turn of the pump [m^3]
    pump_turns_per_crank_turn : float
        Drive ratio [1]
    crank_turns_per_second : Band or float
        [1/s]
    tightness : Band or float
        Delivered over displaced, the volumetric efficiency [1]

    Returns
    -------
    Band
        [m^3/s]

    Raises
    ------
    InputError
        If the ratio is not above zero or the tightness above 1.

    Notes
    -----
    Displacement times pump speed times tightness.

    Examples
    --------
    >>> flow = pump_flow(4.5e-6, 0.5, Band(5.0, 8.0))
    >>> print(f"{1e6 * 10 * flow.low:.0f} to {1e6 * 10 * flow.high:.0f} cm3 in 10 s")
    56 to 171 cm3 in 10 s
    """
    guards.positive("Drive ratio", pump_turns_per_crank_turn)
    share = as_band(tightness)
    guards.within("Tightness of a pump", share.low, 0.0, 1.0)
    guards.within("Tightness of a pump", share.high, 0.0, 1.0)
    moved = as_band(displacement) * as_band(crank_turns_per_second)
    return moved * share * pump_turns_per_crank_turn


def priming_time(empty_volume: Band | float, flow: Band | float) -> Band:
    """Time to fill what is empty before oil arrives at the far end.

    Parameters
    ----------
    empty_volume : Band or float
        Passages, filter and cooler together [m^3]
    flow : Band or float
        From `pump_flow` [m^3/s]

    Returns
    -------
    Band
        [s]

    Raises
    ------
    InputError
        If the flow can be zero: then priming may never end.

    Notes
    -----
    Volume over flow; leakage on the way makes the truth later. A pump that draws air at first
    delivers nothing until it is wet: fill it with oil before.

    Examples
    --------
    >>> wait = priming_time(Band(250e-6, 350e-6), Band(5.6e-6, 17.1e-6))
    >>> print(f"{wait.low:.0f} to {wait.high:.0f} s")
    15 to 62 s
    """
    return as_band(empty_volume) / as_band(flow)


@dataclass(frozen=True, slots=True)
class PressureReading:
    """One oil pressure reading of the engine in question, below the relief valve.

    Parameters
    ----------
    pressure : Band
        Gauge, with the gauge's own uncertainty [Pa]
    crank_turns_per_second : float
        [1/s]
    viscosity : Band
        Dynamic, of the oil at the temperature it had. Only ratios count: with the same oil then
        and now put 1 here and `lubricant.viscosity_ratio_of_grade` there, which is far narrower
        than two viscosities of a grade [Pa s]
    """

    pressure: Band
    crank_turns_per_second: float
    viscosity: Band


USUAL_HOLE_SHARE = Band(0.0, 0.5)
"""Share of the oil that leaves through plain holes at the reading (common practice, no source)."""


def expected_pressure(
    reading: PressureReading,
    crank_turns_per_second: float,
    viscosity: Band | float,
    relief: Band | None = None,
    hole_share: Band | float = USUAL_HOLE_SHARE,
) -> Band:
    """Oil pressure to expect at another speed and temperature.

    Parameters
    ----------
    reading : PressureReading
        One good reading of the same engine; it must lie below the relief pressure.
    crank_turns_per_second : float
        [1/s]
    viscosity : Band or float
        Dynamic viscosity then [Pa s]
    relief : Band or None
        From where the relief valve cracks to where it passes everything, gauge [Pa]
    hole_share : Band or float
        Share of the flow that left through plain holes at the reading, 0 to 1 [1]

    Returns
    -------
    Band
        Gauge [Pa]

    Raises
    ------
    InputError
        If the reading is at or above the relief pressure, or a number is not above zero.

    Notes
    -----
    With n = speed ratio, k = viscosity ratio, s = share of holes, x = pressure ratio:
    n = (1 - s)*x/k + s*sqrt(x), a quadratic in sqrt(x). Without holes pressure follows speed
    times viscosity; with nothing but holes it follows speed squared. x rises with n and k and
    is monotone in s, so the ends of the bands give the extremes. Pump slip goes with pressure
    over viscosity like a bearing and is counted as one. Textbook laminar and orifice flow;
    common practice, no source, for the split.

    Examples
    --------
    >>> seen = PressureReading(Band(3.8e5, 4.2e5), 4000 / 60, Band(0.010, 0.012))
    >>> idle = expected_pressure(seen, 1100 / 60, Band(0.010, 0.012), relief=Band(5e5, 6e5))
    >>> print(f"{idle.low / 1e5:.1f} to {idle.high / 1e5:.1f} bar")
    0.5 to 1.4 bar
    """
    share = as_band(hole_share)
    guards.within("Share of holes", share.low, 0.0, 1.0)
    guards.within("Share of holes", share.high, 0.0, 1.0)
    now, then = as_band(viscosity), reading.viscosity
    for name, value in (
        ("Crank speed", crank_turns_per_second),
        ("Crank speed of the reading", reading.crank_turns_per_second),
        ("Viscosity", now.low),
        ("Viscosity of the reading", then.low),
        ("Pressure of the reading", reading.pressure.low),
    ):
        guards.positive(name, value)
    if relief is not None and reading.pressure.high >= relief.low:
        raise InputError(
            "The reading was taken with the relief valve open, so it says nothing about leakage",
            given=f"{reading.pressure.high / 1e5:.2f} bar",
            allowed=f"below {relief.low / 1e5:.2f} bar",
            instead="a reading at lower speed or with hotter oil",
        )
    speed = crank_turns_per_second / reading.crank_turns_per_second
    ratios = [
        _pressure_ratio(speed, k, s)
        for k in (now.low / then.high, now.high / then.low)
        for s in (share.low, share.high)
    ]
    free = Band(min(ratios), max(ratios)) * reading.pressure
    if relief is None:
        return free
    return Band(min(free.low, relief.low), min(free.high, relief.high))


def _pressure_ratio(speed: float, viscosity: float, holes: float) -> float:
    """Positive root of (1 - s) x / k + s sqrt(x) = n for x."""
    a, b = (1.0 - holes) / viscosity, holes
    root = 2.0 * speed / (b + math.sqrt(b * b + 4.0 * a * speed))  # stable for a = 0 too
    return root * root
