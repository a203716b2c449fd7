"""Tables from spreadsheets as people make them, and tables no spreadsheet runs as a formula.

Reading takes commas, semicolons or tabs, byte-order marks, old Windows letters, blank lines and
spare columns, and says line and column for everything it cannot use. Numbers stay text here:
what `0,15` means is for `quantities` to say.
"""

from __future__ import annotations

import codecs
import csv
import difflib
import io
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from tickover.errors import FileError, InputError

LARGEST_FILE = 5_000_000  # bytes; a reading takes about fifty
MOST_ROWS = 100_000
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
# A cell beginning with one of these is run as a formula by spreadsheets. We put an apostrophe
# before it, as a person would; a cell that already has apostrophes there gets one more, so that
# reading can take exactly one away again.
_FORMULA = re.compile(r"'*[=+\-@]")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")

Source = bytes | str | os.PathLike[str] | IO[bytes] | IO[str]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table.

    Parameters
    ----------
    line : int
        Line of the file it begins on, counted from 1.
    values : Mapping
        Column name to text, without blanks around it; every column asked for is there, empty
        where the file has none. Further columns of the file stand under their own names.
    """

    line: int
    values: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.values[column]


def read_table(
    source: Source, name: str, columns: Sequence[str], required: Sequence[str] = ()
) -> list[Row]:
    """The rows of a table with a header line.

    Parameters
    ----------
    source : bytes, text, path or open file
        Text is the table itself; a path is a `Path`.
    name : str
        How messages call it: the file's name.
    columns : sequence of str
        Column names the caller knows, in small letters with underscores. The header may write
        them with capitals, blanks or hyphens.
    required : sequence of str
        Those that must be in the header and filled in every row.

    Returns
    -------
    list of Row
        Blank lines are passed over; a header alone gives an empty list.

    Raises
    ------
    FileError
        Not a table, no header, a column missing or misspelt, a row with too many cells;
        names line and column.
    """
    text = _decode(_bytes(source, name), name)
    lines = list(_header_first(text))
    if not lines:
        raise _no_header(name, columns, required, "The file is empty")
    first, header_text = lines[0]
    delimiter = _delimiter(header_text, columns)
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, strict=True, skipinitialspace=True
    )
    table = _cells(reader, name, skip_to=first)
    line, header = next(table, (first, []))
    names = _names(header, name, line, columns, required, delimiter)
    rows: list[Row] = []
    for line, cells in table:
        if len(rows) >= MOST_ROWS:
            raise FileError("Too many rows", allowed=f"{MOST_ROWS} rows", where=name)
        rows.append(_row(cells, names, name, line, columns, required, delimiter))
    return rows


def write_table(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """A table as text: commas, decimal points, one header line.

    Parameters
    ----------
    columns : sequence of str
    rows : iterable of mappings
        Column name to text, number or None (an empty cell). Blanks around text are dropped.

    Returns
    -------
    str
        Lines end as RFC 4180 has them (carriage return, line feed): write them to a file
        opened with `newline=""`. Text cells a spreadsheet would run begin with an apostrophe,
        which `read_table` takes away again; numbers are written so that they read back exactly.

    Examples
    --------
    >>> print(write_table(["place", "note"], [{"place": "in1", "note": "=1+1"}]), end="")
    place,note
    in1,'=1+1
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")  # also has lone line ends quoted
    writer.writerow(columns)
    for row in rows:
        cells = [_cell(row.get(column)) for column in columns]
        if len(cells) == 1 and not cells[0]:
            out.write('""\r\n')  # a blank line would be passed over
        else:
            writer.writerow(cells)
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value).strip()
    if "\x00" in text:
        raise InputError("A table cannot hold the character 0", given=text)
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def _unguarded(text: str) -> str:
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def _bytes(source: Source, name: str) -> bytes | str:
    if isinstance(source, bytes | str):
        data: bytes | str = source
    elif isinstance(source, os.PathLike):
        try:
            with Path(source).open("rb") as file:
                data = file.read(LARGEST_FILE + 1)
        except OSError as error:
            raise FileError(f"This file cannot be read ({error.strerror})", where=name) from error
    else:
        data = source.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise FileError(
            "The file is too large for a table", allowed=f"{LARGEST_FILE // 10**6} MB", where=name
        )
    return data


