"""An export as a stranger may send it: opened with suspicion, read within limits.

Only the parts the manifest names are read, each once, each no longer than allowed and each
against its checksum. Nothing is ever unpacked to a path.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from tickover.book.plain import parse_json
from tickover.errors import FileError, InputError

FORMAT = "tickover build"
VERSION = 1
MANIFEST = "manifest.json"
ENGINE = "engine.toml"
ENTRIES = "entries.jsonl"
LARGEST = {MANIFEST: 8_000_000, ENGINE: 4_000_000, ENTRIES: 200_000_000}
LARGEST_BLOB = 64_000_000
LARGEST_WHOLE = 4_000_000_000
MOST_PARTS = 20_000
STEEPEST = 300  # times; text of entries packs some twenty times, a bomb a thousand
_PART = re.compile(r"manifest\.json|engine\.toml|entries\.jsonl|blobs/([0-9a-f]{64})")
_STEEP_FROM = 20_000_000  # below, even a page full of one letter does no harm


def sha256_of(data: bytes) -> str:
    """The sha256 of bytes, in hex."""
    return hashlib.sha256(data).hexdigest()


class Archive:
    """An export, its manifest read and its list of parts checked.

    Parameters
    ----------
    source : bytes, path or open file

    Raises
    ------
    FileError
        Not a zip, not an export, a newer one, or one with parts that have no business there.
    """

    def __init__(self, source: bytes | str | os.PathLike[str] | IO[bytes]) -> None:
        self.name = "the export"
        self._file: IO[bytes] | None = None
        file: str | IO[bytes]
        if isinstance(source, bytes):
            file = io.BytesIO(source)
        elif isinstance(source, str | os.PathLike):
            self.name = Path(source).name
            file = os.fspath(source)
        else:
            file = source
        try:
            self._zip = zipfile.ZipFile(file)
        except OSError as error:
            raise FileError(
                f"This file cannot be read ({error.strerror or error})", where=self.name
            ) from error
        except (zipfile.BadZipFile, ValueError, NotImplementedError, EOFError) as error:
            raise FileError(
                "This is not a zip, or only part of one",
                allowed="an export of a build, whole",
                where=self.name,
            ) from error
        try:
            self._parts = self._list()
            self.manifest = self._manifest()
            self._sums = self._checksums()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    def part(self, name: str) -> bytes:
        """One part, whole and as its checksum says."""
        data = self._unpack(name)
        if sha256_of(data) != self._sums[name]:
            raise FileError(
                f"The part '{name}' is not what was exported (its checksum differs)",
                where=self.name,
            )
        return data

    def blobs(self) -> Iterator[bytes]:
        """The pictures and recordings, one at a time."""
        self.part(ENGINE)  # not used, but an export with one part changed is no export
        for name in sorted(self._sums):
            if name.startswith("blobs/"):
                yield self.part(name)

    def _list(self) -> dict[str, zipfile.ZipInfo]:
        parts: dict[str, zipfile.ZipInfo] = {}
        infos = self._zip.infolist()
        if len(infos) > MOST_PARTS:
            raise FileError("Too many parts", allowed=f"{MOST_PARTS} parts", where=self.name)
        total = 0
        for info in infos:
            if info.filename == "blobs/" and info.is_dir():
                continue  # some packers write the folder down too; it holds nothing
            name = self._decent(info)
            if name in parts:
                raise FileError("A part stands there twice", given=name, where=self.name)
            total += info.file_size
            parts[name] = info
        if total > LARGEST_WHOLE:
            raise FileError(
                "Unpacked, this would be too large",
                allowed=f"{LARGEST_WHOLE // 10**9} GB",
                where=self.name,
            )
        return parts

    def _decent(self, info: zipfile.ZipInfo) -> str:
        name = info.orig_filename
        mode = info.external_attr >> 16
        problem = ""
        if ".." in re.split(r"[/\\]", name):
            problem = "A part would climb out of its folder"
        elif name.startswith(("/", "\\")) or re.match(r"[A-Za-z]:", name):
            problem = "A part would lie at a place of its own choosing"
        elif stat.S_IFMT(mode) not in (0, stat.S_IFREG):
            problem = "A part is a link or something else than a file"
        elif info.flag_bits & 0x1:
            problem = "A part is locked with a password"
        elif not _PART.fullmatch(name):
            problem = "A part has no business in an export"
        elif info.file_size > LARGEST.get(name, LARGEST_BLOB) or (
            info.file_size > _STEEP_FROM and info.file_size > STEEPEST * info.compress_size
        ):
            problem = "A part would unpack to far more than it may"
        if problem:
            raise FileError(problem, given=name, allowed="exports as written", where=self.name)
        return name

    def _manifest(self) -> dict[str, Any]:
        if MANIFEST not in self._parts:
            raise FileError(
                "This zip is not an export of a build",
                allowed=f"one with {MANIFEST}",
                where=self.name,
            )
        try:
            manifest = parse_json(self._unpack(MANIFEST).decode(), MANIFEST)
        except UnicodeDecodeError as error:
            raise FileError("The manifest is not text", where=self.name) from error
        except FileError:
            raise
        except InputError as error:
            raise FileError(f"The manifest cannot be read ({error})", where=self.name) from error
        if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
            raise FileError("This zip is not an export of a build", where=self.name)
        version = manifest.get("version")
        if type(version) is not int or version < 1:
            raise FileError("The manifest has no version", given=str(version), where=self.name)
        if version > VERSION:
            raise FileError(
                "This export was written by a newer Tickover; bring this one up to date",
                given=f"version {version}",
                allowed=f"up to version {VERSION}",
                where=self.name,
            )
        return manifest

    def _checksums(self) -> dict[str, str]:
        sums = self.manifest.get("parts")
        if not isinstance(sums, dict) or not all(isinstance(s, str) for s in sums.values()):
            raise FileError("The manifest lists no checksums", where=self.name)
        for name in (ENGINE, ENTRIES, *sums):
            if name not in self._parts or name not in sums:
                raise FileError(f"The part '{name}' is missing", where=self.name)
            picture = _PART.fullmatch(name)
            if picture and picture[1] and sums[name] != picture[1]:
                raise FileError(f"The part '{name}' is misnamed", where=self.name)
        for name in self._parts:
            if name not in sums and name != MANIFEST:
                raise FileError("A part is not in the manifest", given=name, where=self.name)
        return dict(sums)

    def _unpack(self, name: str) -> bytes:
        limit = LARGEST.get(name, LARGEST_BLOB)
        problem = f"The part '{name}' cannot be unpacked"
        try:
            with self._zip.open(self._parts[name]) as part:
                data = part.read(limit + 1)
        except (
            zipfile.BadZipFile,
            zlib.error,
            NotImplementedError,
            EOFError,
            ValueError,
            OSError,
            RuntimeError,
        ) as error:
            raise FileError(f"{problem} ({error})", where=self.name) from error
        if len(data) > limit:
            raise FileError(f"{problem}: too large", where=self.name)
        return data
