"""Opening a book: find it, make it when it is not there, bring it up to date."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import URL

from tickover.book import migrations
from tickover.book.database import APPLICATION_ID, Database
from tickover.book.location import check_file, create_file, locate
from tickover.errors import BookNewer


def open_database(where: str | os.PathLike[str] | None, patience_s: float) -> Database:
    """The database of a book, ready to use; errors as `Store.open` says."""
    url, path, shown = locate(where)
    if path is not None:
        if not path.exists():
            create_file(path, lambda draft: _fill_file(draft, patience_s))
        check_file(path)
    database = Database(url, shown, patience_s)
    try:
        _bring_up(database)
    except BaseException:
        database.close()
        raise
    return database


def _fill_file(path: Path, patience_s: float) -> None:
    database = Database(URL.create("sqlite", database=str(path)), str(path), patience_s)
    try:
        _bring_up(database, new=True)
        with database.migrating() as connection:
            connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
    finally:
        database.close()


def _bring_up(database: Database, *, new: bool = False) -> None:
    with database.translated(), database.engine.connect() as connection:
        try:
            version = migrations.version(connection)
        except ValueError as error:
            raise database.damaged(str(error)) from error
    if database.is_file and not version and not new:
        # A file only comes to its place with all its steps done; what lacks them has lost them.
        raise database.damaged("the table that says how old the book is, is missing or empty")
    if version is None:
        with database.migrating() as connection:
            migrations.begin(connection)
        version = 0
    if version > migrations.LATEST:
        raise BookNewer(
            f"The book '{database.where}' was written by a newer Tickover (book version"
            f" {version}, this one reads up to {migrations.LATEST}). Nothing in it was changed;"
            " bring Tickover up to date to open it."
        )
    while version < migrations.LATEST:
        with database.migrating() as connection:
            migrations.apply_next(connection)
        version += 1
