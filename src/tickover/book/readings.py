"""Readings of a build as a table for spreadsheets, and back."""

from __future__ import annotations

from collections.abc import Iterable

from tickover.book.bodies import Reading
from tickover.book.csvfile import Source, read_table, write_table
from tickover.book.entries import Draft, Entry
from tickover.book.plain import canonical_json, parse_json
from tickover.errors import FileError, InputError

COLUMNS = (
    "number",
    "at",
    "by",
    "what",
    "place",
    "low",
    "high",
    "unit",
    "typed",
    "instrument",
    "conditions",
)


def readings_to_csv(readings: Iterable[Entry[Reading]]) -> str:
    """Readings as a table: values in SI units as exact numbers, and as they were typed beside.

    An empty `low` or `high` is not bounded on that side; `conditions` are JSON.
    """
    return write_table(
        COLUMNS,
        (
            {
                "number": entry.number,
                "at": entry.at,
                "by": entry.by,
                "what": entry.body.what,
                "place": entry.body.place,
                "low": entry.body.low,
                "high": entry.body.high,
                "unit": entry.body.unit,
                "typed": entry.body.typed,
                "instrument": entry.body.instrument,
                "conditions": canonical_json(entry.body.conditions)
                if entry.body.conditions
                else "",
            }
            for entry in readings
        ),
    )


def readings_from_csv(source: Source, name: str) -> tuple[Draft, ...]:
    """Readings from such a table, ready to be kept.

    Parameters
    ----------
    source : bytes, text, path or open file
    name : str
        How messages call it.

    Returns
    -------
    tuple of Draft
        `number` is not taken over (the book gives numbers); `at` and `by` are, where written.

    Raises
    ------
    FileError
        Names line and column of the first cell that cannot be used.
    """
    drafts = []
    for row in read_table(source, name, COLUMNS, ("what", "unit")):
        where = f"{name} line {row.line}"
        try:
            reading = Reading(
                row["what"],
                row["place"],
                _number(row["low"], "low"),
                _number(row["high"], "high"),
                row["unit"],
                row["typed"],
                row["instrument"],
                parse_json(row["conditions"], "conditions") if row["conditions"] else {},
            )
            drafts.append(Draft(reading, at=row["at"], by=row["by"]))
        except InputError as error:
            raise FileError(
                error.problem,
                given=error.given,
                allowed=error.allowed,
                instead=error.instead,
                where=f"{where}, column {error.where}" if error.where else where,
            ) from error
    return tuple(drafts)


def _number(text: str, column: str) -> float | None:
    if not text:
        return None
    try:
        return float(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text)
    except ValueError as error:
        raise InputError(
            "A number is wanted here", given=text, instead="it like 0.00015", where=column
        ) from error
