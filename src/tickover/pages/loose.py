"""Loose ends: what is left off on purpose, who left it and who put it back."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import LooseEnd, State
from tickover.pages.head import Head
from tickover.pages.wording import count_words, sentence
from tickover.plan.fit import LOOSE_END

COMMON = (
    "oil line off",
    "oil filter not filled",
    "silencers off",
    "air filter off",
    "breather hose off",
    "spark plug out",
    "plug lead off",
    "fuel line off",
    "fuel tap propped open",
    "kill switch bypassed",
    "side-stand switch bridged",
    "vacuum port open",
    "rag in a port",
    "guard off",
    "nuts only hand tight",
    "battery earth off",
)
"""What is often left off on purpose, in our own words."""


@dataclass(frozen=True, slots=True)
class CommonEnd:
    """One that is often left off, to be opened with one touch; `open_already` if it is."""

    label: str
    open_already: bool


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """An open loose end; `accepted` is the reason a person gave, '' without one."""

    id: str
    number: int
    label: str
    place: str
    by: str
    since: str
    picture: str
    accepted: str


@dataclass(frozen=True, slots=True)
class ClosedEnd:
    """A closed one: who opened and who closed it, and when; `again` says who closed it too."""

    id: str
    number: int
    label: str
    place: str
    by: str
    since: str
    closed_by: str
    closed_at: str
    again: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoosePage:
    """Everything the page of loose ends shows."""

    head: Head
    title: str
    sentence: str
    common: tuple[CommonEnd, ...]
    open: tuple[OpenEnd, ...]
    closed: tuple[ClosedEnd, ...]
    conflicts: tuple[str, ...]


def loose_page(state: State, head: Head) -> LoosePage:
    """Open and closed loose ends, and what contradicts."""
    open_now = {end.opened.body.label.casefold() for end in state.open_loose_ends}
    count = len(state.open_loose_ends)
    if count:
        said = sentence(f"{count_words(count)} {'is' if count == 1 else 'are'} open")
    else:
        said = "No loose end is open."
    kinds = ("already closed", "not a loose end", "unknown entry")
    return LoosePage(
        head=head,
        title="Loose ends",
        sentence=said,
        common=tuple(CommonEnd(label, label in open_now) for label in COMMON),
        open=tuple(_open(end, state) for end in state.open_loose_ends),
        closed=tuple(_closed(end) for end in reversed(state.closed_loose_ends)),
        conflicts=tuple(c.text for c in state.conflicts if c.kind in kinds),
    )


def _open(end: LooseEnd, state: State) -> OpenEnd:
    acceptance = state.acceptance(LOOSE_END, end.id)
    accepted = ""
    if acceptance is not None and acceptance.number > end.opened.number:
        accepted = f"{acceptance.body.reason} ({acceptance.by})"
    opened = end.opened
    pictures = state.pictures(opened.id)
    picture = opened.body.picture or (pictures[-1].body.sha256 if pictures else "")
    return OpenEnd(
        end.id, opened.number, opened.body.label, opened.body.place, opened.by, opened.at, picture,
        accepted,
    )  # fmt: skip


def _closed(end: LooseEnd) -> ClosedEnd:
    opened, closed = end.opened, end.closed
    assert closed is not None
    return ClosedEnd(
        end.id, opened.number, opened.body.label, opened.body.place, opened.by, opened.at,
        closed.by, closed.at,
        tuple(f"{again.by} (entry {again.number})" for again in end.closed_again),
    )  # fmt: skip
