"""The state of a build: everything its entries say, asked by what and where.

Entries struck out stay visible (`struck`, `entries`) and count for nothing anywhere else. All
answers come in order of number, the latest last.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, cast

from tickover.book.bodies import (
    Acceptance,
    Answer,
    EngineFileKept,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Picture,
    Reading,
    StartAttempt,
    StockChanged,
    StrikeOut,
    Work,
)
from tickover.book.entries import Entry
from tickover.book.index import Index


@dataclass(frozen=True, slots=True)
class LooseEnd:
    """A loose end: who opened it, who closed it, and who closed it once more."""

    opened: Entry[LooseEndOpened]
    closed: Entry[LooseEndClosed] | None = None
    closed_again: tuple[Entry[LooseEndClosed], ...] = ()

    @property
    def id(self) -> str:
        """The id of the entry that opened it: what closing and accepting refer to."""
        return self.opened.id

    @property
    def is_open(self) -> bool:
        """Whether nobody has closed it yet."""
        return self.closed is None


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two things in the book that contradict each other; both are kept.

    Parameters
    ----------
    kind : str
        'already closed', 'already struck out', 'unknown entry', 'not a loose end',
        'clock set back' or 'less than none'.
    entry : Entry
        The later one.
    about : Entry or None
        What it contradicts, where that is one entry.
    text : str
        One sentence.
    """

    kind: str
    entry: Entry
    about: Entry | None
    text: str


@dataclass(frozen=True, slots=True)
class StockRow:
    """What lies in the drawer of one size.

    Parameters
    ----------
    item : str
    size : float or None
        [SI unit given in `unit`]
    unit, known_by : str
    price : float or None
        What one more costs, as last written down [money].
    count : int
        How many there are; below nothing when more went out than came in.
    """

    item: str
    size: float | None
    unit: str
    known_by: str
    price: float | None
    count: int


