"""Every address of the web face, on one page.

`look` is for reading. `write` reads the form, checks its token and only then calls the handler
with (request, form): no handler can forget it.
"""

from __future__ import annotations

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route

from tickover.web.assets import Assets
from tickover.web.forms import Form, read_form
from tickover.web.handlers import book, build, builds, drawer, engine, exchange, theme, valves


def look(path: str, handler: Callable[[Request], Response]) -> Route:
    """A page to read; runs in a thread, as the book's storage blocks."""
    return Route(path, handler, methods=["GET"])


def write(path: str, handler: Callable[[Request, Form], Response]) -> Route:
    """A form to take in."""

    async def take_in(request: Request) -> Response:
        form = await read_form(request)
        return await run_in_threadpool(handler, request, form)

    return Route(path, take_in, methods=["POST"], name=handler.__name__)


def routes() -> list[BaseRoute]:
    """The table."""
    return [
        look("/", builds.show),
        write("/builds", builds.create),
        write("/import", exchange.bring_in),
        write("/demo", builds.open_demo),
        look("/builds/{build}", build.show),
        write("/builds/{build}/loose", build.open_loose_end),
        write("/builds/{build}/loose/close", build.close_loose_end),
        write("/builds/{build}/note", build.note),
        write("/builds/{build}/work", build.work),
        write("/builds/{build}/accept", build.accept),
        look("/builds/{build}/book", book.show),
        write("/builds/{build}/book/strike", book.strike),
        look("/builds/{build}/drawer", drawer.show),
        write("/builds/{build}/drawer", drawer.change),
        look("/builds/{build}/engine", engine.show),
        write("/builds/{build}/engine", engine.keep),
        look("/builds/{build}/valves", valves.show),
        look("/builds/{build}/valves/all", valves.sheet),
        write("/builds/{build}/valves/all", valves.keep_all),
        write("/builds/{build}/valves/fitted", valves.fitted),
        look("/builds/{build}/valves/{place}", valves.one),
        write("/builds/{build}/valves/{place}", valves.keep_reading),
        write("/builds/{build}/valves/{place}/shim", valves.keep_shim),
        look("/builds/{build}/export.zip", exchange.export),
        look("/builds/{build}/sheets/{sheet}.pdf", exchange.sheet),
        look("/builds/{build}/readings.csv", exchange.readings),
        write("/theme", theme.choose),
        Mount("/static", Assets(), name="static"),
    ]
