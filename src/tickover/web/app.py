"""The application: routes, guard and errors put together."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.middleware import Middleware

from tickover.web.bench import Bench, system_clock
from tickover.web.guard import LOOPBACK, Guard
from tickover.web.phone.gate import PhoneGate
from tickover.web.refusals import HANDLERS, refuse
from tickover.web.routes import routes
from tickover.web.undescribed import UndescribedError, on_undescribed

if TYPE_CHECKING:
    from tickover.book.store import Store
    from tickover.web.phone.pairing import Pairing

LARGEST_BODY = 32_000_000  # a build with its pictures [bytes]


def create_app(
    store: Store,
    *,
    clock: Callable[[], str] | None = None,
    by: str = "web",
    hosts: Iterable[str] = (),
    largest_body: int = LARGEST_BODY,
    open_demo: Callable[[Store], str] | None = None,
    pairing: Pairing | None = None,
) -> Starlette:
    """The web face of one book.

    Parameters
    ----------
    store : Store
        The book to read and append to.
    clock : callable or None
        Gives the time of an entry as ISO 8601; the system's clock when left out.
    by : str
        Who writes entries made on these pages.
    hosts : iterable of str
        Names to answer to besides the loopback ones.
    largest_body : int
        Largest request that is read [bytes].
    open_demo : callable or None
        Puts the demo build into the store and gives its id.
    pairing : Pairing or None
        The phones that are let in; None: only this machine is served.

    Returns
    -------
    Starlette
    """
    guard = Middleware(Guard, refuse=refuse, hosts=(*LOOPBACK, *hosts), largest_body=largest_body)
    gate = Middleware(PhoneGate, refuse=refuse, pairing=pairing)
    handlers = {**HANDLERS, UndescribedError: on_undescribed}
    app = Starlette(routes=routes(), middleware=[guard, gate], exception_handlers=handlers)
    app.state.bench = Bench(store, clock or system_clock, by, open_demo, pairing)
    return app
