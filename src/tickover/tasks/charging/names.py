"""Names of the charging checks, and the limits they are held to."""

from __future__ import annotations

from tickover.engine import EngineFile
from tickover.engine.tables.charging import Charging
from tickover.physics.bands import Band
from tickover.physics.charging import charging_window
from tickover.physics.threephase import PAIRS
from tickover.quantities import whole_number
from tickover.tasks import starting

CHARGE = "charging voltage"
VOLTS = "alternator volts"
WINDING = "alternator winding"
TO_EARTH = "winding to earth"
LEADS = "meter leads"
DIODES = "rectifier diodes"
FIELD = "field winding"
DRAIN = "drain at rest"
FEED = "charging feed drop"
RETURN = "charging earth drop"
NAMES = (DRAIN, LEADS, WINDING, TO_EARTH, DIODES, FIELD, CHARGE, VOLTS, FEED, RETURN)
BATTERY = (starting.AT_REST, starting.CRANKING)
"""Checks of the battery that stand with starting; the causes use their readings."""

PRACTICE_V = Band(13.7, 14.7)
"""Right at the battery of 12 V, engine running: common practice, third party [V]."""
EVEN_SHARE = 0.05
"""How far one pair of wires may lie from the mean of the three: common practice, no source [1]."""
STANDS_DAYS = 30.0
"""How long a machine should stand before half the charge is gone: our choice."""
USUAL_AH = 10.0
"""Capacity assumed where the engine file gives none: our assumption."""
METER_V = 0.05
"""How far off a hand-held meter may be on its 20 V range: our assumption [V]."""
LEADS_OHM = 0.5
"""Most that a meter and its leads read with the probes together: our assumption [ohm]."""


def battery_cells(engine: EngineFile) -> int:
    """Cells of its battery."""
    return round(engine.system_volts / 2.0)


def winding_pairs(table: Charging) -> tuple[str, ...]:
    """Places of the readings between two wires; one without a name for a single winding."""
    return PAIRS if table.phases == 3 else ("",)


def regulator_window(engine: EngineFile, temperature: float | None = None) -> tuple[Band, Band]:
    """Where the charging voltage should be: what all readings of the rule allow, and any.

    Parameters
    ----------
    engine : EngineFile
    temperature : float, optional
        Of the battery [K]

    Returns
    -------
    (Band, Band)
        Inside the first it is good, outside the second it is out. They are one where the engine
        file says whether the regulator follows temperature, or no temperature was noted [V]
    """
    table = engine.charging or Charging()
    scale = engine.system_volts / 12.0
    low, high = table.regulator_v or (PRACTICE_V.low * scale, PRACTICE_V.high * scale)
    fixed = Band(low, high)
    moved = charging_window(low, high, temperature, battery_cells(engine))
    if table.compensated is True:
        return moved, moved
    if table.compensated is False or temperature is None:
        return fixed, fixed
    inner_low, inner_high = max(fixed.low, moved.low), min(fixed.high, moved.high)
    middle = 0.5 * (inner_low + inner_high)
    inner = Band(min(inner_low, middle), max(inner_high, middle))
    return inner, fixed.hull(moved)


def drain_limit_a(engine: EngineFile) -> float:
    """Most that may be drawn with everything off [A]."""
    table = engine.charging or Charging()
    if table.drain_a is not None:
        return table.drain_a
    return 0.5 * capacity_ah(engine) / (24.0 * STANDS_DAYS)


def capacity_ah(engine: EngineFile) -> float:
    """Capacity of the battery, or the usual one [Ah]."""
    given = engine.battery.capacity_ah if engine.battery is not None else None
    return given if given is not None else USUAL_AH


def speed_place(hertz: float) -> str:
    """The place of a charging voltage read at a speed: '3000 rpm'."""
    return f"{60.0 * hertz:.0f} rpm"


def place_speed(place: str) -> float | None:
    """The speed behind such a place [Hz]; None where it is none."""
    number, _, unit = place.partition(" ")
    rpm = whole_number(number)
    return rpm / 60.0 if unit == "rpm" and rpm is not None else None
