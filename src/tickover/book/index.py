"""The lists behind a state: entries sorted by what they are, and which of them are struck out.

Only `fold` writes here. A copy shares the inner lists with the original and copies one only when
it grows, so adding one entry to ten thousand costs a few copied dictionaries of pointers.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tickover.book.bodies import (
    Acceptance,
    Answer,
    LooseEndClosed,
    LooseEndOpened,
    Reading,
    StockChanged,
    StrikeOut,
    Work,
)
from tickover.book.entries import Entry
from tickover.errors import InputError

CLOCK_SLACK_S = 60.0  # clocks of two machines on one book seldom agree better than this

Key = tuple[str, ...]


class Index:
    """Entries by id, by kind and subject; `settle` after adding, then ask."""

    __slots__ = (
        "_owned",
        "_strikes",
        "astray",
        "by_id",
        "clock_back",
        "entries",
        "groups",
        "referring",
        "struck",
    )

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.by_id: dict[str, Entry] = {}
        self.groups: dict[Key, list[Entry]] = {}
        self.referring: dict[Key, list[Entry]] = {}  # (kind, id) -> entries naming that id
        self.struck: set[str] = set()
        self.astray: list[Entry] = []  # entries that name an entry not before them
        self.clock_back: list[Entry] = []
        self._strikes: list[tuple[str, str]] = []  # (strike-out, what it strikes), in order
        self._owned: set[int] = set()  # identities of inner lists this copy may change

    def copy(self) -> Index:
        """An index that can grow without changing this one."""
        other = Index()
        other.entries = self.entries.copy()
        other.by_id = self.by_id.copy()
        other.groups = self.groups.copy()
        other.referring = self.referring.copy()
        other.struck = self.struck.copy()
        other.astray = self.astray.copy()
        other.clock_back = self.clock_back.copy()
        other._strikes = self._strikes.copy()
        return other

    def add(self, entry: Entry) -> None:
        """Sort one entry in; an id already there is passed over."""
        if entry.id in self.by_id:
            return
        if self.entries:
            last = self.entries[-1]
            if entry.number <= last.number:
                raise InputError(
                    "Entries are folded in order",
                    given=f"number {entry.number} after {last.number}",
                    where="number",
                )
            if entry.kept_at < last.kept_at and _seconds(entry, last) > CLOCK_SLACK_S:
                self.clock_back.append(entry)
        body = entry.body
        self._group(("kind", entry.kind), entry)
        if isinstance(body, Reading):
            self._group(("reading", body.what), entry)
            self._group(("reading", body.what, body.place), entry)
        elif isinstance(body, Work):
            self._group(("work", body.what), entry)
        elif isinstance(body, Acceptance):
            self._group(("acceptance", body.check, body.place), entry)
        elif isinstance(body, Answer):
            self._group(("answer", body.question), entry)
        elif isinstance(body, StockChanged):
            self._group(("stock", body.item), entry)
        elif isinstance(body, LooseEndClosed | StrikeOut):
            self._refer(entry, body)
        self.entries.append(entry)
        self.by_id[entry.id] = entry

    def settle(self) -> None:
        """Work out what is struck out, after the last entry was added.

        A strike-out may be struck out itself and then gives its entry back. They only reach
        backwards, so going from the last to the first settles each before it is needed.
        """
        struck: set[str] = set()
        for strike, target in reversed(self._strikes):
            if strike not in struck:
                struck.add(target)
        self.struck = struck

    def live(self, entries: list[Entry]) -> list[Entry]:
        """Those of the entries that are not struck out, in order."""
        if not self.struck:
            return entries
        struck = self.struck
        return [entry for entry in entries if entry.id not in struck]

    def group(self, *key: str) -> list[Entry]:
        """The entries of one group that count, in order of number."""
        return self.live(self.groups.get(key, []))

    def last(self, *key: str) -> Entry | None:
        """The latest entry of one group that counts."""
        for entry in reversed(self.groups.get(key, [])):
            if entry.id not in self.struck:
                return entry
        return None

    def _refer(self, entry: Entry, body: LooseEndClosed | StrikeOut) -> None:
        target = self.by_id.get(body.entry)
        if target is None or (
            isinstance(body, LooseEndClosed) and not isinstance(target.body, LooseEndOpened)
        ):
            self.astray.append(entry)
            return
        self._append(self.referring, (entry.kind, target.id), entry)
        if isinstance(body, StrikeOut):
            self._strikes.append((entry.id, target.id))

    def _group(self, key: Key, entry: Entry) -> None:
        self._append(self.groups, key, entry)

    def _append(self, lists: dict[Key, list[Any]], key: Key, entry: Entry) -> None:
        items = lists.get(key)
        if items is None:
            items = lists[key] = []
            self._owned.add(id(items))
        elif id(items) not in self._owned:
            items = lists[key] = items.copy()
            self._owned.add(id(items))
        items.append(entry)


def _seconds(earlier: Entry, later: Entry) -> float:
    try:
        first, second = (datetime.fromisoformat(e.kept_at) for e in (earlier, later))
        return (second - first).total_seconds()
    except (ValueError, TypeError):
        return 0.0  # not written as moments: then nothing can be said about clocks
