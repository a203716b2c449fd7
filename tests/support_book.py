"""A book in memory for tests: entries numbered as a store would number them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tickover.book.bodies import EngineFileKept
from tickover.book.entries import Entry, new_id
from tickover.book.fold import fold
from tickover.book.state import State

AT = "2026-03-02T18:00:00+00:00"


def state_of(bodies: Iterable[Any], engine_text: str = "") -> State:
    """The state after these bodies, kept in this order."""
    first = [EngineFileKept(engine_text, "engine.toml")] if engine_text else []
    entries = [
        Entry(new_id(), number, body.kind, AT, AT, "test", body)
        for number, body in enumerate([*first, *bodies], 1)
    ]
    return fold(entries)


def more(state: State, *bodies: Any) -> State:
    """The state after further bodies."""
    start = state.last_number
    entries = [
        Entry(new_id(), start + n, body.kind, AT, AT, "test", body)
        for n, body in enumerate(bodies, 1)
    ]
    return fold(entries, state)
