"""Sent again, kept once: a phone that heard no answer sends the same form under the same id.

Every entry such a form makes gets an id made from the sending's, so the book itself tells what it
has already: also after the server was killed between keeping and answering.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, cast

from starlette.requests import Request

from tickover.book import fields
from tickover.book.entries import Draft
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.book.entries import Entry
    from tickover.book.store import Store

HEADER = "tickover-sending"
WRITTEN = "tickover-written"
"""When it was written on the phone, where it is sent later; ISO 8601 with a zone."""
_WELL_FORMED = re.compile(r"[0-9a-f]{32}")


def sending_of(request: Request) -> str:
    """The id of a sending; '' where a request has none, or none worth the name."""
    found = request.headers.get(HEADER, "")
    return found if _WELL_FORMED.fullmatch(found) else ""


def written_of(request: Request) -> str:
    """When what is sent was written; '' where the request does not say, or says it wrong."""
    try:
        return fields.moment(request.headers.get(WRITTEN, ""), "at")
    except InputError:  # a phone with a broken clock: then it counts as written when it arrives
        return ""


def entry_id(sending: str, number: int) -> str:
    """The id of the so-manieth entry of a sending.

    >>> entry_id("0" * 32, 1) == entry_id("0" * 32, 1) != entry_id("0" * 32, 2)
    True
    """
    return hashlib.sha256(f"{sending}\0{number}".encode()).hexdigest()[:32]


def keeping_once(store: Store, sending: str, written: str = "") -> Store:
    """A store that gives each entry appended through it the id its sending makes.

    Parameters
    ----------
    store : Store
    sending : str
        32 hex digits.
    written : str
        When it was written; '' for now.
    """
    return cast("Store", _OnceStore(store, sending, written))


class _OnceStore:
    def __init__(self, store: Store, sending: str, written: str) -> None:
        self._store = store
        self._sending = sending
        self._written = written
        self._made = 0

    def append(
        self, build_id: str, bodies: Iterable[Body | Draft] | Body | Draft, **how: Any
    ) -> tuple[Entry, ...]:
        """As the store's own, with ids."""
        given = [bodies] if isinstance(bodies, Draft) or hasattr(bodies, "kind") else bodies
        return self._store.append(build_id, [self._named(each) for each in given], **how)  # type: ignore[arg-type]

    def _named(self, body: Body | Draft) -> Draft:
        draft = body if isinstance(body, Draft) else Draft(body)
        self._made += 1
        if draft.id:
            return draft
        named = entry_id(self._sending, self._made)
        return Draft(draft.body, named, draft.at or self._written, draft.by)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)
