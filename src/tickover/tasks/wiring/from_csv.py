"""Continuity readings from a CSV: wire, end_to_end, to_earth."""

from __future__ import annotations

from pathlib import Path

from tickover.book.csvfile import read_table
from tickover.errors import FileError, InputError
from tickover.tasks.wiring.continuity import WireTest, ohms, touched
from tickover.tasks.wiring.sizing import Sizing

COLUMNS = ("wire", "end_to_end", "to_earth")


def continuity_from_csv(sizing: Sizing, source: Path | bytes, name: str) -> dict[str, WireTest]:
    """Readings by wire number.

    Parameters
    ----------
    sizing : Sizing
    source : path or bytes
        A table with the columns above; '12,0.3,open', '13,0.2,touches 12'. A reading may be empty.
    name : str
        Of the file, for messages.

    Returns
    -------
    dict

    Raises
    ------
    FileError
        With every row that cannot be used, by line.
    """
    known = {wire.run.number for wire in sizing.wires}
    found: dict[str, WireTest] = {}
    wrong: list[str] = []
    for row in read_table(source, name, COLUMNS, required=("wire",)):
        number = row.values["wire"]
        try:
            if number not in known:
                raise InputError("There is no such wire", given=number,
                                 allowed=f"the {len(known)} numbers of the schedule")  # fmt: skip
            if number in found:
                raise InputError("This wire stands in the file twice", given=number)
            ends, earth = row.values["end_to_end"], row.values["to_earth"]
            joined = touched(earth, known)
            found[number] = WireTest(
                ohms(ends, "end to end") if ends else None,
                1e9 if joined else ohms(earth, "to earth") if earth else None,
                joined,
            )
        except InputError as error:
            wrong.append(f"line {row.line}: {error}")
    if wrong:
        count = f"{len(wrong)} row{'s' if len(wrong) > 1 else ''} cannot be used"
        raise FileError(f"{count}\n  " + "\n  ".join(wrong[:10]), where=name)
    return found
