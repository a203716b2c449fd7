"""The phones that were let in: a small file beside the book, without any secret in it.

Kept is the sum of what the phone shows, never the thing itself: who reads the file cannot get in.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import tempfile
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from tickover.errors import BookDamaged, BookUnwritable, InputError

LONGEST_NAME = 40
MOST_PHONES = 20


@dataclass(frozen=True, slots=True)
class Phone:
    """One paired phone.

    Parameters
    ----------
    id : str
        Made here, to name it by.
    name : str
        What its owner calls it; entries made on it say so.
    paired_at : str
        ISO 8601 in universal time.
    sum : str
        SHA-256 of the pass it carries, as hex.
    """

    id: str
    name: str
    paired_at: str
    sum: str


def _sum(carried: str) -> str:
    return hashlib.sha256(carried.encode()).hexdigest()


class PairedPhones:
    """The list, read once and written whole.

    Parameters
    ----------
    path : Path
        Where it is kept.

    Raises
    ------
    BookDamaged
        The file is there but cannot be read as one of ours.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._phones = _read(path)
        self._seen: dict[str, str] = {}

    def all(self) -> tuple[Phone, ...]:
        """The phones, the first paired first."""
        return self._phones

    def last_seen(self, phone: Phone) -> str:
        """When it last asked for something since this start; '' where it has not."""
        return self._seen.get(phone.id, "")

    def free_name(self, name: str) -> str:
        """The name with single spaces, if a new phone may have it.

        Raises
        ------
        InputError
            No name, one that is too long or taken, or too many phones.
        """
        name = " ".join(name.split())
        if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
            raise InputError(
                "A phone needs a name, so that its entries can be told",
                given=name[: LONGEST_NAME + 20],
                allowed=f"1 to {LONGEST_NAME} signs",
                instead="'my phone'",
                where="name",
            )
        if any(phone.name.casefold() == name.casefold() for phone in self._phones):
            raise InputError(
                "A paired phone has this name already",
                given=name,
                instead="another name, or take the old one off the list first",
                where="name",
            )
        if len(self._phones) >= MOST_PHONES:
            raise InputError(
                "Too many phones are paired",
                allowed=f"{MOST_PHONES}",
                instead="nothing yet: take one off the list first",
                where="name",
            )
        return name

    def add(self, name: str, at: str) -> tuple[Phone, str]:
        """Let a phone in.

        Returns
        -------
        Phone
        str
            The pass it has to carry from now on; not kept here.

        Raises
        ------
        InputError
            As `free_name`.
        BookUnwritable
            The list cannot be written; nobody was let in.
        """
        carried = secrets.token_urlsafe(32)
        with self._lock:
            name = self.free_name(name)
            phone = Phone(secrets.token_hex(8), name, at, _sum(carried))
            self._write((*self._phones, phone))
        return phone, carried

    def known(self, carried: str, at: Callable[[], str]) -> Phone | None:
        """The phone that carries this pass; None where no paired one does."""
        if not carried:
            return None
        shown = _sum(carried)
        found = next((phone for phone in self._phones if phone.sum == shown), None)
        if found is not None:
            self._seen[found.id] = at()
        return found

    def revoke(self, phone_id: str) -> Phone:
        """Take a phone off the list; its next request is turned away.

        Raises
        ------
        InputError
            There is none with this id.
        """
        with self._lock:
            gone = next((phone for phone in self._phones if phone.id == phone_id), None)
            if gone is None:
                raise InputError("This phone is not on the list any more")
            self._write(tuple(phone for phone in self._phones if phone is not gone))
        return replace(gone, sum="")

    def _write(self, phones: tuple[Phone, ...]) -> None:
        text = json.dumps([asdict(phone) for phone in phones], indent=1, ensure_ascii=False)
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            handle, draft = tempfile.mkstemp(prefix=".phones-", dir=self._path.parent)
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            os.replace(draft, self._path)
        except OSError as error:
            raise BookUnwritable(
                f"The list of phones '{self._path}' cannot be written ({error.strerror})."
            ) from error
        self._phones = phones


def _read(path: Path) -> tuple[Phone, ...]:
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as error:
        raise BookDamaged(f"The list of phones '{path}' cannot be read.") from error
    try:
        return tuple(
            Phone(str(row["id"]), str(row["name"]), str(row["paired_at"]), str(row["sum"]))
            for row in json.loads(text)
        )
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise BookDamaged(
            f"The list of phones '{path}' is not one any more: delete it and pair them anew."
        ) from error
