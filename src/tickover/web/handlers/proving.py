"""Oil, timing, fuel and switches: what to expect, what was found."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import head_for
from tickover.pages.fuel import fuel_page
from tickover.pages.ignition import ignition_page, timing_line
from tickover.pages.oil import oil_page
from tickover.pages.starting import starting_page
from tickover.tasks.ignition import timing_degrees
from tickover.web.opened import Opened, card_of, open_build
from tickover.web.render import page


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
    engine, state = opened.engine_file, opened.state
    head = head_for(opened.row, state)
    oil = oil_page(engine, state, head)
    ignition = ignition_page(engine, state, head)
    fuel = fuel_page(engine, state, head)
    starting = starting_page(engine, state, head)
    every = (*starting.cautions, *ignition.cautions, *oil.cautions, *fuel.cautions)
    return page(
        request,
        "proving.html",
        422 if error else 200,
        card=card_of(opened),
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
