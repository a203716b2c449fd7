"""Loose ends: what is left off on purpose, who left it and who put it back."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


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
