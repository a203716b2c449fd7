"""What every handler works with: the book, the clock, who writes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from starlette.requests import Request

from tickover.web.once import keeping_once, this_press

if TYPE_CHECKING:
    from tickover.book.store import Store
    from tickover.web.phone.pairing import Pairing


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
    pairing : Pairing or None
        The phones that are let in; None: only this machine is served.
    """

    store: Store
    clock: Callable[[], str]
    by: str
    open_demo: Callable[[Store], str] | None = None
    pairing: Pairing | None = None


def bench_of(request: Request) -> Bench:
    """The bench a request belongs to.

    What a paired phone writes bears its name, and a button pressed twice writes once.
    """
    bench: Bench = request.app.state.bench
    phone = getattr(request.state, "phone", None)
    if phone is not None:
        bench = replace(bench, by=f"{phone.name} (phone)")
    press = this_press(request)
    if press is not None:
        bench = replace(bench, store=keeping_once(bench.store, press))
    return bench
