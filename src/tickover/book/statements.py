"""Every statement the store runs. Each is put into a database's own words at its first use."""

from __future__ import annotations

from sqlalchemy import bindparam, delete, insert, select, update

from tickover.book.tables import blobs, builds, entries

ENTRY_COLUMNS = tuple(column.name for column in entries.columns)
BUILD_COLUMNS = tuple(column.name for column in builds.columns)

_this_build = builds.c.id == bindparam("build_id")
_of_build = entries.c.build == bindparam("build_id")
_this_blob = blobs.c.sha256 == bindparam("sha256")
_row = [column for column in entries.columns if column is not entries.c.build]

ALL_BUILDS = select(*builds.columns)
BUILD = ALL_BUILDS.where(_this_build)
# Where a server is shared, the lock on this row is what keeps numbers without gaps; a file is
# locked whole when the transaction begins. It stands apart from the reading below: a statement
# that waited for the lock still sees the entries of the moment it began to wait.
LOCK_BUILD = select(builds.c.id).where(_this_build).with_for_update()
# With the checksum of its last entry beside it.
_end = (
    select(entries.c.checksum)
    .where(entries.c.build == builds.c.id, entries.c.number == builds.c.last_number)
    .scalar_subquery()
)
BUILD_WITH_END = select(*builds.columns, _end).where(_this_build)
NEW_BUILD = insert(builds)
MOVE_HEAD = (
    update(builds)
    .where(_this_build)
    .values(last_number=bindparam("to_number"), head=bindparam("to_head"))
)

ROWS = (
    select(*_row)
    .where(_of_build, entries.c.number.between(bindparam("first"), bindparam("last")))
    .order_by(entries.c.number)
)
NUMBER_OF = select(entries.c.number).where(_of_build, entries.c.id == bindparam("entry_id"))
NEW_ENTRY = insert(entries)

BLOB = select(blobs.c.data).where(_this_blob)
HAS_BLOB = select(blobs.c.size).where(_this_blob)
BLOB_NAMES = select(blobs.c.sha256)
NEW_BLOB = insert(blobs)
BUILDS_NAMING = (
    select(builds.c.name)
    .where(
        builds.c.id != bindparam("build_id"),
        select(entries.c.build)
        .where(entries.c.build == builds.c.id, entries.c.body.contains(bindparam("sha256")))
        .exists(),
    )
    .order_by(builds.c.name)
)
DROP_BLOB = delete(blobs).where(_this_blob)
