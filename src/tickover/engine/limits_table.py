"""A table of limits, as a spreadsheet writes it, into the text of an engine file.

One row for each limit: build measurements ([[fits]]), torques ([[fasteners]]), and any other key
of the file by its name, such as `valves.inlet_clearance`.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tickover.engine.editing import changed_text, value_of, with_tables
from tickover.engine.loading import parse_engine_file
from tickover.engine.problems import known_keys
from tickover.engine.suggest import nearest_word
from tickover.engine.tables.fits import KINDS
from tickover.errors import EngineFileError, InputError, Problem

COLUMNS = ("name", "kind", "places", "from", "to", "unit", "wear limit", "thread", "count")
TORQUE = "torque"
MOST_ROWS = 400
EXAMPLE = """name,kind,places,from,to,unit,wear limit,thread,count
cylinder,bore,cyl1 cyl2,61.00,61.02,mm,61.10,,
top ring,ring gap,cyl1 cyl2,0.15,0.30,mm,0.60,,
head bolts,torque,,22,,Nm,,M8x1.25,8
valves.inlet_clearance,,,0.08,0.13,mm,,,
"""
"""Shown beside the form; every row of it can be read."""

_ALSO = {
    "what": "name", "place": "places", "where": "places", "low": "from", "least": "from",
    "min": "from", "high": "to", "most": "to", "max": "to", "units": "unit", "wear": "wear limit",
    "wear_limit": "wear limit", "how many": "count", "type": "kind",
}  # fmt: skip
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(?:[.,][0-9]{1,12})?")
_WHOLE = re.compile(r"[0-9]{1,4}")
_NAME = "the table of limits"


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One row as read: its line in the file, and what it holds by column."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def problem(self, error: InputError, column: str = "") -> Problem:
        """What is wrong with it, with the place to look."""
        key = column or error.where or self["name"]
        return Problem(self.line, key, error.problem, error.given, error.allowed, error.instead)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """The text of the engine file with the limits in it, and what was written, row by row."""

    text: str
    written: tuple[str, ...]


def take_in_limits(engine_text: str, table: str) -> TakenIn:
    """The engine file with the rows of a table written into it: all of them, or none.

    Parameters
    ----------
    engine_text : str
        The file as it stands.
    table : str
        CSV with a header; commas, semicolons or tabs between the cells.

    Raises
    ------
    EngineFileError
        With every row that cannot be used, and why.
    """
    rows = read_rows(table)
    problems: list[Problem] = []
    text, written = engine_text, []
    for row in rows:
        try:
            text, words = _with_row(text, row)
            written.append(words)
        except InputError as error:
            problems.append(row.problem(error))
    if not problems:
        try:
            parse_engine_file(text, _NAME)
        except EngineFileError as error:
            problems = _by_row(engine_text, rows) or list(error.problems)
    if problems:
        raise EngineFileError(_NAME, tuple(problems))
    return TakenIn(text, tuple(written))


def read_rows(table: str) -> tuple[LimitRow, ...]:
    """The rows of a table, by the names of its columns.

    Raises
    ------
    EngineFileError
        There is no header, a column is not known, or a row is longer than its header.
    """
    text = table.removeprefix("\ufeff")
    lines = text.splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise _whole(None, "There is nothing in the table", instead=EXAMPLE.splitlines()[0])
    between = max(",;\t", key=lines[first].count)
    reader = csv.reader(io.StringIO(text), delimiter=between)
    rows: list[LimitRow] = []
    heads: list[str] = []
    try:
        for cells in reader:
            told = [cell.strip() for cell in cells]
            if not any(told):
                continue
            if not heads:
                heads = _heads(told, reader.line_num)
                continue
            if len(told) > len(heads) and any(told[len(heads) :]):
                raise _whole(
                    reader.line_num, "There are more cells than columns",
                    given=between.join(told)[:60],
                    allowed=f"{len(heads)} cells; a decimal comma needs ; between the cells",
                )  # fmt: skip
            rows.append(LimitRow(reader.line_num, dict(zip(heads, told, strict=False))))
    except csv.Error as error:
        raise _whole(reader.line_num, f"This line is no CSV ({error})") from error
    if not rows:
        raise _whole(None, "There is a header and nothing below it")
    if len(rows) > MOST_ROWS:
        raise _whole(None, "There are too many rows", given=str(len(rows)),
                     allowed=f"up to {MOST_ROWS}")  # fmt: skip
    return tuple(rows)


def _heads(told: list[str], line: int) -> list[str]:
    heads = []
    for cell in told:
        word = " ".join(cell.casefold().split())
        word = _ALSO.get(word, word)
        if word and word not in COLUMNS:
            near = nearest_word(word, (*COLUMNS, *_ALSO))
            raise _whole(line, "This column is not known", given=cell, allowed=", ".join(COLUMNS),
                         instead=f"'{_ALSO.get(near, near)}'" if near else "")  # fmt: skip
        heads.append(word)
    missing = [word for word in ("name", "from") if word not in heads]
    if missing:
        raise _whole(line, f"The column {' and '.join(missing)} is missing",
                     allowed=", ".join(COLUMNS))  # fmt: skip
    return heads


def _whole(
    line: int | None, problem: str, given: str = "", allowed: str = "", instead: str = ""
) -> EngineFileError:
    return EngineFileError(_NAME, (Problem(line, "", problem, given, allowed, instead),))


def _with_row(text: str, row: LimitRow) -> tuple[str, str]:
    name, kind = row["name"], row["kind"].casefold()
    if not name:
        raise InputError("This row has no name", where="name")
    if not kind and "." in name:
        return _as_key(text, row)
    if kind == TORQUE:
        return _as_fastener(text, row)
    if kind in KINDS:
        return _as_fit(text, row)
    kinds = (*KINDS, TORQUE)
    near = nearest_word(kind, kinds) if kind else None
    raise InputError(
        "This kind of limit is not known" if kind else "This row has no kind",
        given=row["kind"], allowed=f"{', '.join(kinds)}; or none, and a key of the engine file "
        "as name, such as valves.inlet_clearance", where="kind",
        instead=f"'{near}'" if near else "",
    )  # fmt: skip


def _as_key(text: str, row: LimitRow) -> tuple[str, str]:
    path = tuple(row["name"].split("."))
    if len(path) != 2 or path[1] not in known_keys().get(path[:1], ()):
        raise InputError("The engine file has no such key", given=row["name"], where="name",
                         instead="one as its guide names it: oil.pressure")  # fmt: skip
    value = _span(row)
    plain = _NUMBER.fullmatch(value)
    held: Any = float(value.replace(",", ".")) if plain else value
    return changed_text(text, {path: held}), f"{row['name']} = {value}"


def _as_fit(text: str, row: LimitRow) -> tuple[str, str]:
    table: dict[str, Any] = {"name": row["name"], "kind": row["kind"].casefold()}
    places = [word for word in re.split(r"[\s,;/]+", row["places"]) if word]
    if places:
        table["places"] = places
    if row["from"] or row["to"]:
        table["limits"] = _span(row)
    if row["wear limit"]:
        table["wear_limit"] = f"{_number(row, 'wear limit')} {_unit(row)}"
    if len(table) <= 2 + bool(places):
        raise InputError("This row has no limit", where="from", instead="two figures, from and to")
    span = table.get("limits", "")
    wear = f", wear limit {table['wear_limit']}" if "wear_limit" in table else ""
    return with_tables(text, "fits", [table]), f"{row['name']}: {span}{wear}"


def _as_fastener(text: str, row: LimitRow) -> tuple[str, str]:
    if row["to"]:
        raise InputError("A torque is one figure", given=f"{row['from']} to {row['to']}",
                         allowed="the figure under 'from', nothing under 'to'",
                         where="to")  # fmt: skip
    table: dict[str, Any] = {
        "name": row["name"],
        "torque": f"{_number(row, 'from')} {_unit(row)}",
    }
    if row["thread"]:
        table["thread"] = row["thread"]
    if row["count"]:
        if not _WHOLE.fullmatch(row["count"]):
            raise InputError("How many is a whole number", given=row["count"], where="count")
        table["count"] = int(row["count"])
    return with_tables(text, "fasteners", [table]), f"{row['name']}: {table['torque']}"


def _span(row: LimitRow) -> str:
    """'0.08..0.13 mm' from the cells of a row; one figure where only one is given."""
    low = _number(row, "from")
    unit = f" {row['unit']}" if row["unit"] else ""
    if not row["to"]:
        return f"{low}{unit}"
    return f"{low}..{_number(row, 'to')}{unit}"


def _number(row: LimitRow, column: str) -> str:
    typed = row[column]
    if not _NUMBER.fullmatch(typed):
        raise InputError("A figure is wanted here, its unit in a column of its own" if typed
                         else "A figure is missing here", given=typed, where=column,
                         instead="0.08")  # fmt: skip
    return typed.replace(",", ".")


def _unit(row: LimitRow) -> str:
    if not row["unit"]:
        raise InputError("This limit has no unit", where="unit", allowed="mm, thou, in, Nm ...")
    return row["unit"]


def _by_row(engine_text: str, rows: tuple[LimitRow, ...]) -> list[Problem]:
    """Which rows the file refuses, each tried by itself."""
    before = _problems(engine_text)
    found = []
    for row in rows:
        text, _ = _with_row(engine_text, row)
        for problem in _problems(text):
            if (problem.key, problem.problem) not in {(p.key, p.problem) for p in before}:
                error = InputError(problem.problem, given=problem.given, allowed=problem.allowed,
                                   instead=problem.instead)  # fmt: skip
                found.append(row.problem(error, row["name"]))
    return found


def _problems(text: str) -> tuple[Problem, ...]:
    value_of(text)
    try:
        parse_engine_file(text, _NAME)
    except EngineFileError as error:
        return error.problems
    return ()
