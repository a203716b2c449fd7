"""How a book of any age becomes a book of today: numbered steps, only ever added to.

Each step runs in a transaction of its own together with the row that says it was done, so a book
is always at exactly one number. A step writes down its own tables as they were then; it never
looks at `tables`, which changes.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import (
    Column,
    Connection,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    func,
    insert,
    inspect,
    select,
)

_DONE = Table(
    "migrations",
    MetaData(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("name", Text, nullable=False),
)


def _builds_entries_blobs(connection: Connection) -> None:
    then = MetaData()
    Table(
        "builds",
        then,
        Column("id", String(64), primary_key=True),
        Column("name", Text, nullable=False),
        Column("created_at", String(32), nullable=False),
        Column("created_by", Text, nullable=False),
        Column("last_number", Integer, nullable=False),
        Column("head", String(64), nullable=False),
    )
    Table(
        "entries",
        then,
        Column("build", String(64), ForeignKey("builds.id"), primary_key=True),
        Column("number", Integer, primary_key=True, autoincrement=False),
        Column("id", String(32), nullable=False),
        Column("kind", Text, nullable=False),
        Column("at", String(32), nullable=False),
        Column("kept_at", String(32), nullable=False),
        Column("by", Text, nullable=False),
        Column("body", Text, nullable=False),
        Column("checksum", String(64), nullable=False),
        UniqueConstraint("build", "id"),
    )
    Table(
        "blobs",
        then,
        Column("sha256", String(64), primary_key=True),
        Column("size", Integer, nullable=False),
        Column("data", LargeBinary, nullable=False),
    )
    then.create_all(connection)


STEPS: tuple[tuple[str, Callable[[Connection], None]], ...] = (
    ("builds, entries and blobs", _builds_entries_blobs),
)

LATEST = len(STEPS)


def version(connection: Connection) -> int | None:
    """The number of the last step this book has seen; None for a database without a book.

    Raises
    ------
    ValueError
        The list of steps is not one that was ever written: nothing may be built on it.
    """
    if not inspect(connection).has_table(_DONE.name):
        return None
    rows = connection.execute(select(_DONE.c.number, _DONE.c.name).order_by(_DONE.c.number)).all()
    for expected, (number, name) in enumerate(rows, 1):
        known = expected > LATEST or STEPS[expected - 1][0] == name
        if number != expected or not known:
            raise ValueError(f"the list of steps that made the book breaks off at step {expected}")
    return len(rows)


def begin(connection: Connection) -> None:
    """Make room for the numbers; the caller holds the transaction."""
    _DONE.create(connection, checkfirst=True)  # another may have begun a moment ago


def apply_next(connection: Connection) -> None:
    """Do the next step, inside the caller's transaction.

    Another process may have done it a moment ago; that is seen here, because the transaction
    already holds the right to write, and then nothing is done.
    """
    done = connection.execute(select(func.max(_DONE.c.number))).scalar() or 0
    if done < LATEST:
        name, step = STEPS[done]
        step(connection)
        connection.execute(insert(_DONE).values(number=done + 1, name=name))
