"""From entries to the state of a build: a pure fold, whole or piece by piece, same answer.

    entries 1..n  --fold-->  State  --fold(new, state)-->  State

Folding only sorts entries by what they are and follows strike-outs; what closes what and what
contradicts what is worked out when asked. The state given is never changed.
"""

from __future__ import annotations

from collections.abc import Iterable

from tickover.book.entries import Entry
from tickover.book.index import Index
from tickover.book.state import Conflict, LooseEnd, State, StockRow

__all__ = ["Conflict", "LooseEnd", "State", "StockRow", "fold"]


def fold(entries: Iterable[Entry], state: State | None = None) -> State:
    """The state of a build after its entries.

    Parameters
    ----------
    entries : iterable of Entry
        In rising order of number. An entry whose id is already in the state is passed over.
    state : State or None
        What earlier entries gave; it stays as it is. None: the start of a build.

    Returns
    -------
    State
        `fold(a + b) == fold(b, fold(a))` for any cut.

    Raises
    ------
    InputError
        A number does not rise.

    Examples
    --------
    >>> from tickover.book.entries import Note, number_entries
    >>> kept = number_entries([Note("head off")], at="2031-04-05T18:30:00Z", by="Ada")
    >>> fold(kept).last_number
    1
    """
    index: Index | None = None
    for entry in entries:
        if index is None:
            index = state.index.copy() if state is not None else Index()
        index.add(entry)
    if index is None:
        return state if state is not None else State()
    index.settle()
    return State(index)
