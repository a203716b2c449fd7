"""What somebody typed for a charging check: refused where it cannot be, with what to write."""

from __future__ import annotations

import re
from dataclasses import replace

from tickover.book.bodies import Reading
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import show
from tickover.tasks.charging import names
from tickover.tasks.finding import Check
from tickover.tasks.simple import simple_reading

_WATTS = re.compile(r"^\s*([\d.,]+)\s*(?:w|watts?)\b", re.IGNORECASE)
_MOST_DRAIN_A = 5.0  # more would empty any motorcycle battery in hours: a unit was mistaken
_SWAPPED = "the probes the other way round: red on plus, black on minus"


def charging_reading(engine: EngineFile, check: Check, typed: str, instrument: str = "") -> Reading:
    """The reading somebody typed for a check of charging.

    Parameters
    ----------
    engine : EngineFile
    check : Check
    typed : str
        '14.2 V at 25 C', '3 mA', '0.5 ohm at 60 C', 'open'.
    instrument : str

    Raises
    ------
    InputError
        As `simple_reading`; a voltage of another system, milliamperes as amperes, watts where
        amperes belong, a negative reading.
    """
    kind = check.wanted.quantity
    watts = _WATTS.match(typed)
    if kind == "current" and watts:
        volts = engine.system_volts
        number = float(watts[1].replace(",", "."))
        raise InputError(
            f"'{check.title}' is read in amperes, not watts", given=typed,
            allowed=f"watts over volts: {watts[1]} W / {volts:g} V = {number / volts:.3g} A",
            instead="the amperes the meter shows",
        )  # fmt: skip
    reading = simple_reading(engine, check, typed, instrument)
    low = reading.low if reading.low is not None else 0.0
    high = reading.high if reading.high is not None else low
    if kind and low < 0.0:
        raise InputError(f"'{check.title}' cannot be below nothing", given=typed,
                         instead=_SWAPPED if kind != "resistance" else
                         "the meter set to zero with its leads together, and again")  # fmt: skip
    if check.name in names.BATTERY and kind:
        _posts(engine, check, typed, high)
    if check.name == names.CHARGE:
        _direct(engine, check, typed, low, high)
        reading = _at_its_speed(reading)
    if check.name in (names.FEED, names.RETURN) and high > 0.5 * engine.system_volts:
        raise InputError(
            "A drop along a wire is a fraction of a volt", given=typed,
            instead="both probes on the same side: output to plus post, or body to minus post",
        )  # fmt: skip
    if check.name == names.DRAIN and high > _MOST_DRAIN_A:
        raise InputError(
            "So much is never drawn with everything off", given=show(high, "A", "current"),
            allowed=f"up to {_MOST_DRAIN_A:g} A",
            instead=f"'{high:g} mA' if the meter stood on its milliampere range",
        )  # fmt: skip
    if check.name == names.LEADS and high > 5.0:
        raise InputError("That is more than leads have", given=typed, allowed="0 to 5 ohm",
                         instead="probes pressed together, lowest range")  # fmt: skip
    return reading


def _at_its_speed(reading: Reading) -> Reading:
    """A charging voltage with a speed typed beside it belongs to that speed."""
    speed = reading.conditions.get("speed_hz")
    if not isinstance(speed, int | float):
        return reading
    if not 5.0 <= speed <= 350.0:
        raise InputError("No engine charges at this speed", given=reading.typed,
                         allowed="300 to 21000 rpm")  # fmt: skip
    rest = {name: value for name, value in reading.conditions.items() if name != "speed_hz"}
    return replace(reading, place=names.speed_place(speed), conditions=rest)


def _posts(engine: EngineFile, check: Check, typed: str, high: float) -> None:
    volts = engine.system_volts
    if high > 1.3 * volts:
        raise InputError(
            f"'{check.title}' is read on a {volts:g} V battery", given=typed,
            allowed=f"0 to {1.3 * volts:g} V",
            instead="the reading again, or the right volts in [battery]",
        )  # fmt: skip


def _direct(engine: EngineFile, check: Check, typed: str, low: float, high: float) -> None:
    volts = engine.system_volts
    if 0.6 * volts <= low and high <= 1.7 * volts:
        return
    other = next((v for v in (6.0, 12.0, 24.0) if 1.0 * v <= low <= high <= 1.35 * v), None)
    raise InputError(
        f"'{check.title}' is read on a {volts:g} V machine", given=typed,
        allowed=f"{0.6 * volts:g} to {1.7 * volts:g} V",
        instead=f"the reading again, or volts = {other:g} in [battery]" if other else
        "the reading again, meter on DC volts",
    )  # fmt: skip
