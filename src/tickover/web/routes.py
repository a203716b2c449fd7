"""Every address of the web face, on one page.

`look` is for reading. `write` reads the form, checks its token and only then calls the handler
with (request, form): no handler can forget it, and none is asked twice for one press.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route

from tickover.web.assets import Assets
from tickover.web.forms import Form, read_form
from tickover.web.handlers import (
    balance,
    book,
    build,
    builds,
    charging,
    checks,
    compression,
    drawer,
    engine,
    exchange,
    faults,
    fit,
    fits,
    guide,
    listen,
    live,
    loose,
    measured,
    mixture,
    noise,
    phones,
    pictures,
    proving,
    quick,
    record,
    runin,
    sheets,
    shopping,
    speed,
    start,
    stopwatch,
    strobe,
    theme,
    valves,
    wiring,
)
from tickover.web.once import answer_once
from tickover.web.posted import read_posted


def look(path: str, handler: Callable[[Request], Response]) -> Route:
    """A page to read; runs in a thread, as the book's storage blocks."""
    return Route(path, handler, methods=["GET"])


def write(path: str, handler: Callable[[Request, Form], Response]) -> Route:
    """A form to take in."""

    async def take_in(request: Request) -> Response:
        form = await read_form(request)
        return await run_in_threadpool(answer_once, request, form, handler)

    return Route(path, take_in, methods=["POST"], name=handler.__name__)


def send(path: str, handler: Callable[[Request, Any], Response]) -> Route:
    """What a script of our pages sends as JSON, its token in a header."""

    async def take_in(request: Request) -> Response:
        posted = await read_posted(request)
        return await run_in_threadpool(handler, request, posted)

    return Route(path, take_in, methods=["POST"], name=handler.__name__)


