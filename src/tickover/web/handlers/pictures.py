"""Photographs of a build: looked at, added with a word or two, struck out."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import StrikeOut
from tickover.book.photographs import media_type
from tickover.errors import InputError
from tickover.pages.building import pictures_page_of
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.photographs import needs_one, picture_body, sent_picture, small_picture
from tickover.web.refusals import MissingError
from tickover.web.render import see
from tickover.web.striking import strike_out

_FOR_A_YEAR = {"cache-control": "private, max-age=31536000, immutable"}


def show(request: Request) -> Response:
    """GET /builds/{build}/pictures."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
    strike_error: tuple[str, InputError] | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "pictures.html",
        status,
        found=pictures_page_of(opened.row, opened.state),
        here=f"{opened.home}/pictures",
        typed=typed,
        error=error,
        strike_error=strike_error,
    )


def add(request: Request, form: Form) -> Response:
    """POST /builds/{build}/pictures: one photograph, with or without words."""
    opened = open_build(request)
    try:
        data = sent_picture(form)
        needs_one(data)
        body = picture_body(opened, data, form.get("caption"))
        opened.keep(body)
    except InputError as error:
        return _draw(request, opened, 422, typed=form, error=error)
    return see(f"{opened.home}/pictures")


def strike(request: Request, form: Form) -> Response:
    """POST /builds/{build}/pictures/strike: it is shown no more; with a tick it is gone as well."""
    opened = open_build(request)
    shown = {entry.id: entry.body for entry in opened.state.pictures()}
    try:
        if form.get("gone") == "yes" and form.get("entry") in shown:
            _forget(opened, form, shown[form.get("entry")].sha256)
        else:
            strike_out(opened, form, shown)
    except InputError as error:
        return _draw(request, opened, 422, typed=form, strike_error=(form.get("entry"), error))
    return see(f"{opened.home}/pictures")


def _forget(opened: Opened, form: Form, sha256: str) -> None:
    """Strike a picture out and delete its bytes, both or neither."""
    named = [e for e in opened.state.pictures() if e.body.sha256 == sha256]
    ends = [end for end in opened.state.loose_ends if end.opened.body.picture == sha256]
    if len(named) + len(ends) > 1:
        raise InputError(
            "Another entry shows the same picture",
            allowed="one shown once; strike the others out first, without the tick",
        )
    bench = opened.bench
    body = StrikeOut(form.get("entry"), form.get("reason"))
    bench.store.forget_blob(opened.row.id, sha256, body, at=bench.clock(), by=bench.by)
    small_picture.cache_clear()


def one(request: Request) -> Response:
    """GET /builds/{build}/pictures/{sha256}: a picture of this build, and of no other."""
    opened, name = _named(request)
    try:
        data = opened.bench.store.get_blob(name)
    except InputError as error:
        raise MissingError("The book names this picture but does not hold it") from error
    kind = media_type(data)
    if not kind:
        raise MissingError("This is kept in the build, but it is no picture")
    return Response(data, media_type=kind, headers=_FOR_A_YEAR)


def small(request: Request) -> Response:
    """GET /builds/{build}/pictures/{sha256}/small: the same, for a list on a phone."""
    opened, name = _named(request)
    try:
        data = small_picture(opened.bench.store, name)
    except InputError as error:
        raise MissingError("There is no such picture to show") from error
    return Response(data, media_type="image/jpeg", headers=_FOR_A_YEAR)


def _named(request: Request) -> tuple[Opened, str]:
    opened = open_build(request)
    name = request.path_params["sha256"]
    named = {entry.body.sha256 for entry in opened.state.pictures()}
    named |= {end.opened.body.picture for end in opened.state.loose_ends}
    if not name or name not in named:
        raise MissingError("There is no such picture in this build")
    return opened, name
