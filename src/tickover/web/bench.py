"""What every handler works with: the book, the clock, who writes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from starlette.requests import Request

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow
    from tickover.book.state import State
    from tickover.book.store import Store

    PrintSheet = Callable[[str, BuildRow, State, Callable[[str], bytes]], bytes]


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
    sheets : mapping of str to str
        Names of the sheets that can be printed, and what each is for.
    print_sheet : callable or None
        Makes one of them as PDF from (name, build, state, what gives a picture by its sha256).
    """

    store: Store
    clock: Callable[[], str]
    by: str
    open_demo: Callable[[Store], str] | None = None
    sheets: Mapping[str, str] = field(default_factory=dict)
    print_sheet: PrintSheet | None = None


def bench_of(request: Request) -> Bench:
    """The bench a request belongs to."""
    bench: Bench = request.app.state.bench
    return bench
