"""Loose ends: opened in a moment, closed when it is back, with a picture where one helps."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import LooseEndClosed, LooseEndOpened
from tickover.errors import InputError
from tickover.pages.building import loose_page_of
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.photographs import sent_picture
from tickover.web.refusals import MissingError
from tickover.web.render import see


def show(request: Request) -> Response:
    """GET /builds/{build}/loose-ends."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "loose.html",
        status,
        found=loose_page_of(opened.row, opened.state),
        here=f"{opened.home}/loose-ends",
        typed=typed,
        errors=errors or {},
    )


def open_end(request: Request, form: Form) -> Response:
    """POST /builds/{build}/loose-ends: touched or typed, with or without a picture."""
    opened = open_build(request)
    label = form.get("label")
    errors: dict[str, InputError] = {}
    data = b""
    if not label:
        errors["label"] = InputError("Say in a few words what is off, open or bypassed",
                                     instead="'oil line off'")  # fmt: skip
    try:
        data = sent_picture(form)
    except InputError as error:
        errors["picture"] = error
    if not errors:
        try:
            LooseEndOpened(label)  # words first: no picture is kept for an end that is refused
            picture = opened.bench.store.put_blob(data) if data else ""
            opened.keep(LooseEndOpened(label, picture=picture))
        except InputError as error:
            errors["label"] = error
    if errors:
        return _draw(request, opened, 422, typed=form, errors=errors)
    return see(f"{opened.home}/loose-ends")


def close_end(request: Request, form: Form) -> Response:
    """POST /builds/{build}/loose-ends/close: it is back in place.

    Closed already, by another phone: kept as well, and the page says so.
    """
    opened = open_build(request)
    end_id = form.get("end")
    if end_id not in {end.id for end in opened.state.loose_ends}:
        raise MissingError("There is no such loose end in this build")
    opened.keep(LooseEndClosed(end_id))
    return see(f"{opened.home}/loose-ends")
