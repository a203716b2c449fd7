"""A scratch book: readings from a file, folded like those of a kept book."""

from __future__ import annotations

from collections.abc import Iterable

from tickover.book.bodies import Body
from tickover.book.entries import Entry
from tickover.book.fold import fold
from tickover.book.state import State

_AT = "2000-01-01T00:00:00Z"


def scratch_state(bodies: Iterable[Body]) -> State:
    """The state of some entries that are kept nowhere.

    Parameters
    ----------
    bodies : iterable of Body
        In order.

    Returns
    -------
    State
        The same fold as for a kept book, so that files and book cannot say different things.
    """
    return fold(
        Entry(f"{n:032x}", n, body.kind, _AT, _AT, "", body) for n, body in enumerate(bodies, 1)
    )
