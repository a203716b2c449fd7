"""What stands at the top of every page and sheet of a build."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State


@dataclass(frozen=True, slots=True)
class LooseLine:
    """An open loose end: its id, its words, and since when."""

    id: str
    words: str
    since: str


@dataclass(frozen=True, slots=True)
class Head:
    """Whose page it is: build id and name, the stage reached, and what is left open."""

    build_id: str
    name: str
    stage: str
    loose_ends: tuple[LooseLine, ...]


def head_of(build_id: str, name: str, state: State, stage: str = "on the stand") -> Head:
    """The head for a build."""
    ends = tuple(
        LooseLine(end.id, end.opened.body.label, end.opened.at[:10])
        for end in state.open_loose_ends
    )
    return Head(build_id, name, stage, ends)
