"""Readings of charging from CSV, kept as the book would keep them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from tickover.book.bodies import Body, Reading
from tickover.book.csvfile import read_table
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.suggest import nearest_word
from tickover.errors import FileError, InputError
from tickover.quantities import parse
from tickover.tasks import starting
from tickover.tasks.charging import names
from tickover.tasks.charging.checks import checks
from tickover.tasks.charging.typed import charging_reading
from tickover.tasks.finding import Check
from tickover.tasks.scratch import scratch_state

COLUMNS = ("reading", "place", "value", "unit", "speed", "temperature")


def state_from_csv(engine: EngineFile, source: Path | bytes, name: str) -> State:
    """The state that the readings of a file make.

    Parameters
    ----------
    engine : EngineFile
    source : Path or bytes
        Columns reading, place, value, unit, speed (rpm), temperature (C).
    name : str
        For messages.

    Raises
    ------
    FileError
        With every row that cannot be used, by line.
    """
    bodies: list[Body] = []
    wrong: list[str] = []
    for row in read_table(source, name, COLUMNS, required=("reading", "value")):
        try:
            bodies.append(row_reading(engine, row.values))
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    if wrong:
        count = f"{len(wrong)} row{'s' if len(wrong) > 1 else ''} cannot be used"
        raise FileError(f"{count}\n  " + "\n  ".join(wrong), where=name)
    return scratch_state(bodies)


def row_reading(engine: EngineFile, cells: Mapping[str, str]) -> Reading:
    """The reading of one row.

    Raises
    ------
    InputError
        No such reading or place, or a value that cannot be.
    """
    check = _check(engine, cells)
    value = f"{cells['value']} {cells.get('unit', '')}".strip()
    if cells.get("temperature"):
        value += f" at {_with(cells['temperature'], 'C')}"
    if cells.get("speed") and check.name != names.CHARGE:
        value += f" at {_with(cells['speed'], 'rpm')}"
    return charging_reading(engine, check, value)


def _check(engine: EngineFile, cells: Mapping[str, str]) -> Check:
    name = " ".join(cells["reading"].split()).lower()
    place = " ".join(cells.get("place", "").split()).lower()
    every = (*checks(engine, State()), *starting.checks(engine, State()))
    known = dict.fromkeys(
        c.name for c in every if c.name not in (starting.STOP, starting.INTERLOCKS)
    )
    if name not in known:
        near = nearest_word(name, list(known))
        raise InputError("There is no such reading", given=cells["reading"],
                         allowed=", ".join(known), instead=near or "")  # fmt: skip
    there = [check for check in every if check.name == name]
    if name == names.CHARGE:
        typed = cells.get("speed") or place
        if not typed:
            raise InputError("A charging voltage needs the speed it was read at",
                             instead="3000 in the column speed")  # fmt: skip
        speed = parse(typed, "speed", "rpm", "The engine speed").value_si
        if not 5.0 <= speed <= 350.0:
            raise InputError("No engine charges at this speed", given=typed,
                             allowed="300 to 21000 rpm")  # fmt: skip
        place = names.speed_place(speed)
        return replace(there[0], place=place, title=f"Charging at {place}")
    found = next((c for c in there if c.place.lower() == place), None)
    if found is None:
        places = "; ".join(c.place for c in there if c.place)
        raise InputError(f"'{name}' is not read there", given=place,
                         allowed=places or "no place")  # fmt: skip
    return found


def _with(text: str, unit: str) -> str:
    return text if any(c.isalpha() for c in text) else f"{text} {unit}"
