"""The compression test: what the gauge should say, entry of readings, causes, what next."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import compression_page_of
from tickover.pages.compression import CompressionPage, climb_in_unit
from tickover.pages.drawing.compression_pictures import climb_picture
from tickover.tasks.compression import Conditions
from tickover.tasks.compression.in_book import compression_book, cylinder_places, reading_entry
from tickover.tasks.compression.tables import KINDS, condition
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.refusals import MissingError
from tickover.web.render import see

STATES = ("out", "undecided", "stale", "open", "good", "accepted")
HEARD = ("", "inlet", "exhaust", "crankcase", "neighbour", "nowhere")
DAY_FIELDS = (
    ("altitude", "workshop above the sea", "m"),
    ("cranking speed", "cranking speed", "rpm"),
    ("slow speed", "slower speed", "rpm"),
    ("strokes", "strokes counted", ""),
    ("oil", "oil for the wet test", "cc"),
    ("master jet", "master jet of the tester", "mm"),
    ("supply", "supply of the tester", "psi"),
)
"""What may be said about the test: kind, words, unit meant."""


def show(request: Request) -> Response:
    """GET /builds/{build}/compression: the page; ?at=cyl2 puts that cylinder into the form."""
    opened = open_build(request)
    at = request.query_params.get("at", "")
    places = cylinder_places(opened.engine_file)
    if at and at not in places:
        raise MissingError(f"There is no cylinder '{at}' on this engine")
    return _draw(request, opened, at)


def _page_of(opened: Opened) -> CompressionPage | InputError:
    try:
        return compression_page_of(opened.row, opened.state)
    except InputError as error:
        return error


def _draw(
    request: Request,
    opened: Opened,
    at: str,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
    day_error: InputError | None = None,
) -> Response:
    made = _page_of(opened)
    found = made if isinstance(made, CompressionPage) else None
    refused = made if isinstance(made, InputError) else None
    places = cylinder_places(opened.engine_file)
    counts: list[tuple[str, int]] = []
    pictures: tuple[tuple[str, str], ...] = ()
    if found is not None:
        counts = [(word, sum(line.state == word for line in found.lines)) for word in STATES]
        pictures = both_widths(lambda width: climb_picture(found, width=width))
        open_ones = [line.place for line in found.lines if line.state in ("open", "stale")]
        at = at or (open_ones[0] if open_ones else "")
    return draw(
        request,
        opened,
        "compression.html",
        status,
        found=found,
        refused=refused,
        swept=opened.engine_file.engine.swept_m3 is not None,
        here=f"{opened.home}/compression",
        pictures=pictures,
        counts=[(word, count) for word, count in counts if count],
        places=places,
        climb=list(zip(*climb_in_unit(found), strict=True)) if found is not None else [],
        at=at or places[0],
        kinds=KINDS,
        heard=HEARD,
        day_fields=DAY_FIELDS,
        unit=opened.engine_file.show.unit("pressure"),
        typed=typed,
        error=error,
        day_error=day_error,
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/compression: keep one reading, go on to the next cylinder."""
    opened = open_build(request)
    places = cylinder_places(opened.engine_file)
    place = form.get("place")
    if place not in places:
        raise MissingError(f"There is no cylinder '{place}' on this engine")
    try:
        day = _day(opened, form)
    except InputError as wrong:
        return _draw(request, opened, place, 422, typed=form, day_error=wrong)
    kind = form.get("kind") or "dry"
    value = form.get("heard") if kind == "air heard at" else form.get("value")
    unit = "" if kind in ("air heard at", "leakdown") else opened.engine_file.show.unit("pressure")
    if kind == "leakdown" and "/" in value:
        value, _, unit = value.partition(" ")
    try:
        if not value:
            raise InputError("Nothing is filled in", allowed="what the dial shows")
        body = reading_entry(place, kind, value, unit, day)
    except InputError as wrong:
        return _draw(request, opened, place, 422, typed=form, error=wrong)
    kept = opened.keep(body)[0]
    after = places[(places.index(place) + 1) % len(places)]
    then = {"at": after, "kept": kept.id}
    return see(f"{opened.home}/compression?{urlencode(then)}#enter")


def _day(opened: Opened, form: Form) -> Conditions:
    """How the test was done: as the book has it, and what the form says."""
    day = compression_book(opened.engine_file, opened.state).day
    for kind, _, _ in DAY_FIELDS:
        typed = form.get(kind)
        if typed:
            day = condition(day, kind, typed, "")
    for kind in ("throttle", "battery", "rings"):
        if form.get(kind):
            day = condition(day, kind, form.get(kind), "")
    return day
