"""Rows of the book and the chain of checksums over them.

Each row carries a sha256 over itself and the checksum before it; the first is chained to the
build's own name and origin. A flipped bit, a lost or an exchanged row breaks the chain where it
happened; the build remembers the last checksum, so a lost end is noticed too.
"""

from __future__ import annotations

import dataclasses
import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tickover.book import fields
from tickover.book.entries import Entry, check_id
from tickover.book.plain import body_as_kept, body_to_json
from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class BuildRow:
    """One build in a store.

    Parameters
    ----------
    id, name : str
    created_at, created_by : str
    last_number : int
        Number of its latest entry.
    head : str
        Checksum of its latest entry: equal heads, equal content.
    """

    id: str
    name: str
    created_at: str
    created_by: str
    last_number: int
    head: str


_BUILD_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


class ChainError(Exception):
    """The chain does not hold; the message says at which entry."""


Row = tuple[int, str, str, str, str, str, str, str]
"""number, id, kind, at, kept_at, by, body, checksum"""


def seed(build: BuildRow) -> str:
    """The checksum before the first entry: over what the build is called and where it began."""
    whole = "\n".join(("tickover build", build.id, build.created_at, build.created_by, build.name))
    return hashlib.sha256(whole.encode()).hexdigest()


def first_row(build_id: str, name: str, created_at: str, created_by: str) -> BuildRow:
    """A build before its first entry."""
    row = BuildRow(build_id, name, created_at, created_by, 0, "")
    return dataclasses.replace(row, head=seed(row))


def checksum(before: str, build: str, row: Sequence[Any]) -> str:
    """The checksum of one row after the one before it.

    No field but the last can hold a line end, and canonical JSON holds none, so two different
    rows never join to the same text.
    """
    whole = "\n".join((before, build, str(row[0]), *row[1:7]))
    return hashlib.sha256(whole.encode()).hexdigest()


def rows_of(entries: Iterable[Entry], build: str, before: str) -> list[Row]:
    """The rows of entries, chained after the checksum given."""
    rows: list[Row] = []
    for e in entries:
        row = (e.number, e.id, e.kind, e.at, e.kept_at, e.by, body_to_json(e.body))
        before = checksum(before, build, row)
        rows.append((*row, before))
    return rows


def entries_of(rows: Iterable[Sequence[Any]], build: str, before: str, number: int) -> list[Entry]:
    """Entries from rows as stored, the chain checked.

    Parameters
    ----------
    rows : iterable of rows
        number, id, kind, at, kept_at, by, body, checksum.
    build, before : str
        Id of the build, checksum before the first row.
    number : int
        Number before the first row.

    Raises
    ------
    ChainError
        A row is missing, of the wrong kind, changed, or not an entry.
    """
    entries = []
    for row in rows:
        number += 1
        if type(row[0]) is not int or not all(type(value) is str for value in row[1:]):
            raise ChainError(f"entry {number} does not hold what an entry holds")
        if row[0] != number:
            raise ChainError(f"entry {number} is missing")
        try:
            whole = checksum(before, build, row)
        except UnicodeEncodeError as error:
            raise ChainError(f"entry {number} holds what is not text") from error
        if whole != row[7]:
            raise ChainError(f"entry {number} is not what was written (its checksum differs)")
        before = whole
        try:
            body = body_as_kept(row[2], row[6])
        except InputError as error:
            raise ChainError(f"entry {number} cannot be read ({error})") from error
        entries.append(Entry(row[1], number, row[2], row[3], row[4], row[5], body))
    return entries


def check_build(build: BuildRow) -> BuildRow:
    """A build's name and origin that came from outside, every field checked.

    Raises
    ------
    InputError
        Names the field.
    """
    if not _BUILD_ID.fullmatch(fields.text(build.id, "id", limit=64, lines=False)):
        raise InputError(
            "This is not the id of a build",
            given=build.id,
            allowed="small letters, digits and hyphens",
            where="id",
        )
    fields.text(build.name, "name", limit=fields.SHORT, lines=False)
    fields.text(build.created_by, "created_by", limit=fields.SHORT, lines=False)
    _as_kept(build.created_at, "created_at")
    return build


def check_entry(entry: Entry) -> Entry:
    """An entry that came from outside, every field checked.

    Raises
    ------
    InputError
        Names the field; `at` and `kept_at` must stand exactly as the book writes them.
    """
    check_id(entry.id)
    fields.text(entry.by, "by", limit=fields.SHORT, lines=False)
    _as_kept(entry.at, "at")
    _as_kept(entry.kept_at, "kept_at")
    return entry


def _as_kept(value: str, field: str) -> None:
    if fields.moment(value, field) != value:
        raise InputError(
            "This is not a moment as the book writes it",
            given=value,
            instead="it like 2031-04-05T18:30:00Z",
            where=field,
        )