def _decode(data: bytes | str, name: str) -> str:
    if isinstance(data, str):
        text = data.removeprefix("\ufeff")
    elif data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            text = data.decode("utf-16")
        except UnicodeDecodeError as error:
            raise FileError(
                "This is not text",
                allowed="a table as text (CSV), in UTF-8",
                where=name,
            ) from error
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("latin-1")  # what older spreadsheets write; never fails
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise FileError(
            "This is not a table of text, it holds the character 0",
            allowed="a table saved as CSV",
            where=f"{name} line {line}",
        )
    return text


def _header_first(text: str) -> Iterator[tuple[int, str]]:
    """The first line that says anything, with its number; spreadsheets' own 'sep=' is none."""
    for number, line in enumerate(io.StringIO(text, newline=None), 1):
        bare = line.strip().strip(",;\t ")
        if bare and not re.fullmatch(r"\"?sep=.?\"?", bare, re.IGNORECASE):
            yield number, line
            return


def _delimiter(header: str, columns: Sequence[str]) -> str:
    known = set(columns)

    def fits(delimiter: str) -> tuple[int, int]:
        cells = [_plain(cell) for cell in header.split(delimiter)]
        return sum(cell in known for cell in cells), len(cells)

    return max(_DELIMITERS, key=fits)


def _plain(heading: str) -> str:
    words = re.sub(r"[\s\-]+", "_", heading.strip().strip("\"'").strip())
    return words.lower()


def _cells(reader: Any, name: str, skip_to: int) -> Iterator[tuple[int, list[str]]]:
    line = 0
    iterator = iter(reader)
    while True:
        begin = line + 1
        try:
            cells = next(iterator)
        except StopIteration:
            return
        except csv.Error as error:
            said = str(error)
            what = "A quotation mark is never closed, or stands inside a cell"
            if "field larger" in said:
                what = "A cell is far too long; is a quotation mark left open?"
            raise FileError(what, where=f"{name} line {begin}") from error
        line = reader.line_num
        if begin >= skip_to and any(cell.strip() for cell in cells):
            yield begin, cells


def _names(
    header: list[str],
    name: str,
    line: int,
    columns: Sequence[str],
    required: Sequence[str],
    delimiter: str,
) -> list[str]:
    names = [_plain(cell) for cell in header]
    known = [column for column in names if column in columns]
    if not known:
        given = delimiter.join(header)
        raise _no_header(name, columns, required, "The first line is no header", given)
    where = f"{name} line {line}"
    for column in names:
        if column and names.count(column) > 1:
            raise FileError("This column stands there twice", given=column, where=where)
    missing = [column for column in columns if column not in names]
    for column in names:
        near = difflib.get_close_matches(column, missing, n=1, cutoff=0.75)
        if column and column not in columns and near:
            raise FileError(
                "This column is not known", given=column, instead=f"'{near[0]}'", where=where
            )
    for column in required:
        if column not in names:
            raise FileError(
                f"The column '{column}' is missing",
                given=", ".join(n for n in names if n),
                allowed=", ".join(columns),
                where=where,
            )
    return names


def _no_header(
    name: str, columns: Sequence[str], required: Sequence[str], problem: str, given: str = ""
) -> FileError:
    needs = f" (needed: {', '.join(required)})" if required else ""
    return FileError(
        problem,
        given=given,
        allowed=f"a first line with the names of the columns{needs}",
        instead=f"this as the first line: {','.join(columns)}",
        where=name,
    )


def _row(
    cells: list[str],
    names: list[str],
    name: str,
    line: int,
    columns: Sequence[str],
    required: Sequence[str],
    delimiter: str,
) -> Row:
    where = f"{name} line {line}"
    while len(cells) > len(names) and not cells[-1].strip():
        cells.pop()
    if len(cells) > len(names):
        hint = (
            "decimal commas need semicolons between the cells, or quotation marks around"
            if delimiter == ","
            else "one cell for each column"
        )
        raise FileError(
            f"{len(cells)} cells where the header has {len(names)} columns",
            given=delimiter.join(cells),
            allowed=hint,
            where=where,
        )
    values = dict.fromkeys(columns, "")
    for column, cell in zip(names, cells, strict=False):
        if column:
            values[column] = _unguarded(cell.strip())
    for column in required:
        if not values[column]:
            raise FileError("Nothing is written here", where=f"{where}, column {column}")
    return Row(line, values)