def routes() -> list[BaseRoute]:
    """The table."""
    return [
        look("/", builds.show),
        write("/builds", builds.create),
        look("/new", guide.new),
        write("/new", guide.begin),
        write("/new/like", guide.begin_like),
        write("/import", exchange.bring_in),
        write("/demo", builds.open_demo),
        look("/phones", phones.show),
        write("/phones/code", phones.renew),
        write("/phones/revoke", phones.revoke),
        look("/pair", phones.ask),
        write("/pair", phones.pair),
        look("/builds/{build}", build.show),
        look("/builds/{build}/last", live.last),
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
        look("/builds/{build}/guide", guide.show),
        write("/builds/{build}/guide", guide.keep),
        look("/builds/{build}/guide/limits", guide.limits),
        write("/builds/{build}/guide/limits", guide.take_in),
        look("/builds/{build}/valves", valves.show),
        look("/builds/{build}/valves/all", valves.sheet),
        write("/builds/{build}/valves/all", valves.keep_all),
        write("/builds/{build}/valves/fitted", valves.fitted),
        look("/builds/{build}/valves/{place}", valves.one),
        write("/builds/{build}/valves/{place}", valves.keep_reading),
        write("/builds/{build}/valves/{place}/shim", valves.keep_shim),
        look("/builds/{build}/compression", compression.show),
        write("/builds/{build}/compression", compression.keep),
        look("/builds/{build}/ratio", measured.ratio),
        write("/builds/{build}/ratio", measured.keep_volume),
        look("/builds/{build}/cam-timing", measured.timing),
        write("/builds/{build}/cam-timing", measured.keep_event),
        look("/builds/{build}/charging", charging.show),
        write("/builds/{build}/charging", charging.keep),
        look("/builds/{build}/speed", speed.show),
        write("/builds/{build}/speed/timed", speed.timed),
        write("/builds/{build}/speed/rolled", speed.rolled),
        write("/builds/{build}/speed/changed", speed.changed),
        write("/builds/{build}/speed/track", speed.read_track),
        write("/builds/{build}/speed/keep", speed.keep_track),
        look("/builds/{build}/noise", noise.show),
        write("/builds/{build}/noise", noise.keep),
        write("/builds/{build}/noise/work", noise.work),
        look("/builds/{build}/fit", fit.show),
        write("/builds/{build}/fit", fit.record),
        write("/builds/{build}/fit/accept", fit.accept),
        look("/builds/{build}/start", start.show),
        write("/builds/{build}/start", start.write_down),
        look("/builds/{build}/stopwatch", stopwatch.show),
        write("/builds/{build}/stopwatch", stopwatch.touch),
        look("/builds/{build}/stopwatch-worker.js", stopwatch.worker),
        send("/builds/{build}/observations", stopwatch.observe),
        look("/builds/{build}/why", faults.show),
        write("/builds/{build}/why", faults.answer),
        write("/builds/{build}/why/begin", faults.begin),
        write("/builds/{build}/why/looked", faults.looked),
        write("/builds/{build}/why/strike", faults.strike),
        look("/builds/{build}/shopping", shopping.show),
        write("/builds/{build}/shopping", shopping.add),
        write("/builds/{build}/shopping/arrived", shopping.arrived),
        write("/builds/{build}/shopping/strike", shopping.strike),
        look("/builds/{build}/run-in", runin.show),
        look("/builds/{build}/run-in.ics", runin.calendar),
        write("/builds/{build}/run-in", runin.keep_run),
        write("/builds/{build}/run-in/heat-cycle", runin.heat_cycle),
        write("/builds/{build}/run-in/use", runin.keep_use),
        write("/builds/{build}/run-in/done", runin.done),
        look("/builds/{build}/checks", checks.show),
        look("/builds/{build}/check", checks.one),
        write("/builds/{build}/check", checks.answer),
        write("/builds/{build}/check/accept", checks.accept),
        write("/builds/{build}/check/strike", checks.strike),
        write("/builds/{build}/check/picture", checks.picture),
        look("/builds/{build}/mixture", mixture.show),
        write("/builds/{build}/mixture", mixture.keep),
        write("/builds/{build}/mixture/change", mixture.change),
        write("/builds/{build}/mixture/air", mixture.breathe),
        write("/builds/{build}/mixture/log", mixture.log),
        write("/builds/{build}/mixture/buy", mixture.buy),
        look("/builds/{build}/balance", balance.show),
        write("/builds/{build}/balance", balance.keep),
        write("/builds/{build}/balance/turned", balance.turned),
        look("/builds/{build}/strobe", strobe.show),
        write("/builds/{build}/strobe", strobe.keep),
        look("/builds/{build}/fits", fits.show),
        write("/builds/{build}/fits", fits.keep),
        look("/builds/{build}/fasteners", fits.fasteners),
        write("/builds/{build}/fasteners", fits.tighten),
        look("/builds/{build}/controls", fits.controls),
        write("/builds/{build}/controls", fits.keep_control),
        look("/builds/{build}/proving", proving.show),
        look("/builds/{build}/wiring", wiring.show),
        write("/builds/{build}/wiring", wiring.add),
        look("/builds/{build}/wiring/loom", wiring.loom),
        look("/builds/{build}/wiring/board.svg", wiring.board),
        look("/builds/{build}/wiring/test", wiring.test),
        write("/builds/{build}/wiring/test", wiring.keep),
        look("/builds/{build}/loose-ends", loose.show),
        write("/builds/{build}/loose-ends", loose.open_end),
        write("/builds/{build}/loose-ends/close", loose.close_end),
        look("/builds/{build}/pictures", pictures.show),
        write("/builds/{build}/pictures", pictures.add),
        write("/builds/{build}/pictures/strike", pictures.strike),
        look("/builds/{build}/pictures/{sha256}", pictures.one),
        look("/builds/{build}/pictures/{sha256}/small", pictures.small),
        look("/builds/{build}/quick", quick.show),
        write("/builds/{build}/quick", quick.read),
        write("/builds/{build}/quick/keep", quick.keep),
        look("/builds/{build}/listen", listen.show),
        write("/builds/{build}/listen", listen.keep),
        write("/builds/{build}/listen/weak", listen.name_weak),
        write("/builds/{build}/listen/delete", listen.delete),
        look("/builds/{build}/listen/{entry}.flac", listen.sound),
        look("/builds/{build}/record", record.show),
        look("/builds/{build}/record.pdf", record.pdf),
        look("/builds/{build}/record.html", record.html),
        look("/builds/{build}/export.zip", exchange.export),
        look("/builds/{build}/sheets", sheets.show),
        look("/builds/{build}/sheets/{sheet}.pdf", sheets.pdf),
        look("/builds/{build}/readings.csv", exchange.readings),
        write("/theme", theme.choose),
        Mount("/static", Assets(), name="static"),
    ]
