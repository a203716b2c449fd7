"""The store: several builds in one book, every kept entry durable before its writer hears of it.

This module, `database`, `tables` and `migrations` are the only ones that speak to a database.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import threading
import unicodedata
from collections.abc import Iterable, Sequence

from tickover.book import chain, fields, statements
from tickover.book.bodies import Body, EngineFileKept
from tickover.book.chain import BuildRow
from tickover.book.database import Database
from tickover.book.entries import Draft, Entry, new_id
from tickover.book.fold import fold
from tickover.book.ledger import Ledger
from tickover.book.opening import open_database
from tickover.book.state import State
from tickover.errors import BookError, InputError

LARGEST_BLOB = 64_000_000  # a long recording; photographs are shrunk far below
_SUFFIX = "23456789abcdefghjkmnpqrstvwxyz"  # no signs that look alike on a card


class BookMovedOn(BookError):  # noqa: N818 (named as its sisters in errors)
    """Somebody else kept an entry since the caller looked; nothing was kept."""


class Store:
    """A book with its builds. Usable from several threads; close it, or use it with `with`."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._cache: dict[str, tuple[State, str]] = {}
        self._cache_lock = threading.Lock()
        self._ledger = Ledger(database)

    # -- opening --------------------------------------------------------------------------

    @classmethod
    def open(
        cls, where: str | os.PathLike[str] | None = None, *, patience_s: float = 10.0
    ) -> Store:
        """Open a book; a file that is not there yet becomes a new, empty book.

        Parameters
        ----------
        where : str, path or None
            A file or the address of a server; None: what TICKOVER_BOOK says, else the
            platform's folder for a user's data.
        patience_s : float
            How long a writer waits for others [s].

        Raises
        ------
        InputError
            The place is a folder, or an address nobody can use.
        BookNewer
            Written by a newer Tickover.
        BookDamaged
            Not a book, or no longer one; the file is left as it is.
        BookUnwritable
            A new book cannot be made there, or an old one not brought up to date.
        """
        return cls(open_database(where, patience_s))

    @property
    def where(self) -> str:
        """The file or address of the book, as a person may read it (no password)."""
        return self._database.where

    def close(self) -> None:
        """Let go of the book."""
        self._database.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- builds ---------------------------------------------------------------------------

    def builds(self) -> tuple[BuildRow, ...]:
        """All builds, the oldest first."""
        with self._database.reading(together=False) as line:
            rows = line.rows(statements.ALL_BUILDS)
        return tuple(sorted(map(self._ledger.build_row, rows), key=lambda b: (b.created_at, b.id)))

    def build(self, build_id: str) -> BuildRow:
        """One build.

        Raises
        ------
        InputError
            There is none with this id.
        """
        with self._database.reading(together=False) as line:
            return self._ledger.find(line, build_id)

    def last_number(self, build_id: str) -> int:
        """Number of the latest entry of a build; cheap, for asking often."""
        return self.build(build_id).last_number

    def create_build(
        self,
        name: str,
        engine_text: str,
        at: str,
        by: str,
        *,
        engine_name: str = "engine.toml",
        first_id: str = "",
    ) -> BuildRow:
        """A new build with its engine file as entry 1 (no entry when there is no text).

        Parameters
        ----------
        name : str
            What the machine is called; the id is made from it.
        engine_text, engine_name : str
            The engine file as it stands, and the name of the file.
        at : str
            ISO 8601 in universal time.
        by : str
            Who says so.
        first_id : str
            Id of entry 1, where its writer may send it twice; empty: the book chooses one.

        Raises
        ------
        InputError
            A field cannot be kept.
        BookBusy, BookUnwritable, BookDamaged
            Nothing was kept.
        """
        fields.text(name, "name", limit=fields.SHORT, lines=False)
        fields.text(by, "by", limit=fields.SHORT, lines=False)
        at = fields.moment(at, "at")
        bodies = [EngineFileKept(engine_text, engine_name)] if engine_text else []
        taken = {build.id for build in self.builds()}
        build_id = _new_build_id(name)
        while build_id in taken:
            build_id = _new_build_id(name)
        row = chain.first_row(build_id, name, at, by)
        named = first_id or new_id()
        first = [Entry(named, n, b.kind, at, at, by, b) for n, b in enumerate(bodies, 1)]
        return self.restore(row, first)

    # -- entries --------------------------------------------------------------------------

    def append(
        self,
        build_id: str,
        bodies: Iterable[Body | Draft] | Body | Draft,
        *,
        at: str,
        by: str,
        expect_number: int | None = None,
    ) -> tuple[Entry, ...]:
        """Keep entries: all of them or none, durable when this returns.

        Parameters
        ----------
        build_id : str
        bodies : one or several bodies or drafts
            A draft with an id already kept is answered with the entry as it was kept, so a
            writer that did not hear the answer may simply send again.
        at : str
            Now; ISO 8601 in universal time.
        by : str
            Who says so.
        expect_number : int or None
            Keep only if this is still the number of the latest entry.

        Returns
        -------
        tuple of Entry
            One for each body given, in that order.

        Raises
        ------
        InputError
            No such build, an id kept before with other content, a picture not in the book.
        BookMovedOn
            The latest entry is no longer `expect_number`.
        BookBusy, BookUnwritable, BookDamaged
            Nothing was kept.
        """
        kept_at = fields.moment(at, "at")
        fields.text(by, "by", limit=fields.SHORT, lines=False)
        given = [bodies] if isinstance(bodies, Draft) or hasattr(bodies, "kind") else bodies
        drafts = [d if isinstance(d, Draft) else Draft(d) for d in given]  # type: ignore[arg-type]
        if not drafts:
            return ()
        with self._database.writing() as line:
            build = self._ledger.lock_known(line, build_id)
            before = self._ledger.already_kept(line, build, drafts)
            if len(before) < len({d.id or id(d) for d in drafts}):
                self._ledger.see_pictures(line, drafts)
                if expect_number is not None and expect_number != build.last_number:
                    raise BookMovedOn(
                        f"Entry {build.last_number} of '{build.name}' was kept after entry"
                        f" {expect_number}, the last you saw. Look at it, then say again."
                    )
            answers: list[Entry] = []
            new: list[Entry] = []
            for draft in drafts:
                entry = before.get(draft.id) if draft.id else None
                if entry is None:
                    entry = Entry(
                        draft.id or new_id(),
                        build.last_number + len(new) + 1,
                        draft.body.kind,
                        draft.at or kept_at,
                        kept_at,
                        draft.by or by,
                        draft.body,
                    )
                    new.append(entry)
                    before[entry.id] = entry
                else:
                    _same(entry, draft)
                answers.append(entry)
            self._ledger.write(line, build, new)
        return tuple(answers)

    def entries(self, build_id: str, after: int = 0) -> tuple[Entry, ...]:
        """The entries of a build with a number above `after`, checked against their checksums.

        Raises
        ------
        InputError
            There is no such build.
        BookDamaged
            An entry is not what was written; names it.
        """
        with self._database.reading() as line:
            build = self._ledger.find(line, build_id)
            return tuple(self._ledger.read(line, build, after, None))

    def state(self, build_id: str) -> State:
        """The state of a build now, seeing what other processes wrote.

        Asks only for the last number and checksum when nothing changed, and folds only the new
        entries when something did. Errors as in `entries`.
        """
        with self._cache_lock:
            state, head = self._cache.get(build_id, (None, ""))
            with self._database.reading(together=False) as line:
                build = self._ledger.find(line, build_id)
            if state is not None and build.head == head:
                return state
            with self._database.reading() as line:
                build = self._ledger.find(line, build_id)
                if state is not None and state.last_number < build.last_number:
                    try:
                        new = self._ledger.read(line, build, state.last_number, head)
                    except BookError:
                        state = None  # not a continuation of what was seen: look at all of it
                else:
                    state = None
                if state is None:
                    new = self._ledger.read(line, build, 0, None)
            state = fold(new, state)
            self._cache[build_id] = (state, build.head)
            return state

    # -- pictures and other things kept by their content ----------------------------------

    def put_blob(self, data: bytes) -> str:
        """Keep bytes by their content; the same bytes are kept once.

        Returns
        -------
        str
            The sha256 to ask for them by.

        Raises
        ------
        InputError
            Too large.
        """
        if len(data) > LARGEST_BLOB:
            raise InputError(
                f"This is too large to keep, {len(data) / 1e6:.1f} MB",
                allowed=f"{LARGEST_BLOB / 1e6:.0f} MB",
            )
        name = hashlib.sha256(data).hexdigest()
        with self._database.writing() as line:
            self._ledger.write_blob(line, name, data)
        return name

    def get_blob(self, sha256: str) -> bytes:
        """The bytes kept under this name.

        Raises
        ------
        InputError
            There are none.
        BookDamaged
            They are no longer what was kept.
        """
        with self._database.reading(together=False) as line:
            rows = line.rows(statements.BLOB, sha256=sha256)
        if not rows:
            raise InputError("This is not in the book", given=sha256)
        try:
            data = bytes(rows[0][0])
        except TypeError as error:
            raise self._database.damaged(f"picture {sha256} is not what was written") from error
        if hashlib.sha256(data).hexdigest() != sha256:
            raise self._database.damaged(f"picture {sha256} is not what was written")
        return data

    def has_blob(self, sha256: str) -> bool:
        """Whether bytes are kept under this name."""
        with self._database.reading(together=False) as line:
            return bool(line.rows(statements.HAS_BLOB, sha256=sha256))

    def others_naming(self, build_id: str, sha256: str) -> tuple[str, ...]:
        """Names of the other builds whose entries name these bytes: a build and its copy."""
        with self._database.reading(together=False) as line:
            rows = line.rows(statements.BUILDS_NAMING, build_id=build_id, sha256=sha256)
        return tuple(row[0] for row in rows)

    def forget_blob(
        self, build_id: str, sha256: str, saying: Body | Draft, *, at: str, by: str
    ) -> Entry:
        """Delete bytes for good, and keep the entry that says so: both or neither.

        For privacy. Entries that name the bytes stay as they are, in this build and in any other
        that shares them (`others_naming` tells which); exports come without the bytes from here
        on.

        Parameters
        ----------
        build_id : str
        sha256 : str
            Name of the bytes.
        saying : body or draft
            What is kept about it.
        at, by : str
            As in `append`.

        Returns
        -------
        Entry
            As it was kept; the one kept before where the draft's id is known already.

        Raises
        ------
        InputError
            No such build, a field that cannot be kept, or bytes that are not in the book.
        BookBusy, BookUnwritable, BookDamaged
            Nothing was deleted and nothing kept.
        """
        kept_at = fields.moment(at, "at")
        fields.text(by, "by", limit=fields.SHORT, lines=False)
        draft = saying if isinstance(saying, Draft) else Draft(saying)
        with self._database.writing() as line:
            build = self._ledger.lock_known(line, build_id)
            before = self._ledger.already_kept(line, build, [draft])
            if draft.id and draft.id in before:
                _same(before[draft.id], draft)
                return before[draft.id]
            if not line.rows(statements.HAS_BLOB, sha256=sha256):
                raise InputError("This is not in the book", given=sha256)
            entry = Entry(
                draft.id or new_id(), build.last_number + 1, draft.body.kind,
                draft.at or kept_at, kept_at, draft.by or by, draft.body,
            )  # fmt: skip
            self._ledger.drop_blob(line, sha256)
            self._ledger.write(line, build, [entry])
        return entry

    # -- whole builds ---------------------------------------------------------------------

    def restore(
        self, build: BuildRow, entries: Sequence[Entry], blobs: Iterable[bytes] = ()
    ) -> BuildRow:
        """Write a whole build, or the entries that follow the ones it has: all or nothing.

        Parameters
        ----------
        build : BuildRow
            Its name and origin. `last_number` and `head` say where the entries go on: 0 and the
            seed for a build that is not here yet, else those the store has now.
        entries : sequence of Entry
            With the numbers, moments and writers they have.
        blobs : iterable of bytes

        Raises
        ------
        InputError
            The build is here already, or no longer where the caller saw it; a field is bad.
        """
        chain.check_build(build)
        for number, entry in enumerate(entries, build.last_number + 1):
            if chain.check_entry(entry).number != number:
                raise InputError(
                    "Entries are numbered without gaps",
                    given=str(entry.number),
                    instead=str(number),
                    where="number",
                )
        with self._database.writing() as line:
            for data in blobs:
                self._ledger.write_blob(line, hashlib.sha256(data).hexdigest(), data)
            there = self._ledger.lock(line, build.id)
            if there is None and build.head == chain.seed(build):
                values = {name: getattr(build, name) for name in statements.BUILD_COLUMNS}
                line.run(statements.NEW_BUILD, values)
            elif there != build:
                raise InputError("This build is already in the book", given=build.id)
            return self._ledger.write(line, build, entries)

    def verify(self) -> int:
        """Read every entry and every picture against its checksum, and see that a file is sound.

        Returns
        -------
        int
            How many were read.

        Raises
        ------
        BookDamaged
            Names the first that is not what was written.
        """
        self._database.look_through()
        count = 0
        for build in self.builds():
            count += len(self.entries(build.id))
        with self._database.reading(together=False) as line:
            names = [row[0] for row in line.rows(statements.BLOB_NAMES)]
        for name in names:
            if not isinstance(name, str):
                raise self._database.damaged("a picture has lost its name")
            self.get_blob(name)
            count += 1
        return count


def _same(entry: Entry, draft: Draft) -> None:
    if entry.body == draft.body and (not draft.at or draft.at == entry.at):
        return
    raise InputError(
        f"Entry {entry.number} was kept under this id with other content",
        given=draft.id,
        instead="the changed entry under a new id",
        where="id",
    )


def _new_build_id(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:32].strip("-") or "build"
    return f"{slug}-{''.join(secrets.choice(_SUFFIX) for _ in range(4))}"
