"""A build in one file, from book to book: export, and import that gives the identical build.

    manifest.json   what this is, which version, name and origin of the build, sha256 of each part
    engine.toml     the latest engine file, for people; what counts stands in the entries
    entries.jsonl   one entry a line, in order
    blobs/SHA256    pictures and recordings the entries speak of

The same build always gives the same bytes. `archive` reads what a stranger sends.
"""

from __future__ import annotations

import io
import os
import re
import tempfile
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import IO, Any, Literal

from tickover.book import chain
from tickover.book.archive import ENGINE, ENTRIES, FORMAT, MANIFEST, VERSION, Archive, sha256_of
from tickover.book.chain import BuildRow
from tickover.book.entries import Entry
from tickover.book.fold import fold
from tickover.book.plain import body_from_plain, body_to_plain, canonical_json, parse_json
from tickover.book.store import Store
from tickover.errors import BookUnwritable, FileError, InputError

Existing = Literal["refuse", "copy", "continue"]
_NAME_OF_CONTENT = re.compile(r'"([0-9a-f]{64})"')
_ENTRY_FIELDS = ("id", "number", "kind", "at", "kept_at", "by", "body")


def export_build(store: Store, build_id: str, target: str | os.PathLike[str] | IO[bytes]) -> None:
    """Write a build to one zip.

    Parameters
    ----------
    store : Store
    build_id : str
    target : path or open file
        A path is replaced whole or not at all.

    Raises
    ------
    InputError
        There is no such build.
    BookDamaged
        Something in it is not what was written; nothing is written then.
    BookUnwritable
        The target cannot be written.
    """
    build = store.build(build_id)
    entries = store.entries(build_id)
    # What was kept between the two questions above is left for the next export.
    entries = entries[: build.last_number]
    lines = [canonical_json(_entry_to_plain(entry)) for entry in entries]
    parts = {
        ENGINE: fold(entries).engine_text.encode(),
        ENTRIES: "".join(line + "\n" for line in lines).encode(),
    }
    names = sorted({name for line in lines for name in _NAME_OF_CONTENT.findall(line)})
    blobs = [name for name in names if store.has_blob(name)]
    sums = {name: sha256_of(data) for name, data in parts.items()}
    sums |= {f"blobs/{name}": name for name in blobs}
    manifest = {
        "format": FORMAT,
        "version": VERSION,
        "build": {
            "id": build.id,
            "name": build.name,
            "created_at": build.created_at,
            "created_by": build.created_by,
            "last_number": build.last_number,
            "head": build.head,
        },
        "parts": sums,
    }
    parts = {MANIFEST: (canonical_json(manifest) + "\n").encode(), **parts}

    def write(file: IO[bytes]) -> None:
        with zipfile.ZipFile(file, "w") as zipped:
            for name, data in parts.items():
                zipped.writestr(_info(name), data, zipfile.ZIP_DEFLATED, 9)
            for name in blobs:  # pictures are packed already; one at a time in memory
                zipped.writestr(_info(f"blobs/{name}"), store.get_blob(name), zipfile.ZIP_STORED)

    _deliver(target, write)


def import_build(
    store: Store,
    source: bytes | str | os.PathLike[str] | IO[bytes],
    existing: Existing = "refuse",
) -> BuildRow:
    """Take a build from an export into a book: all of it or nothing.

    Parameters
    ----------
    store : Store
    source : bytes, path or open file
    existing : str
        What to do when the build is in the book already. 'refuse': say so. 'continue': add the
        entries the book lacks, if all it has are the same. 'copy': a second build beside it.

    Returns
    -------
    BuildRow
        Same id, numbers, moments, writers and checksums as exported; a copy has an id of its
        own and keeps the entries' ids.

    Raises
    ------
    FileError
        Not an export, or one that was changed, cut short, or made to do harm.
    InputError
        The build is here already and 'refuse' was said, or the two went different ways.
    """
    with Archive(source) as archive:
        build, entries = _read(archive)
        blobs: Iterable[bytes] = archive.blobs()
        here = {row.id: row for row in store.builds()}
        if build.id not in here:
            return _restore(store, build, entries, blobs)
        if existing == "copy":
            return _restore(store, _renamed(build, set(here)), entries, blobs)
        if existing == "continue":
            kept = here[build.id]
            tail = _tail(store.entries(build.id), kept, build, entries)
            if not tail:
                for _ in blobs:  # an export is believed whole or not at all
                    pass
                return kept
            return store.restore(kept, tail, blobs)
        raise InputError(
            f"The build '{build.name}' is already in this book",
            given=build.id,
            allowed="'copy' for a second build beside it, 'continue' to add what is missing here",
        )


