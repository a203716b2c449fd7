"""The thin ice between the store and a database: opening, transactions, what went wrong.

Statements are built with SQLAlchemy and turned into the database's own text once (`prepare`);
running them goes straight to the driver. That keeps one entry, made durable, close to what the
bare driver needs, and keeps every statement portable.
"""

from __future__ import annotations

import contextlib
import sqlite3
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import URL, Connection, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.sql.expression import ClauseElement

from tickover.errors import BookBusy, BookDamaged, BookError, BookUnwritable

APPLICATION_ID = 0x5449434B  # 'TICK' at byte 68 of the file: this database is a book
WHAT_NOW = (
    "Nothing in it was changed. Put it aside, start a new book and import the latest export"
    " of each build, or put a copy made earlier in its place"
)


@dataclass(frozen=True, slots=True)
class Prepared:
    """A statement in the database's own words, with the order of its values."""

    sql: str
    order: tuple[str, ...] | None

    def values(self, given: Mapping[str, Any]) -> Any:
        """The values as the driver wants them."""
        return given if self.order is None else tuple([given[name] for name in self.order])


class Line:
    """An open transaction on one connection."""

    __slots__ = ("_cursor", "_prepare")

    def __init__(self, cursor: Any, prepare: Callable[[ClauseElement], Prepared]) -> None:
        self._cursor = cursor
        self._prepare = prepare

    def rows(self, statement: ClauseElement, **values: Any) -> list[Sequence[Any]]:
        """All rows a statement gives."""
        prepared = self._prepare(statement)
        self._cursor.execute(prepared.sql, prepared.values(values))
        found: list[Sequence[Any]] = self._cursor.fetchall()
        return found

    def run(self, statement: ClauseElement, values: Mapping[str, Any]) -> None:
        """Run a statement that gives nothing back."""
        prepared = self._prepare(statement)
        self._cursor.execute(prepared.sql, prepared.values(values))

    def run_each(self, statement: ClauseElement, values: Sequence[Mapping[str, Any]]) -> None:
        """Run a statement once for each set of values."""
        if len(values) == 1:
            self.run(statement, values[0])
        else:
            prepared = self._prepare(statement)
            self._cursor.executemany(prepared.sql, [prepared.values(each) for each in values])