class State:
    """The state of a build after its entries; made by `fold`, never changed."""

    def __init__(self, index: Index | None = None) -> None:
        self.__dict__["_lists"] = index or Index()

    @property
    def index(self) -> Index:
        """The lists behind; for `fold`, which copies them."""
        index: Index = self.__dict__["_lists"]
        return index

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError("a state is never changed; fold new entries into it")

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, State):
            return NotImplemented
        return self.index.entries == other.index.entries

    def __hash__(self) -> int:
        return hash((self.last_number, self.index.entries[-1].id if self.last_number else ""))

    def __repr__(self) -> str:
        return f"State({len(self.index.entries)} entries, last number {self.last_number})"

    # -- entries --------------------------------------------------------------------------

    @property
    def last_number(self) -> int:
        """Number of the latest entry, 0 when there is none."""
        entries = self.index.entries
        return entries[-1].number if entries else 0

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """All entries, struck out or not."""
        return tuple(self.index.entries)

    @cached_property
    def live(self) -> tuple[Entry, ...]:
        """The entries that count."""
        return tuple(self.index.live(self.index.entries))

    @cached_property
    def struck(self) -> tuple[Entry, ...]:
        """The entries struck out."""
        return tuple(entry for entry in self.index.entries if self.is_struck(entry.id))

    def entry(self, entry_id: str) -> Entry | None:
        """The entry with this id, struck out or not; None where there is none."""
        return self.index.by_id.get(entry_id)

    def is_struck(self, entry_id: str) -> bool:
        """Whether the entry with this id counts for nothing."""
        return entry_id in self.index.struck

    def struck_by(self, entry_id: str) -> tuple[Entry[StrikeOut], ...]:
        """The strike-outs of this entry that count."""
        found = self.index.live(self.index.referring.get((StrikeOut.kind, entry_id), []))
        return tuple(cast(list[Entry[StrikeOut]], found))

    # -- by kind --------------------------------------------------------------------------

    def readings(
        self, what: str | None = None, place: str | None = None
    ) -> tuple[Entry[Reading], ...]:
        """Readings that count, of this and at this place (None: of all, at all)."""
        index = self.index
        if what is None:
            found = index.group("kind", Reading.kind)
            if place is not None:
                found = [e for e in found if cast(Reading, e.body).place == place]
        elif place is None:
            found = index.group("reading", what)
        else:
            found = index.group("reading", what, place)
        return tuple(cast(list[Entry[Reading]], found))

    def latest(self, what: str, place: str) -> Entry[Reading] | None:
        """The latest reading that counts, of this at this place."""
        return cast(Entry[Reading] | None, self.index.last("reading", what, place))

    def works(self, what: str | None = None, place: str | None = None) -> tuple[Entry[Work], ...]:
        """Work that counts; with a place, only work that names it."""
        index = self.index
        found = cast(
            list[Entry[Work]],
            index.group("kind", Work.kind) if what is None else index.group("work", what),
        )
        return tuple(e for e in found if place is None or place in e.body.places)

    def start_attempts(self) -> tuple[Entry[StartAttempt], ...]:
        """Start attempts that count."""
        return self._of(StartAttempt)

    def notes(self) -> tuple[Entry[Note], ...]:
        """Notes that count."""
        return self._of(Note)

    def pictures(self, about: str | None = None) -> tuple[Entry[Picture], ...]:
        """Pictures that count, about this entry or place (None: all)."""
        found: tuple[Entry[Picture], ...] = self._of(Picture)
        return tuple(e for e in found if about is None or e.body.about == about)

    def acceptance(self, check: str, place: str = "") -> Entry[Acceptance] | None:
        """The newest acceptance of this check at this place that counts."""
        return cast(Entry[Acceptance] | None, self.index.last("acceptance", check, place))

    @cached_property
    def acceptances(self) -> tuple[Entry[Acceptance], ...]:
        """The newest acceptance that counts for each check and place."""
        newest = {(e.body.check, e.body.place): e for e in self._of(Acceptance)}
        return tuple(sorted(newest.values(), key=lambda e: e.number))

    def answers(self, question: str | None = None) -> tuple[Entry[Answer], ...]:
        """Answers that count, to this question (None: to all)."""
        index = self.index
        return tuple(
            cast(
                list[Entry[Answer]],
                index.group("kind", Answer.kind)
                if question is None
                else index.group("answer", question),
            )
        )

    def answer(self, question: str) -> Entry[Answer] | None:
        """The latest answer to this question that counts."""
        return cast(Entry[Answer] | None, self.index.last("answer", question))

    @property
    def engine_file(self) -> Entry[EngineFileKept] | None:
        """The latest engine file that counts."""
        return cast(Entry[EngineFileKept] | None, self.index.last("kind", EngineFileKept.kind))

    @property
    def engine_text(self) -> str:
        """The text of the latest engine file that counts; empty when none was kept."""
        kept = self.engine_file
        return kept.body.text if kept else ""

    # -- stock ----------------------------------------------------------------------------

    def stock(self, item: str) -> tuple[StockRow, ...]:
        """What lies in the drawer of this item, by size; a count of 0 still tells its price."""
        counts: dict[tuple[float | None, str, str], int] = {}
        prices: dict[tuple[float | None, str, str], float] = {}
        for entry in cast(list[Entry[StockChanged]], self.index.group("stock", item)):
            body = entry.body
            key = (body.size, body.unit, body.known_by)
            counts[key] = counts.get(key, 0) + body.change
            if body.price is not None:
                prices[key] = body.price
        rows = [
            StockRow(item, size, unit, known_by, prices.get((size, unit, known_by)), count)
            for (size, unit, known_by), count in counts.items()
        ]
        rows.sort(key=lambda r: (r.unit, r.size is not None, r.size or 0.0, r.known_by))
        return tuple(rows)

    # -- loose ends and contradictions ----------------------------------------------------

    @cached_property
    def loose_ends(self) -> tuple[LooseEnd, ...]:
        """All loose ends, open and closed, in the order they were opened."""
        ends = []
        for opened in self._of(LooseEndOpened):
            key = (LooseEndClosed.kind, opened.id)
            closings = cast(
                list[Entry[LooseEndClosed]],
                self.index.live(self.index.referring.get(key, [])),
            )
            first = closings[0] if closings else None
            ends.append(LooseEnd(opened, first, tuple(closings[1:])))
        return tuple(ends)

    @property
    def open_loose_ends(self) -> tuple[LooseEnd, ...]:
        """Loose ends nobody has closed yet."""
        return tuple(end for end in self.loose_ends if end.is_open)

    @property
    def closed_loose_ends(self) -> tuple[LooseEnd, ...]:
        """Loose ends that were closed."""
        return tuple(end for end in self.loose_ends if not end.is_open)

    @cached_property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Everything in the book that contradicts something else in it, by number."""
        found = [
            *self._closed_again(),
            *self._struck_again(),
            *self._astray(),
            *self._clock_set_back(),
            *self._less_than_none(),
        ]
        return tuple(sorted(found, key=lambda conflict: conflict.entry.number))

    def _of(self, body: type[Any]) -> tuple[Any, ...]:
        return tuple(self.index.group("kind", body.kind))

    def _closed_again(self) -> list[Conflict]:
        return [
            Conflict(
                "already closed",
                again,
                end.closed,
                f"Loose end '{end.opened.body.label}' was already closed by {end.closed.by}"
                f" (entry {end.closed.number}) when {again.by} closed it.",
            )
            for end in self.loose_ends
            if end.closed is not None
            for again in end.closed_again
        ]

    def _struck_again(self) -> list[Conflict]:
        found = []
        for (kind, target), entries in self.index.referring.items():
            if kind != StrikeOut.kind or len(entries) < 2:
                continue
            first, *later = self.index.live(entries) or entries[:1]
            about = self.index.by_id[target]
            found += [
                Conflict(
                    "already struck out",
                    again,
                    first,
                    f"Entry {about.number} was already struck out by {first.by}"
                    f" (entry {first.number}) when {again.by} struck it out.",
                )
                for again in later
            ]
        return found

    def _astray(self) -> list[Conflict]:
        found = []
        for entry in self.index.live(self.index.astray):
            target = self.index.by_id.get(cast(LooseEndClosed | StrikeOut, entry.body).entry)
            known = target is not None and target.number < entry.number
            doing = "closes" if entry.kind == LooseEndClosed.kind else "strikes out"
            found.append(
                Conflict(
                    "not a loose end" if known else "unknown entry",
                    entry,
                    target if known else None,
                    f"Entry {entry.number} closes entry {target.number}, which is no loose end."
                    if known and target is not None
                    else f"Entry {entry.number} {doing} an entry that is not before it.",
                )
            )
        return found

    def _clock_set_back(self) -> list[Conflict]:
        return [
            Conflict(
                "clock set back",
                entry,
                None,
                f"Entry {entry.number} was kept at {entry.kept_at}, earlier than the entry before"
                " it: a clock was wrong. The order of the book goes by number.",
            )
            for entry in self.index.live(self.index.clock_back)
        ]

    def _less_than_none(self) -> list[Conflict]:
        found = []
        counts: dict[tuple[object, ...], int] = {}
        for entry in cast(tuple[Entry[StockChanged], ...], self._of(StockChanged)):
            body = entry.body
            key = (body.item, body.size, body.unit, body.known_by)
            before = counts.get(key, 0)
            counts[key] = before + body.change
            if counts[key] < 0 and body.change < 0:
                found.append(
                    Conflict(
                        "less than none",
                        entry,
                        None,
                        f"Entry {entry.number} takes {-body.change} {body.item} out of the drawer"
                        f" where {before} lay.",
                    )
                )
        return found
