"""The entry: one thing that happened in a build, numbered by the book, never changed again.

This is the light half of the book: nothing here reads a clock, a file or a database.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic

from tickover.book import fields
from tickover.book.bodies import (
    KINDS,
    Acceptance,
    Answer,
    Body,
    EngineFileKept,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Picture,
    Reading,
    StartAttempt,
    StockChanged,
    StrikeOut,
    Unknown,
    Work,
)
from tickover.errors import InputError

if TYPE_CHECKING:
    from typing_extensions import TypeVar

    B = TypeVar("B", bound=Body, default=Body, covariant=True)
else:
    from typing import TypeVar

    B = TypeVar("B")

__all__ = [
    "KINDS",
    "Acceptance",
    "Answer",
    "Body",
    "Draft",
    "EngineFileKept",
    "Entry",
    "LooseEndClosed",
    "LooseEndOpened",
    "Note",
    "Picture",
    "Reading",
    "StartAttempt",
    "StockChanged",
    "StrikeOut",
    "Unknown",
    "Work",
    "new_id",
    "number_entries",
]


@dataclass(frozen=True, slots=True)
class Entry(Generic[B]):
    """One thing that happened.

    Parameters
    ----------
    id : str
        32 hex digits chosen by the writer; the same id is kept once.
    number : int
        1, 2, 3 ... within the build, given by the book. What came first is told by number,
        never by a clock.
    kind : str
        The kind of the body.
    at, kept_at : str
        When it happened and when it was kept, ISO 8601 in universal time.
    by : str
        Who says so.
    body : Reading, Work, ...
        What it says.
    """

    id: str
    number: int
    kind: str
    at: str
    kept_at: str
    by: str
    body: B

    def __post_init__(self) -> None:
        if self.kind != self.body.kind:
            raise InputError(
                "The kind does not fit the body",
                given=self.kind,
                instead=f"'{self.body.kind}'",
                where="kind",
            )


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry not yet kept: a body, and what its writer already knows of it.

    Parameters
    ----------
    body : Reading, Work, ...
    id : str
        32 hex digits, where the writer may send it twice (a phone without a connection);
        empty: the book chooses one.
    at : str
        When it happened; empty: when it is kept.
    by : str
        Who says so; empty: whoever keeps it.
    """

    body: Body
    id: str = ""
    at: str = ""
    by: str = ""

    def __post_init__(self) -> None:
        if type(self.body) not in _BODIES:
            raise InputError(
                "Only the body of an entry can be kept",
                given=type(self.body).__name__,
                allowed="Reading, Work, Note ...",
                where="body",
            )
        if self.id:
            check_id(self.id)
        if self.at:
            object.__setattr__(self, "at", fields.moment(self.at, "at"))
        if self.by:
            fields.text(self.by, "by", limit=fields.SHORT, lines=False)


_BODIES = frozenset((*KINDS.values(), Unknown))


def new_id() -> str:
    """A fresh entry id: 32 hex digits, from the machine's randomness."""
    import uuid  # reads the platform first, some milliseconds no reader of entries needs

    return uuid.uuid4().hex


def check_id(value: object) -> str:
    """The id of an entry.

    Raises
    ------
    InputError
        Not 32 lower-case hex digits.
    """
    if isinstance(value, str) and len(value) == 32 and not value.strip("0123456789abcdef"):
        return value
    raise InputError(
        "This is not the id of an entry",
        given=str(value),
        allowed="32 digits and letters a to f",
        where="id",
    )


def number_entries(
    bodies: Iterable[Body], *, at: str, by: str, start: int = 1
) -> tuple[Entry, ...]:
    """Entries without a book: readings from a file, numbered in order.

    Parameters
    ----------
    bodies : iterable of bodies
    at : str
        ISO 8601 in universal time.
    by : str
        Who says so.
    start : int
        Number of the first.

    Returns
    -------
    tuple of Entry
        Ids are made from number and moment, so the same input gives the same entries.
    """
    kept = fields.moment(at, "at")
    made = []
    for number, body in enumerate(bodies, start):
        name = hashlib.sha256(f"{number} {kept} {by}".encode()).hexdigest()[:32]
        made.append(Entry(name, number, body.kind, kept, kept, by, body))
    return tuple(made)
