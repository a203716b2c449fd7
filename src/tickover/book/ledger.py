"""What the store does inside one transaction: find a build, read its chain, write on at its end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tickover.book import chain, statements
from tickover.book.bodies import LooseEndOpened, Picture
from tickover.book.chain import BuildRow, ChainError
from tickover.book.database import Database, Line
from tickover.book.entries import Draft, Entry
from tickover.errors import InputError


class Ledger:
    """Reading and writing the rows of one database, within transactions others open."""

    def __init__(self, database: Database) -> None:
        self._damaged = database.damaged
        self._shared = not database.is_file

    def find(self, line: Line, build_id: str) -> BuildRow:
        """The build, as it is now."""
        rows = line.rows(statements.BUILD, build_id=build_id)
        if not rows:
            raise _no_such_build(build_id)
        return self.build_row(rows[0])

    def lock(self, line: Line, build_id: str) -> BuildRow | None:
        """The build, its end seen to be sound; nobody else writes in it until the end of this."""
        if self._shared:
            line.rows(statements.LOCK_BUILD, build_id=build_id)
        for *row, end in line.rows(statements.BUILD_WITH_END, build_id=build_id):
            build = self.build_row(row)
            if (end or chain.seed(build)) != build.head:  # never build on broken ground
                raise self._damaged(
                    f"in build '{build.id}', entry {build.last_number} is not the last one kept"
                )
            return build
        return None

    def lock_known(self, line: Line, build_id: str) -> BuildRow:
        """As `lock`, for a build that must be there."""
        build = self.lock(line, build_id)
        if build is None:
            raise _no_such_build(build_id)
        return build

    def build_row(self, row: Sequence[Any]) -> BuildRow:
        """A row of the table of builds, its types checked."""
        texts = (*row[:4], row[5])
        if type(row[4]) is not int or row[4] < 0 or not all(type(value) is str for value in texts):
            raise self._damaged("the list of builds does not hold what it should")
        return BuildRow(*row)

    def read(
        self,
        line: Line,
        build: BuildRow,
        after: int,
        head: str | None,
        *,
        last: int | None = None,
    ) -> list[Entry]:
        """Entries above `after` and up to `last`, their chain checked.

        `head` is the checksum the caller holds for entry `after`; None: the one stored there.
        """
        after = max(after, 0)
        if last is None:
            last = build.last_number
        if after > last:
            return []
        rows = line.rows(statements.ROWS, build_id=build.id, first=max(after, 1), last=last)
        try:
            before = chain.seed(build)
            if after:
                if not rows or rows[0][0] != after or type(rows[0][7]) is not str:
                    raise ChainError(f"entry {after} is missing")
                before = rows[0][7] if head is None else head
                rows = rows[1:]
            found = chain.entries_of(rows, build.id, before, after)
            if after + len(found) != last:
                raise ChainError(f"entry {after + len(found) + 1} is missing")
            if last == build.last_number and (rows[-1][7] if rows else before) != build.head:
                raise ChainError(f"the build does not end with entry {last} as it was kept")
        except ChainError as error:
            raise self._damaged(f"in build '{build.id}', {error}") from error
        return found

    def write(self, line: Line, build: BuildRow, new: Sequence[Entry]) -> BuildRow:
        """Chain new entries to the end of a build, and move its end."""
        if not new:
            return build
        rows = chain.rows_of(new, build.id, build.head)
        line.run_each(
            statements.NEW_ENTRY,
            [dict(zip(statements.ENTRY_COLUMNS, (build.id, *row), strict=True)) for row in rows],
        )
        last, head = rows[-1][0], rows[-1][7]
        line.run(statements.MOVE_HEAD, {"build_id": build.id, "to_number": last, "to_head": head})
        return BuildRow(build.id, build.name, build.created_at, build.created_by, last, head)

    def write_blob(self, line: Line, name: str, data: bytes) -> None:
        """Keep bytes under their sha256, once."""
        if not line.rows(statements.HAS_BLOB, sha256=name):
            line.run(statements.NEW_BLOB, {"sha256": name, "size": len(data), "data": data})

    def drop_blob(self, line: Line, name: str) -> None:
        """Delete the bytes kept under this name; what entries say of them stays."""
        line.run(statements.DROP_BLOB, {"sha256": name})

    def already_kept(
        self, line: Line, build: BuildRow, drafts: Sequence[Draft]
    ) -> dict[str, Entry]:
        """The entries among these drafts that were kept before, by id."""
        found: dict[str, Entry] = {}
        for draft in drafts:
            if draft.id:
                for row in line.rows(statements.NUMBER_OF, build_id=build.id, entry_id=draft.id):
                    found[draft.id] = self.read(line, build, row[0] - 1, None, last=row[0])[0]
        return found

    def see_pictures(self, line: Line, drafts: Sequence[Draft]) -> None:
        """See that every picture the drafts speak of is in the book."""
        for draft in drafts:
            name = ""
            if isinstance(draft.body, Picture):
                name = draft.body.sha256
            elif isinstance(draft.body, LooseEndOpened):
                name = draft.body.picture
            if name and not line.rows(statements.HAS_BLOB, sha256=name):
                raise InputError(
                    "The picture itself is not in the book yet; keep it first",
                    given=name,
                    where=draft.body.kind,
                )


def _no_such_build(build_id: str) -> InputError:
    return InputError("There is no such build in this book", given=build_id)
