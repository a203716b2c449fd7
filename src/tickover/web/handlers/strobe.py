"""Timing under the strobe: readings at speeds beside the book's curve, and how far to move."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import strobe_page_of
from tickover.pages.strobe import CAUTIONS, strobe_picture
from tickover.quantities import parse
from tickover.tasks.listen.in_book import heard_idle
from tickover.tasks.strobe import HEARD, heard_entry, strobe_entry
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.render import see

if TYPE_CHECKING:
    from tickover.pages.strobe import StrobePage

HEADS = ("rpm", "read", "wanted", "off", "after")
TURNS_WITH = ("camshaft", "crankshaft")


def show(request: Request) -> Response:
    """GET /builds/{build}/strobe; ?plate=crankshaft&radius=35+mm says how the plate turns."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    asked = request.query_params
    plate = asked.get("plate", TURNS_WITH[0])
    plate = plate if plate in TURNS_WITH else TURNS_WITH[0]
    radius, radius_error = asked.get("radius", "").strip(), None
    metres = None
    if radius:
        try:
            metres = parse(radius, "length", "mm", "The radius").value_si
        except InputError as wrong:
            radius_error = wrong
    found: StrobePage | None = None
    missing = None
    table = opened.engine_file.ignition
    try:
        found = strobe_page_of(opened.state, plate, metres)
    except InputError as wrong:
        missing = wrong
    return draw(
        request,
        opened,
        "strobe.html",
        422 if radius_error else status,
        found=found,
        missing=missing,
        ignition=table is not None,
        curve=table is not None and bool(table.advance),
        here=f"{opened.home}/strobe",
        pictures=both_widths(lambda w: strobe_picture(found, width=w)) if found else (),
        heads=HEADS,
        idle=heard_idle(opened.state),
        turns_with=[(word, f"the {word}") for word in TURNS_WITH],
        plate=plate,
        radius=radius,
        radius_error=radius_error,
        cautions_said=CAUTIONS,
        typed=typed,
        error=error,
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/strobe: one reading, a speed and degrees before the top."""
    opened = open_build(request)
    try:
        engine, speed = opened.engine_file, form.get("speed")
        if form.get("at") == HEARD or speed.casefold() == HEARD:
            body = heard_entry(engine, form.get("degrees"), heard_idle(opened.state))
        else:
            body = strobe_entry(engine, speed, form.get("degrees"))
        entry = opened.keep(body)[0]
    except InputError as wrong:
        return _draw(request, opened, 422, typed=form, error=wrong)
    return see(f"{opened.home}/strobe?{urlencode({'kept': entry.id})}#enter")
