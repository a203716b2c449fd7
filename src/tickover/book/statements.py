"""Every statement the store runs, built once and put into the database's own words once."""

from __future__ import annotations

from sqlalchemy import bindparam, insert, select, update

from tickover.book.database import Database
from tickover.book.tables import blobs, builds, entries

ENTRY_COLUMNS = tuple(column.name for column in entries.columns)
BUILD_COLUMNS = tuple(column.name for column in builds.columns)


class Statements:
    """The statements, prepared for one database."""

    def __init__(self, database: Database) -> None:
        prepare = database.prepare
        this_build = builds.c.id == bindparam("build_id")
        of_build = entries.c.build == bindparam("build_id")
        row = [column for column in entries.columns if column is not entries.c.build]

        self.all_builds = prepare(select(*builds.columns))
        self.build = prepare(select(*builds.columns).where(this_build))
        # Where a server is shared, the lock on this row is what keeps numbers without gaps; a
        # file is locked whole when the transaction begins, and there the words fall away.
        self.build_locked = prepare(select(*builds.columns).where(this_build).with_for_update())
        self.new_build = prepare(insert(builds))
        self.move_head = prepare(
            update(builds)
            .where(this_build)
            .values(last_number=bindparam("to_number"), head=bindparam("to_head"))
        )
        self.rows = prepare(
            select(*row)
            .where(of_build, entries.c.number.between(bindparam("first"), bindparam("last")))
            .order_by(entries.c.number)
        )
        self.number_of = prepare(
            select(entries.c.number).where(of_build, entries.c.id == bindparam("entry_id"))
        )
        self.checksum = prepare(
            select(entries.c.checksum).where(
                of_build, entries.c.number == bindparam("entry_number")
            )
        )
        self.new_entry = prepare(insert(entries))
        self.blob = prepare(select(blobs.c.data).where(blobs.c.sha256 == bindparam("sha256")))
        self.has_blob = prepare(select(blobs.c.size).where(blobs.c.sha256 == bindparam("sha256")))
        self.blob_names = prepare(select(blobs.c.sha256))
        self.new_blob = prepare(insert(blobs))
