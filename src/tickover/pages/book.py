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
from tickover.pages.mixture_words import opening_words
from tickover.pages.wording import listed, place_words
from tickover.quantities import show

_NO_UNIT = ("", "1", "yes")
_AS_TYPED = 1e-9  # the step of a figure turned into SI and back, not a tolerance of measurement


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


def _typed(body: Reading) -> str:
    """What was typed, with the unit it had where none was typed beside it."""
    value = body.typed or f"{body.low} to {body.high} {body.unit}"
    if not any(sign.isalpha() for sign in value):
        unit = body.conditions.get("unit")
        if not isinstance(unit, str):
            unit = _unit_meant(body, value)
        value = f"{value} {unit}".rstrip()
    if value.startswith("- / "):  # the first field was left empty: not even this blade goes
        value = f"no gap, not even {value.removeprefix('- / ')}"
    return value


def _unit_meant(body: Reading, value: str) -> str:
    """The unit of a bare figure: the stored one where the figure is stored as typed, mm for a size.

    Other figures stay bare: which unit the build showed when they were typed is not in the book.
    """
    try:
        figure = float(value.replace(",", "."))
    except ValueError:
        return ""
    if body.low is None or body.unit in _NO_UNIT:
        return ""
    if abs(figure - body.low) < _AS_TYPED:
        return body.unit
    return "mm" if body.unit == "m" and abs(1e-3 * figure - body.low) < _AS_TYPED else ""


def _held_at(body: Reading) -> str:
    """Where on the throttle a reading was taken, where that is what tells it from the next."""
    opening, speed = body.conditions.get("opening"), body.conditions.get("speed_rpm")
    if not isinstance(opening, float) or len(body.typed.split()) > 2:  # a whole line says it itself
        return ""
    held = f" at {opening_words(opening)}"
    return f"{held}, {speed:.0f} rpm" if isinstance(speed, float) else held


def entry_words(entry: Entry[Any], state: State) -> str:
    """What an entry says, in one line."""
    body = entry.body
    if isinstance(body, Reading):
        place = f" {place_words(body.place)}" if body.place else ""
        by = f" ({body.instrument})" if body.instrument else ""
        return f"{body.what}{place}{_held_at(body)}: {_typed(body)}{by}"
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
