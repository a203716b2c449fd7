"""What every handler works with: the book, the clock, who writes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from starlette.requests import Request

if TYPE_CHECKING:
    from tickover.book.store import Store


def system_clock() -> str:
    """Now, in universal time, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


@dataclass(frozen=True, slots=True)
class Bench:
    """The surroundings of the pages.

    Parameters
    ----------
    store : Store
        The book.
    clock : callable
        Gives now as ISO 8601 in universal time.
    by : str
        Who writes entries made on these pages.
    open_demo : callable or None
        Puts the demo build into a store and gives its id; None: not offered.
    """

    store: Store
    clock: Callable[[], str]
    by: str
    open_demo: Callable[[Store], str] | None = None


def bench_of(request: Request) -> Bench:
    """The bench a request belongs to."""
    bench: Bench = request.app.state.bench
    return bench
