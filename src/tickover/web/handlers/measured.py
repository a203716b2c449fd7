"""Compression ratio by burette and cam timing by degree wheel: one reading after the other."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Reading
from tickover.errors import InputError
from tickover.pages.building import ratio_page_of, timing_page_of
from tickover.pages.measured import RatioPage, TimingPage
from tickover.pages.wording import place_words
from tickover.tasks.compression.in_book import cylinder_places
from tickover.tasks.compression.measured_entries import (
    VOLUMES,
    WHEEL,
    volume_entry,
    wheel_entry,
)
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see

ALL = "all cylinders"
_VOLUME_HINT = (
    "Chamber and dome in cc, the rest in mm; with its give or take as 15.9 +- 0.2. A dish, and a "
    "piston above the barrel, with a minus sign."
)
_WHEEL_HINT = (
    "Inlet: opens before top, closes after bottom. Exhaust: opens before bottom, closes after top. "
    "The other side with words, as 8 deg ATDC. The piston stop as the wheel shows it."
)


_RATIO = ("ratio", tuple(VOLUMES), _VOLUME_HINT, "what was measured")
_WHEEL = ("cam-timing", tuple(WHEEL), _WHEEL_HINT, "degrees on the wheel")
_Row = tuple[str, str, str, Sequence[str]]


def ratio(request: Request) -> Response:
    """GET /builds/{build}/ratio: volumes, ratio, needle; ?kind= and ?at= fill the form."""
    return _draw(request, open_build(request), wheel=False)


def timing(request: Request) -> Response:
    """GET /builds/{build}/cam-timing: events, lobe centres, teeth; ?kind= fills the form."""
    return _draw(request, open_build(request), wheel=True)


def keep_volume(request: Request, form: Form) -> Response:
    """POST /builds/{build}/ratio: keep one volume or length, go on to the next."""
    return _keep(request, form, wheel=False)


def keep_event(request: Request, form: Form) -> Response:
    """POST /builds/{build}/cam-timing: keep one reading of the wheel, go on to the next."""
    return _keep(request, form, wheel=True)


def _keep(request: Request, form: Form, *, wheel: bool) -> Response:
    opened = open_build(request)
    name, kinds, _, _ = _WHEEL if wheel else _RATIO
    kind, place = form.get("kind") or kinds[0], form.get("place")
    if place and place != ALL and place not in cylinder_places(opened.engine_file):
        raise MissingError(f"There is no cylinder '{place}' on this engine")
    try:
        body = _body("" if place == ALL else place, kind, form.get("value"), wheel=wheel)
    except InputError as wrong:
        return _draw(request, opened, 422, wheel=wheel, typed=form, error=wrong)
    kept = opened.keep(body)[0]
    after = kinds[(kinds.index(kind) + 1) % len(kinds)] if kind in kinds else kinds[0]
    then = {"kind": after, "at": place, "kept": kept.id}
    return see(f"{opened.home}/{name}?{urlencode(then)}#enter")


def _body(place: str, kind: str, value: str, *, wheel: bool) -> Reading:
    if not value:
        raise InputError("Nothing is filled in", allowed="what was measured")
    return wheel_entry(kind, value) if wheel else volume_entry(place, kind, value)


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    wheel: bool,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    name, kinds, hint, label = _WHEEL if wheel else _RATIO
    asked = request.query_params
    found: RatioPage | TimingPage
    rows: list[_Row]
    if wheel:
        found = timing_page_of(opened.row, opened.state)
        rows = [(who, state, words, facts) for who, state, words, facts in found.lines]
    else:
        found = ratio_page_of(opened.row, opened.state)
        rows = _ratio_rows(found)
    shown = typed or Form()
    places = () if wheel else (*cylinder_places(opened.engine_file), ALL)
    return draw(
        request,
        opened,
        "measured.html",
        status,
        found=found,
        rows=rows,
        here=f"{opened.home}/{name}",
        kinds=kinds,
        places=places,
        kind=shown.get("kind") or asked.get("kind", ""),
        at=shown.get("place") or asked.get("at", ""),
        hint=hint,
        label=label,
        typed=shown,
        error=error,
    )


def _ratio_rows(found: RatioPage) -> list[_Row]:
    rows: list[_Row] = []
    for each in found.found:
        made = each.measured
        facts = [f"{1e6 * made.clearance:.2f} cc above the piston at the top"]
        facts += [f"{sd:.3f} of the give or take from {words}" for words, sd in made.shares]
        rows.append((place_words(each.place), each.state, each.sentence, facts))
    rows += [(place_words(place), "undecided", why, ()) for place, why in found.refused]
    return rows