class Database:
    """One database: a file, or a server by its address.

    Parameters
    ----------
    url : URL
    where : str
        How messages call it.
    patience_s : float
        How long to wait for another writer [s].
    """

    def __init__(self, url: URL, where: str, patience_s: float) -> None:
        self.where = where
        self.patience_s = patience_s
        self._write_lock = threading.Lock()
        self._writer: Any = None  # the writing connection of a file, kept from entry to entry
        self.is_file = url.get_backend_name() == "sqlite"
        if self.is_file:
            self.engine = create_engine(
                url, connect_args={"timeout": patience_s, "check_same_thread": False}
            )
            event.listen(self.engine, "connect", _set_up_file)
            event.listen(self.engine, "begin", _begin_on_file)
        else:
            # a server that does not answer within the patience is told as one; 20 clients at once
            wait = {"connect_timeout": max(2, round(patience_s))}
            lock = f"-c lock_timeout={round(patience_s * 1000)}"
            self.engine = create_engine(
                url,
                pool_pre_ping=True,
                pool_size=10,
                max_overflow=30,
                connect_args={**wait, "options": lock},
            )
        # Statements do not differ between two databases of one sort, only between sorts.
        self._prepared = _PREPARED.setdefault(url.drivername, {})
        self._begin_read = "BEGIN" if self.is_file else ""
        self._begin_write = "BEGIN IMMEDIATE" if self.is_file else ""
        self._driver_error: type[Exception] = self.engine.dialect.loaded_dbapi.Error

    def prepare(self, statement: ClauseElement) -> Prepared:
        """The statement in this database's words, worked out at its first use."""
        prepared = self._prepared.get(statement)
        if prepared is None:
            compiled = statement.compile(dialect=self.engine.dialect)
            order = getattr(compiled, "positiontup", None)
            prepared = Prepared(str(compiled), tuple(order) if order is not None else None)
            self._prepared[statement] = prepared
        return prepared

    @contextlib.contextmanager
    def reading(self, *, together: bool = True) -> Iterator[Line]:
        """A transaction that only reads; together: all its statements see the same moment."""
        with self.translated(), self._connection() as raw:
            cursor = raw.cursor()
            if together and self._begin_read:
                cursor.execute(self._begin_read)
            yield Line(cursor, self.prepare)

    @contextlib.contextmanager
    def writing(self) -> Iterator[Line]:
        """A transaction that writes: all of it kept and durable at the end, or none of it.

        Writers of this process queue here, so they wait in turn; writers of other processes
        wait for each other in the database.
        """
        if not self._write_lock.acquire(timeout=self.patience_s):
            raise self._busy()
        try:
            with self.translated():
                raw = self._writer or self.engine.raw_connection()
                self._writer = None
                try:
                    cursor = raw.cursor()
                    if self._begin_write:
                        cursor.execute(self._begin_write)
                    yield Line(cursor, self.prepare)
                    raw.commit()
                except BaseException:
                    self._undo(raw)
                    raise
                if self.is_file:
                    self._writer = raw  # ready for the next entry; a server's may go stale
                else:
                    raw.close()
        finally:
            self._write_lock.release()

    @contextlib.contextmanager
    def migrating(self) -> Iterator[Connection]:
        """A writing transaction as a SQLAlchemy connection, for changes of the tables."""
        writer = self.engine.execution_options(writing=True)
        with self.translated(), writer.begin() as connection:
            if not self.is_file:  # two who start at the same moment do each step once
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")
            yield connection

    @contextlib.contextmanager
    def _connection(self) -> Iterator[Any]:
        raw = self.engine.raw_connection()
        try:
            yield raw
        except BaseException:
            self._undo(raw)
            raise
        raw.close()  # back to the pool, which ends the transaction

    def _undo(self, raw: Any) -> None:
        try:
            raw.rollback()
        except self._driver_error:
            raw.invalidate()  # let the file's own journal undo it at the next opening
        raw.close()

    def close(self) -> None:
        """Let go of every connection; the next use opens new ones."""
        with self._write_lock:
            if self._writer is not None:
                self._writer.close()
                self._writer = None
        self.engine.dispose()

    @contextlib.contextmanager
    def translated(self) -> Iterator[None]:
        """Whatever the driver says, in the book's words."""
        try:
            yield
        except DBAPIError as error:
            raise self._in_words(error.orig or error) from error
        except self._driver_error as error:
            raise self._in_words(error) from error
        except UnicodeDecodeError as error:  # the driver stumbles over its own error message
            raise self.damaged("it holds what is not text where text should be") from error
        except SQLAlchemyError as error:
            raise BookError(f"The book '{self.where}' cannot be used: {error}") from error

    def look_through(self) -> None:
        """Have a file's own structure checked, where the database is one.

        Raises
        ------
        BookDamaged
            An index does not fit its table, a page is used twice, and so on.
        """
        if not self.is_file:
            return
        with self.translated(), self._connection() as raw:
            said = [row[0] for row in raw.cursor().execute("PRAGMA integrity_check(1)")]
        if said != ["ok"]:
            raise self.damaged(f"its pages do not fit together ({said[0] if said else ''})")

    def damaged(self, what: str) -> BookDamaged:
        """The error for something stored that is not what was written."""
        return BookDamaged(f"The book '{self.where}' is damaged: {what}. {WHAT_NOW}.")

    def _busy(self) -> BookBusy:
        return BookBusy(
            f"Somebody else has been writing in the book '{self.where}' for more than"
            f" {self.patience_s:g} s. Nothing was kept; try again, or see what else has it open."
        )

    def _in_words(self, error: BaseException) -> BookError:
        code = getattr(error, "sqlite_errorcode", None)
        if isinstance(error, sqlite3.Error):
            return self._file_error(code, str(error))
        state = getattr(error, "sqlstate", None) or getattr(error, "pgcode", None) or ""
        said = " ".join(str(error).split())
        if state[:2] in ("40", "55"):
            return self._busy()
        if state[:2] == "53" or state in ("25006", "42501"):
            return self._unwritable(said)
        if state[:2] in ("42", "23", "XX"):
            return self.damaged(said)
        return BookError(
            f"The book '{self.where}' cannot be reached ({said}). What was kept before is safe; see"
            " that the server runs and the address is right, then try again."
        )

    def _file_error(self, code: int | None, said: str) -> BookError:
        if code is None:
            if "closed" in said:
                return BookError(f"The book '{self.where}' has been closed.")
            return self.damaged(said)
        if code in _DAMAGE_EXTENDED:
            return self.damaged(said)
        if code == _MOVED:
            return BookUnwritable(
                f"The file '{self.where}' was moved or replaced while the book was open."
                " Nothing was kept; close Tickover and open the book again."
            )
        primary = code & 0xFF
        if primary in _BUSY:
            return self._busy()
        if primary in _UNWRITABLE:
            return self._unwritable(said)
        if primary in _DAMAGE:
            return self.damaged(said)
        return BookError(f"The book '{self.where}' cannot be used: {said}.")

    def _unwritable(self, said: str) -> BookUnwritable:
        return BookUnwritable(
            f"The book '{self.where}' cannot be written ({said}). Nothing was kept and nothing"
            " is half written; make room or see to the permissions of file and folder, then"
            " try again."
        )


_PREPARED: dict[str, dict[ClauseElement, Prepared]] = {}

_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_SCHEMA}
_UNWRITABLE = {
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_AUTH,
}
_DAMAGE = {
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_FORMAT,
    sqlite3.SQLITE_ERROR,  # 'no such table', 'malformed schema'
    sqlite3.SQLITE_CONSTRAINT,  # numbers and ids are checked under the lock: only damage is left
    sqlite3.SQLITE_MISMATCH,
    sqlite3.SQLITE_TOOBIG,
    sqlite3.SQLITE_INTERNAL,
}
_DAMAGE_EXTENDED = {sqlite3.SQLITE_IOERR_SHORT_READ, sqlite3.SQLITE_IOERR_CORRUPTFS}
_MOVED = sqlite3.SQLITE_READONLY_DBMOVED


def _set_up_file(raw: Any, _record: object) -> None:
    raw.isolation_level = None  # transactions begin where we say so, not where the driver guesses
    cursor = raw.cursor()
    for setting in (
        "journal_mode=DELETE",
        "synchronous=FULL",
        "fullfsync=ON",  # only macOS knows the difference
        "foreign_keys=ON",
        "cell_size_check=ON",
        "trusted_schema=OFF",
        "secure_delete=ON",  # a recording deleted for privacy is overwritten, not only unlinked
    ):
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _begin_on_file(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")
