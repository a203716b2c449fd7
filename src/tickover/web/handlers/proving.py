"""Oil, timing, fuel and switches: what to expect, what was found."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import engine_of, head_for
from tickover.pages.fuel import FuelPage, fuel_page
from tickover.pages.ignition import IgnitionPage, ignition_page, timing_line
from tickover.pages.oil import OilPage, oil_page
from tickover.pages.starting import StartingPage, starting_page
from tickover.tasks.ignition import timing_degrees
from tickover.web.opened import Opened, draw, open_build

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow
    from tickover.book.state import State


def show(request: Request) -> Response:
    """GET /builds/{build}/proving: ?timing= one more angle to see in its three forms."""
    opened = open_build(request)
    typed = request.query_params.get("timing", "").strip()[:40]
    degrees, error = None, None
    if typed:
        try:
            degrees = _degrees(opened, typed)
        except InputError as wrong:
            error = wrong
    engine = opened.engine_file
    oil, ignition, fuel, starting = _pages(opened.row, opened.state)
    every = (*starting.cautions, *ignition.cautions, *oil.cautions, *fuel.cautions)
    return draw(
        request,
        opened,
        "proving.html",
        422 if error else 200,
        here=f"{opened.home}/proving",
        oil=oil,
        ignition=ignition,
        fuel=fuel,
        starting=starting,
        asked=timing_line(engine, "asked", degrees) if degrees is not None else None,
        timing=typed,
        error=error,
        cautions_all=tuple(dict.fromkeys(every)),
    )


@lru_cache(maxsize=16)
def _pages(build: BuildRow, state: State) -> tuple[OilPage, IgnitionPage, FuelPage, StartingPage]:
    """The four pages; worked out once for each state of the book."""
    engine, head = engine_of(state), head_for(build, state)
    return (
        oil_page(engine, state, head),
        ignition_page(engine, state, head),
        fuel_page(engine, state, head),
        starting_page(engine, state, head),
    )


def _degrees(opened: Opened, typed: str) -> float:
    """Crank degrees before top dead centre, however they were typed [deg]."""
    try:
        return timing_degrees(opened.engine_file, typed, "Timing")
    except InputError:
        if any(word in typed for word in ("drop", "arc")):
            raise
        raise InputError(
            "This is no timing", given=typed, allowed="degrees, a piston drop or an arc",
            instead="'12', '1.8 mm drop' or '10 mm arc'",
        ) from None  # fmt: skip