def _restore(
    store: Store,
    build: BuildRow,
    entries: Sequence[Entry],
    blobs: Iterable[bytes],
) -> BuildRow:
    start = chain.first_row(build.id, build.name, build.created_at, build.created_by)
    return store.restore(start, entries, blobs)


def _entry_to_plain(entry: Entry) -> dict[str, Any]:
    plain = {name: getattr(entry, name) for name in _ENTRY_FIELDS}
    return plain | {"body": body_to_plain(entry.body)}


def _entry_from_plain(plain: object, where: str) -> Entry:
    if not isinstance(plain, dict) or set(plain) != set(_ENTRY_FIELDS):
        raise FileError("This line is not an entry", allowed=", ".join(_ENTRY_FIELDS), where=where)
    try:
        body = body_from_plain(plain["kind"], plain["body"])
        return chain.check_entry(Entry(**{**plain, "body": body}))
    except (InputError, TypeError) as error:
        raise FileError(f"This line is not an entry ({error})", where=where) from error


def _read(archive: Archive) -> tuple[BuildRow, list[Entry]]:
    where = archive.name
    given = archive.manifest.get("build")
    if not isinstance(given, dict):
        raise FileError("The manifest names no build", where=where)
    try:
        build = chain.check_build(BuildRow(**given))
    except (InputError, TypeError) as error:
        raise FileError(f"The manifest does not describe a build ({error})", where=where) from error
    try:
        text = archive.part(ENTRIES).decode()
    except UnicodeDecodeError as error:
        raise FileError("The entries are not text", where=where) from error
    entries = []
    for number, line in enumerate(text.split("\n")[:-1] if text else [], 1):
        place = f"{where}, {ENTRIES} line {number}"
        try:
            entry = _entry_from_plain(parse_json(line), place)
        except FileError:
            raise
        except InputError as error:
            raise FileError(f"This line is not an entry ({error})", where=place) from error
        if entry.number != number:
            raise FileError(
                "Entries are missing or out of order", given=str(entry.number), where=place
            )
        entries.append(entry)
    start = chain.first_row(build.id, build.name, build.created_at, build.created_by)
    rows = chain.rows_of(entries, build.id, start.head)
    head = rows[-1][7] if rows else start.head
    if len({entry.id for entry in entries}) != len(entries):
        raise FileError("Two entries have the same id", where=where)
    if len(entries) != build.last_number or head != build.head:
        raise FileError("The entries are not those the manifest was written for", where=where)
    return build, entries


def _tail(
    ours: Sequence[Entry], kept: BuildRow, theirs: BuildRow, entries: Sequence[Entry]
) -> Sequence[Entry]:
    for mine, other in zip(ours, entries, strict=False):
        if mine != other:
            raise InputError(
                f"The build here and the build in the file went different ways at entry"
                f" {mine.number}",
                given=kept.id,
                allowed="'copy' for a second build beside it",
            )
    if replace(theirs, last_number=kept.last_number, head=kept.head) != kept:
        raise InputError(
            "The build here has the same id but another name or origin",
            given=theirs.name,
            allowed="'copy' for a second build beside it",
        )
    return entries[len(ours) :]


def _renamed(build: BuildRow, taken: set[str]) -> BuildRow:
    base = re.sub(r"-copy(-\d+)?$", "", build.id)[:52]
    number = 1
    while (new := f"{base}-copy" + (f"-{number}" if number > 1 else "")) in taken:
        number += 1
    return replace(build, id=new)


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))  # no clock: same bytes each time
    info.create_system = 3
    info.external_attr = 0o644 << 16
    return info


def _deliver(target: str | os.PathLike[str] | IO[bytes], write: Any) -> None:
    if not isinstance(target, str | os.PathLike):
        buffer = io.BytesIO()
        write(buffer)
        target.write(buffer.getvalue())
        return
    path = Path(target)
    draft = ""
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name}.", delete=False
        ) as file:
            draft = file.name
            write(file)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
        draft = ""
    except OSError as error:
        raise BookUnwritable(
            f"The export '{path}' cannot be written ({error.strerror}). Nothing is left half"
            " written; make room or name another place."
        ) from error
    finally:
        if draft:
            Path(draft).unlink(missing_ok=True)
