"""A build as a handler needs it: its row, its state, its engine file, its card."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import Response

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.book import entry_words
from tickover.pages.building import engine_of, head_for
from tickover.web.bench import Bench, bench_of
from tickover.web.card import Card
from tickover.web.forms import Form
from tickover.web.refusals import MissingError
from tickover.web.render import page

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.book.chain import BuildRow
    from tickover.book.entries import Draft, Entry
    from tickover.book.state import State

_MOST_NAMED = 4
"""Entries of one press told one by one; of more, how many."""


@dataclass(frozen=True, slots=True)
class Opened:
    """One build, opened for one request."""

    bench: Bench
    row: BuildRow
    state: State

    @property
    def engine_file(self) -> EngineFile:
        """The engine file that counts now; InputError where the build has none."""
        return engine_of(self.state)

    def keep(self, *bodies: Body | Draft) -> tuple[Entry, ...]:
        """Keep entries together, now and in the name of who writes.

        Raises
        ------
        InputError
            The book refuses one of them; then none is kept.
        """
        bench = self.bench
        return bench.store.append(self.row.id, bodies, at=bench.clock(), by=bench.by)

    @property
    def home(self) -> str:
        """Address of the build's page."""
        return f"/builds/{self.row.id}"


def open_build(request: Request) -> Opened:
    """The build named in the address.

    Raises
    ------
    MissingError
        If there is none.
    """
    bench = bench_of(request)
    build_id = request.path_params["build"]
    try:
        return Opened(bench, bench.store.build(build_id), bench.store.state(build_id))
    except InputError as error:
        raise MissingError(f"There is no build '{build_id}' in this book") from error


def card_of(opened: Opened) -> Card:
    """Head and foot of this build's pages."""
    return Card(head_for(opened.row, opened.state), opened.state.last_number)


def draw(
    request: Request,
    opened: Opened,
    template: str,
    status: int = 200,
    *,
    typed: Any = None,
    **context: Any,
) -> Response:
    """A page of this build, with its card, what was just kept (?kept=), what was typed.

    Parameters
    ----------
    request : Request
    opened : Opened
    template : str
        File in templates/.
    status : int
        HTTP status.
    typed : Form or what else the template takes up again, or None
        Of a form that was refused; None: an empty form.
    **context
        What the template draws.
    """
    kept = opened.state.entry(request.query_params.get("kept", ""))
    drawn = {
        "card": card_of(opened),
        "typed": Form() if typed is None else typed,
        "kept": kept,
        "kept_words": _kept_words(kept, opened.state) if kept else "",
    }
    return page(request, template, status, **(drawn | context))


def _kept_words(kept: Entry, state: State) -> str:
    """What one press wrote: its first entry, and those written with it."""
    moment = (kept.at, kept.by)
    after = takewhile(lambda each: (each.at, each.by) == moment, state.entries[kept.number :])
    pressed = (kept, *after)
    words = [entry_words(each, state) for each in pressed[:_MOST_NAMED]]
    if len(pressed) > _MOST_NAMED:
        words.append(f"and {len(pressed) - _MOST_NAMED} more")
    return "; ".join(words)
