"""Readings and drawer from CSV as people make it, and the readings back to CSV."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from tickover.book.csvfile import read_table
from tickover.engine import EngineFile
from tickover.errors import FileError, InputError
from tickover.tasks.valves.readings import (
    ClearanceReading,
    DrawerShim,
    FittedShim,
    clearance_reading,
    drawer_shim,
    fitted_shim,
    refuse_doubles,
)

READING_COLUMNS = ("place", "go", "no_go", "value", "unit", "shim", "shim_unit", "shim_known_by")
READINGS_HEADER = (",".join(READING_COLUMNS) + "\n").encode()
"""A table with nothing measured yet."""
STOCK_COLUMNS = ("size", "unit", "count", "price")


def readings_from_csv(
    engine: EngineFile, source: Path | bytes, name: str
) -> tuple[dict[str, ClearanceReading], dict[str, FittedShim]]:
    """Clearances and fitted shims from a table; a header alone means nothing measured yet.

    Raises
    ------
    FileError
        With every row that cannot be used, by line.
    """
    readings: dict[str, ClearanceReading] = {}
    shims: dict[str, FittedShim] = {}
    wrong: list[str] = []
    for row in read_table(source, name, READING_COLUMNS, required=("place",)):
        cells = row.values
        try:
            place = engine.place(cells["place"]).name
            if cells["go"] or cells["no_go"] or cells["value"]:
                reading = clearance_reading(
                    engine, place, cells["go"], cells["no_go"], cells["value"], cells["unit"]
                )
                refuse_doubles(readings, place, "")
                readings[place] = reading
            elif not cells["shim"]:
                raise InputError(f"Nothing stands beside {place}", allowed="a reading or a shim")
            if cells["shim"]:
                if place in shims:
                    raise InputError(f"There are two shims for {place}", given=cells["shim"])
                shims[place] = fitted_shim(
                    engine, place, cells["shim"], cells["shim_unit"], cells["shim_known_by"]
                )
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    _refuse(wrong, name)
    return readings, shims


def drawer_from_csv(engine: EngineFile, source: Path | bytes, name: str) -> tuple[DrawerShim, ...]:
    """The drawer from a table: size, unit, how many lie there, price of one more.

    Raises
    ------
    FileError
        With every row that cannot be used, by line.
    """
    drawer: list[DrawerShim] = []
    wrong: list[str] = []
    for row in read_table(source, name, STOCK_COLUMNS, required=("size",)):
        cells = row.values
        try:
            drawer.append(
                drawer_shim(engine, cells["size"], cells["unit"], cells["count"], cells["price"])
            )
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    _refuse(wrong, name)
    return tuple(drawer)


def _refuse(wrong: Iterable[str], name: str) -> None:
    lines = list(wrong)
    if lines:
        count = f"{len(lines)} row{'s' if len(lines) > 1 else ''} cannot be used"
        raise FileError(f"{count}\n  " + "\n  ".join(lines), where=name)
