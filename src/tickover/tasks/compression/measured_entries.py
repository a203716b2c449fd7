"""Measured volumes and the degree wheel as they are typed: kinds, short lines, tables, entries.

Volumes belong to a cylinder ('' for all of them, as a gasket's thickness often does); events of
the cams belong to the engine.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from tickover.book.bodies import Reading
from tickover.book.csvfile import read_table
from tickover.engine import EngineFile
from tickover.engine.tables.cams import TimingAngle
from tickover.errors import FileError, InputError
from tickover.quantities import parse_number, parse_range
from tickover.tasks.compression.tables import COLUMNS, cylinder_place

#: Kind as typed: part of the chamber, name in the book, quantity, unit meant, SI unit.
VOLUMES: Mapping[str, tuple[str, str, str, str, str]] = {
    "chamber": ("head_volume", "chamber volume", "volume", "cc", "m3"),
    "gasket": ("gasket_thickness", "gasket thickness", "length", "mm", "m"),
    "gasket hole": ("gasket_bore", "gasket hole", "length", "mm", "m"),
    "deck": ("deck", "deck height", "length", "mm", "m"),
    "dome": ("dome_volume", "dome volume", "volume", "cc", "m3"),
}
_ALSO = {
    "head": "chamber", "head volume": "chamber", "chamber volume": "chamber",
    "burette": "chamber", "gasket thickness": "gasket", "gasket bore": "gasket hole",
    "deck height": "deck", "dome volume": "dome", "piston dome": "dome",
    "in opens": "inlet opens", "in closes": "inlet closes", "ex opens": "exhaust opens",
    "ex closes": "exhaust closes", "stop before": "piston stop before",
    "stop after": "piston stop after",
}  # fmt: skip
EVENTS: Mapping[str, TimingAngle] = {
    "inlet opens": TimingAngle("The inlet opening", True, "TDC"),
    "inlet closes": TimingAngle("The inlet closing", False, "BDC"),
    "exhaust opens": TimingAngle("The exhaust opening", True, "BDC"),
    "exhaust closes": TimingAngle("The exhaust closing", False, "TDC"),
}
STOPS = ("piston stop before", "piston stop after")
WHEEL = (*STOPS, *EVENTS)


def kind_of(text: str, allowed: Iterable[str]) -> str:
    """The kind of measurement somebody means; InputError with the kinds there are."""
    bare = " ".join(text.lower().replace("_", " ").replace("-", " ").split())
    bare = _ALSO.get(bare, bare)
    if bare not in allowed:
        raise InputError("This is not measured here", given=text, allowed=", ".join(allowed))
    return bare


def volume_entry(
    place: str, kind: str, value: str, unit: str = "", instrument: str = ""
) -> Reading:
    """The book's entry for one part of the chamber.

    Parameters
    ----------
    place : str
        'cyl1', or '' where it is the same on all
    kind : str
        One of VOLUMES
    value, unit : str
        As typed, '15.9 +- 0.2 cc': the give or take counts as one standard deviation

    Raises
    ------
    InputError
        If the kind or the value is none.
    """
    known = kind_of(kind, VOLUMES)
    _, what, quantity, usual, si = VOLUMES[known]
    subject = f"The {what}"
    text = value.strip()
    # Volumes have no sign, a dish has: its minus is taken off and put back.
    below = quantity == "volume" and text.startswith(("-", "\N{MINUS SIGN}"))
    found = parse_range(text[1:] if below else text, quantity, unit.strip() or usual, subject)
    low, high = found.low_si, found.high_si
    if below:
        low, high = -high, -low
    if known != "dome" and known != "deck" and low <= 0.0:
        raise InputError(f"{subject} cannot be nothing or less", given=value)
    most = {"chamber": 1e-3, "dome": 2e-4, "gasket": 6e-3, "gasket hole": 0.2, "deck": 0.02}[known]
    if max(abs(low), abs(high)) > most:
        shown = f"{most * (1e6 if quantity == 'volume' else 1e3):g} {usual}"
        raise InputError(f"{subject} is too large for an engine", given=f"{value} {unit}".strip(),
                         allowed=f"up to {shown}")  # fmt: skip
    typed = f"{value} {unit}".strip()
    if not any(c.isalpha() for c in typed):
        typed = f"{typed} {usual}"
    return Reading(what, place, low, high, si, typed, instrument)


def wheel_entry(kind: str, value: str, instrument: str = "") -> Reading:
    """The book's entry for one reading of the degree wheel.

    Parameters
    ----------
    kind : str
        One of WHEEL
    value : str
        '12', '12 deg BTDC', '8 ATDC'; without a dead centre: inlet opens before top and closes
        after bottom, exhaust opens before bottom and closes after top

    Raises
    ------
    InputError
        If the kind or the value is none.
    """
    known = kind_of(kind, WHEEL)
    text = " ".join(value.split())
    bare = text.lower().removesuffix("degrees").removesuffix("deg").rstrip(" °")
    if known in EVENTS:
        if any(c.isalpha() for c in bare):
            angle = EVENTS[known].read(text)
        else:
            angle = float(parse_number(bare, EVENTS[known].what))
        low, high = (-120.0, 180.0)
    else:
        angle = float(parse_number(bare, f"The {known}"))
        low, high = (-180.0, 360.0)
    if not low <= angle <= high:
        raise InputError("That is no reading of a degree wheel", given=value,
                         allowed=f"{low:g} to {high:g} degrees")  # fmt: skip
    return Reading(known, "", angle, angle, "deg", text, instrument)


def ratio_line(engine: EngineFile, text: str) -> tuple[Reading, str]:
    """'cyl1 chamber 15.9 +- 0.2 cc', 'gasket 1.0 mm': the entry, and the words for it."""
    example = "'ratio cyl1 chamber 15.9 +- 0.2 cc'"
    place, rest = _place_first(text, engine.engine.cylinders)
    kind, value = _kind_first(rest, (*VOLUMES, *_ALSO), example)
    body = volume_entry(place, kind, value)
    return body, f"{place or 'all cylinders'}, {body.what}: {body.typed}"


def wheel_line(engine: EngineFile, text: str) -> tuple[Reading, str]:
    """'inlet opens 12', 'exhaust closes 8 deg ATDC': the entry, and the words for it."""
    kind, value = _kind_first(text, (*WHEEL, *_ALSO), "'wheel inlet opens 12'")
    body = wheel_entry(kind, value)
    return body, f"{body.what}: {body.typed}"


def _place_first(text: str, cylinders: int) -> tuple[str, str]:
    first, _, rest = text.strip().partition(" ")
    if first.lower().startswith("cyl") or first.isdigit() or first.lower() == "all":
        place = cylinder_place(first, cylinders)
        return "" if place == "test" else place, rest
    return "", text


def _kind_first(text: str, kinds: Iterable[str], example: str) -> tuple[str, str]:
    folded = " ".join(text.split())
    for kind in sorted(kinds, key=len, reverse=True):
        if folded.casefold().startswith(f"{kind} "):
            value = folded[len(kind) :].strip(" :=")
            if value:
                return kind, value
    raise InputError("A measurement needs its kind and its value", given=text, instead=example)


def entries_from_csv(
    source: str | bytes | Path, name: str, cylinders: int, *, wheel: bool
) -> tuple[Reading, ...]:
    """Measurements from a table `place,kind,value,unit,note`.

    Parameters
    ----------
    source, name : table and what messages call it
    cylinders : int
    wheel : bool
        Readings of the degree wheel; else volumes

    Raises
    ------
    FileError
        With every line that cannot be used.
    """
    made: list[Reading] = []
    wrong: list[str] = []
    for row in read_table(source, name, COLUMNS, required=("kind", "value")):
        try:
            if wheel:
                made.append(wheel_entry(row["kind"], f"{row['value']} {row['unit']}".strip()))
                continue
            place = cylinder_place(row["place"] or "all", cylinders)
            made.append(
                volume_entry("" if place == "test" else place, row["kind"], row["value"],
                             row["unit"])
            )  # fmt: skip
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    if wrong:
        count = f"{len(wrong)} row{'s' if len(wrong) > 1 else ''} cannot be used"
        raise FileError(f"{count}\n  " + "\n  ".join(wrong), where=name)
    return tuple(made)
