"""The book as shown: its entries in words, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

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
from tickover.book.state import State
from tickover.pages.head import Head
from tickover.pages.wording import listed, place_words
from tickover.quantities import show


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry in words."""

    number: int
    id: str
    at: str
    by: str
    kind: str
    words: str
    struck: bool
    struck_because: str
    picture: str = ""
    """The sha256 of the photograph it shows."""


@dataclass(frozen=True, slots=True)
class BookPage:
    """Everything the book page shows."""

    head: Head
    entries: tuple[EntryLine, ...]
    total: int
    search: str
    conflicts: tuple[str, ...]


def entry_words(entry: Entry[Any], state: State) -> str:
    """What an entry says, in one line."""
    body = entry.body
    if isinstance(body, Reading):
        place = f" {place_words(body.place)}" if body.place else ""
        value = body.typed or f"{body.low} to {body.high} {body.unit}"
        if value.startswith("- / "):  # typed with the first field empty: not even this blade goes
            value = f"no gap, not even {value.removeprefix('- / ')}"
        unit = body.conditions.get("unit")
        if isinstance(unit, str) and not any(sign.isalpha() for sign in value):
            value = f"{value} {unit}"  # typed bare, in the unit the build showed then
        by = f" ({body.instrument})" if body.instrument else ""
        return f"{body.what}{place}: {value}{by}"
    if isinstance(body, Work):
        where = f": {listed([place_words(p) for p in body.places])}" if body.places else ""
        size = body.detail.get("size_m")
        source = body.detail.get("source")
        more = f", {show(size, 'mm', 'shim')}" if isinstance(size, float) else ""
        more += f" ({source})" if source else ""
        return f"{body.what}{where}{more}"
    if isinstance(body, LooseEndOpened):
        return f"left open: {body.label}"
    if isinstance(body, LooseEndClosed):
        opened = state.entry(body.entry)
        label = opened.body.label if opened and isinstance(opened.body, LooseEndOpened) else "?"
        return f"closed: {label}"
    if isinstance(body, StrikeOut):
        target = state.entry(body.entry)
        return f"strikes out entry {target.number if target else '?'}: {body.reason}"
    if isinstance(body, Acceptance):
        place = f" {place_words(body.place)}" if body.place else ""
        return f"accepted {body.check}{place}: {body.reason}"
    if isinstance(body, StockChanged):
        size = f" {show(body.size, 'mm', 'shim')}" if body.size and body.unit == "m" else (
            f" {body.size:g}" if body.size else ""
        )  # fmt: skip
        moved = f"{body.change:+d}" if body.change else "price noted"
        note = f", {body.note}" if body.note else ""
        return f"drawer: {body.item}{size} {moved}{note}"
    if isinstance(body, Note):
        return body.text
    if isinstance(body, Picture):
        return f"picture: {body.caption or body.media_type}"
    if isinstance(body, EngineFileKept):
        return f"engine file {body.name}, {len(body.text.splitlines())} lines"
    if isinstance(body, StartAttempt):
        return f"start attempt: {body.outcome}"
    if isinstance(body, Answer):
        return f"{body.question}: {body.answer}"
    return f"an entry of a kind this version does not know ({entry.kind})"


def _picture(entry: Entry[Any]) -> str:
    if isinstance(entry.body, Picture):
        return entry.body.sha256
    return entry.body.picture if isinstance(entry.body, LooseEndOpened) else ""


def book_page(state: State, head: Head, search: str = "") -> BookPage:
    """The entries that hold every word searched for, newest first."""
    wanted = search.casefold().split()
    lines = []
    for entry in reversed(state.entries):
        words = entry_words(entry, state)
        text = f"{entry.number} {entry.at} {entry.by} {entry.kind} {words}".casefold()
        if not all(word in text for word in wanted):
            continue
        struck = state.struck_by(entry.id)
        lines.append(
            EntryLine(
                entry.number, entry.id, entry.at, entry.by, entry.kind, words,
                state.is_struck(entry.id), struck[0].body.reason if struck else "",
                "" if struck else _picture(entry),
            )
        )  # fmt: skip
    return BookPage(
        head, tuple(lines), len(state.entries), search,
        tuple(conflict.text for conflict in state.conflicts),
    )  # fmt: skip
