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
from tickover.web.handlers import builds, theme


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
        write("/demo", builds.open_demo),
        write("/theme", theme.choose),
        Mount("/static", Assets(), name="static"),
    ]
