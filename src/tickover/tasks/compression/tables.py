"""Readings of a compression test as a table: place, kind, value, unit, note.

    cyl1,dry,152,psi,
    cyl1,first stroke,70,psi,
    cyl2,leakdown,12,percent,
    cyl2,air heard at,exhaust,,
    test,altitude,600,m,

Lines of the place `test` say how the test was done.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from tickover.book.csvfile import read_table
from tickover.errors import FileError, InputError
from tickover.physics.leakdown import percent_lost
from tickover.quantities import parse, parse_range, to_unit, whole_number
from tickover.tasks.compression.described import Conditions, CylinderReadings
from tickover.tasks.compression.hypotheses import HEARD

COLUMNS = ("place", "kind", "value", "unit", "note")
KINDS = (
    "dry", "wet", "slow", "first stroke", "strokes to full", "leakdown", "air heard at",
)  # fmt: skip
_PRESSURES = {"dry": "dry", "wet": "wet", "slow": "slow", "first stroke": "first"}
_ABSOLUTE = ("psia", "bara", "bar abs", "bar(a)", "psi abs", "kpa abs", "kpaa", "psi(a)")
_HEARD_WORDS = {
    "inlet": ("inlet", "intake", "carburettor", "carburetor", "carb", "air box"),
    "exhaust": ("exhaust", "silencer", "muffler", "header", "pipe"),
    "crankcase": ("crankcase", "breather", "oil filler", "filler", "rings", "crank case"),
    "neighbour": ("neighbour", "neighbor", "next cylinder", "plug hole", "other cylinder"),
    "nowhere": ("nowhere", "nothing", "none", "silent"),
}


def readings_from_csv(
    source: Path | bytes | str, name: str, cylinders: int, day: Conditions | None = None
) -> tuple[tuple[CylinderReadings, ...], Conditions]:
    """Readings and how the test was done, from a table.

    Parameters
    ----------
    source : Path, bytes or str
    name : str
        What messages call it
    cylinders : int
        Of the engine
    day : Conditions, optional
        What is known already; lines of the place `test` change it

    Returns
    -------
    tuple
        Readings of every cylinder that has a line, and the conditions.

    Raises
    ------
    FileError
        With every line that cannot be used.
    """
    found: dict[str, CylinderReadings] = {}
    conditions = day or Conditions()
    wrong: list[str] = []
    for row in read_table(source, name, COLUMNS, required=("place", "kind", "value")):
        try:
            place = cylinder_place(row["place"], cylinders)
            if place == "test":
                conditions = condition(conditions, row["kind"], row["value"], row["unit"])
            else:
                before = found.get(place, CylinderReadings(place))
                found[place] = with_reading(
                    before, row["kind"], row["value"], row["unit"], conditions
                )
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    if wrong:
        count = f"{len(wrong)} row{'s' if len(wrong) > 1 else ''} cannot be used"
        raise FileError(f"{count}\n  " + "\n  ".join(wrong), where=name)
    return tuple(found[place] for place in sorted(found)), conditions


def cylinder_place(text: str, cylinders: int) -> str:
    """'cyl2' from 'cyl2', 'cylinder 2' or '2'; 'test' for how the test was done."""
    bare = text.strip().lower().replace(" ", "")
    if bare in ("test", "engine", "all"):
        return "test"
    number = whole_number(bare.removeprefix("cylinder").removeprefix("cyl"))
    if number is not None and 1 <= number <= cylinders:
        return f"cyl{number}"
    raise InputError(
        "This engine has no such cylinder",
        given=text,
        allowed=f"cyl1 to cyl{cylinders}, or 'test' for how the test was done"
        if cylinders > 1
        else "cyl1, or 'test' for how the test was done",
    )


def reading_kind(text: str) -> str:
    """The kind of reading somebody means; InputError with the kinds there are."""
    bare = " ".join(text.lower().replace("_", " ").replace("-", " ").split())
    bare = {"leak down": "leakdown", "first": "first stroke", "air": "air heard at",
            "heard": "air heard at", "air heard": "air heard at"}.get(bare, bare)  # fmt: skip
    if bare not in KINDS:
        raise InputError(
            "This kind of reading is not known here", given=text, allowed=", ".join(KINDS)
        )
    return bare


def with_reading(
    before: CylinderReadings, kind: str, value: str, unit: str, day: Conditions
) -> CylinderReadings:
    """A cylinder's readings with one more, as typed.

    Parameters
    ----------
    before : CylinderReadings
    kind : str
        One of KINDS
    value, unit : str
        As typed; a leak-down may be percent, or both gauges as '60/80' with a unit of pressure
    day : Conditions
        Whose supply pressure a lone cylinder gauge is compared with

    Returns
    -------
    CylinderReadings

    Raises
    ------
    InputError
        If the kind is unknown or given twice, or the value is none.
    """
    known = reading_kind(kind)
    if known == "air heard at":
        if before.heard is not None:
            raise InputError(f"Air heard at {before.place} is given twice", given=value)
        return replace(before, heard=heard_word(value))
    if known == "strokes to full":
        if before.strokes_to_full is not None:
            raise InputError(f"Strokes to full of {before.place} are given twice", given=value)
        return replace(before, strokes_to_full=_strokes(value, unit))
    if known == "leakdown":
        if before.leak_percent is not None:
            raise InputError(f"The leak-down of {before.place} is given twice", given=value)
        return replace(before, leak_percent=leak_percent(value, unit, day))
    name = _PRESSURES[known]
    if getattr(before, name) is not None:
        raise InputError(f"The {known} reading of {before.place} is given twice", given=value)
    changes: dict[str, Any] = {name: pressure(value, unit, known)}
    return replace(before, **changes)


def pressure(value: str, unit: str, what: str) -> float:
    """A gauge reading as typed [Pa]; absolute units are refused."""
    text = f"{value} {unit}".strip()
    if any(word in text.lower() for word in _ABSOLUTE):
        raise InputError(
            "Give the pressure as the dial shows it, above the outside air",
            given=text,
            allowed="gauge pressure",
            instead="the absolute value less the air pressure (14.7 psi or 1.01 bar at sea level)",
        )
    found = parse_range(value, "pressure", unit or "psi", f"The {what} reading")
    if found.low_si < 0.0:
        raise InputError(
            f"The {what} reading is negative", given=text, allowed="0 or more, as the dial shows it"
        )
    return 0.5 * (found.low_si + found.high_si)


def leak_percent(value: str, unit: str, day: Conditions) -> float:
    """A leak-down as percent, from percent or from two gauges '60/80'."""
    if "/" in value:
        cylinder, _, supply = value.partition("/")
        unit = unit or "psi"
        first = parse(supply, "pressure", unit, "The supply gauge").value_si
        second = parse(cylinder, "pressure", unit, "The cylinder's gauge").value_si
        return percent_lost(first, second)
    bare = unit.strip().lower()
    if bare in ("", "percent", "%", "pct") or "%" in value:
        percent = 100.0 * parse(value, "percent", "%", "The leak-down").value_si
        if not 0.0 <= percent <= 100.0:
            raise InputError(
                "A leak-down percentage lies between 0 and 100",
                given=f"{value} {unit}".strip(),
                allowed="0 to 100 percent",
            )
        return percent
    shown = parse(value, "pressure", unit, "The cylinder's gauge").value_si
    return percent_lost(day.supply_pressure, shown)


def heard_word(text: str) -> str:
    """Where the air was heard, in our words."""
    bare = text.strip().lower()
    for word, also in _HEARD_WORDS.items():
        if any(each in bare for each in also):
            return word
    raise InputError("Where the air was heard is not clear", given=text, allowed=", ".join(HEARD))


def _si(kind: str, unit: str) -> Callable[[str, str], float]:
    return lambda value, given: parse(value, kind, given or unit).value_si


def _rpm(value: str, unit: str) -> float:
    return to_unit(parse(value, "speed", unit or "rpm").value_si, "rpm", "speed")


def _word(*allowed: str) -> Callable[[str, str], str]:
    def read(value: str, unit: str) -> str:
        bare = value.strip().lower()
        if bare not in allowed:
            raise InputError(
                "This is not one of the words", given=value, allowed=", ".join(allowed)
            )
        return bare

    return read


def _strokes(value: str, unit: str) -> int:
    count = whole_number(value)
    if count is None or not 1 <= count <= 40:
        raise InputError("Count the strokes", given=value, allowed="a whole number, 1 to 40")
    return count


def _rings(value: str, unit: str) -> bool:
    return _word("seated", "new", "unseated")(value, unit) != "seated"


_CONDITIONS: dict[str, tuple[str, Callable[[str, str], Any]]] = {
    "altitude": ("altitude", _si("length", "m")),
    "air pressure": ("sea_level_pressure", _si("pressure", "mbar")),
    "air temperature": ("air_temperature", _si("temperature", "C")),
    "engine temperature": ("engine_temperature", _si("temperature", "C")),
    "cranking speed": ("speed_rpm", _rpm),
    "slow speed": ("slow_rpm", _rpm),
    "throttle": ("throttle", _word("open", "shut")),
    "battery": ("battery", _word("charged", "weak")),
    "strokes": ("strokes", _strokes),
    "hose": ("hose_volume", _si("volume", "cc")),
    "check valve": ("check_valve", _word("plug", "gauge")),
    "oil": ("oil_volume", _si("volume", "cc")),
    "master jet": ("jet_diameter", _si("length", "mm")),
    "supply": ("supply", _si("pressure", "psi")),
    "rings": ("unseated_rings", _rings),
    "cam late": ("cam_late_deg", _si("angle", "deg")),
    "ratio": ("ratio", _si("ratio", "1")),
}


_WITH_SPREAD = {
    "ratio": ("ratio", "ratio_sd", "ratio", "1"),
    "cam late": ("cam_late_deg", "cam_late_sd_deg", "angle", "deg"),
}
_GIVE_OR_TAKE = re.compile(r"\+\s*/?\s*-|±")


def _with_spread(day: Conditions, kind: str, value: str, unit: str) -> Conditions:
    """'9.05 +- 0.1': the value, and beside it half an interval taken as one standard deviation."""
    name, sd_name, quantity, usual = _WITH_SPREAD[kind]
    middle, *rest = _GIVE_OR_TAKE.split(value)
    changes: dict[str, Any] = {name: parse(middle.strip(), quantity, unit or usual).value_si}
    if rest:
        changes[sd_name] = parse(rest[0].strip(), quantity, unit or usual).value_si
    return replace(day, **changes)


def condition(day: Conditions, kind: str, value: str, unit: str) -> Conditions:
    """How the test was done, with one more thing said.

    Parameters
    ----------
    day : Conditions
    kind : str
        Such as "altitude", "cranking speed", "throttle", "master jet"
    value, unit : str
        As typed

    Returns
    -------
    Conditions

    Raises
    ------
    InputError
        If the kind is unknown or the value is none.
    """
    bare = " ".join(kind.lower().replace("_", " ").replace("-", " ").split())
    if bare not in _CONDITIONS:
        raise InputError(
            "This about the test is not known here", given=kind, allowed=", ".join(_CONDITIONS)
        )
    if bare in _WITH_SPREAD:
        return _with_spread(day, bare, value, unit)
    name, read = _CONDITIONS[bare]
    return replace(day, **{name: read(value, unit)})
