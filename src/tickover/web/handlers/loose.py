"""Loose ends: opened in a moment, closed when it is back, with a picture where one helps."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import LooseEndClosed, LooseEndOpened
from tickover.errors import InputError
from tickover.pages.building import loose_page_of
from tickover.web.forms import Form
from tickover.web.once import entry_id, fresh, keep_once
from tickover.web.opened import Opened, card_of, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import page, see
from tickover.web.snapshots import kept_picture, media_type


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
    return page(
        request,
        "loose.html",
        status,
        card=card_of(opened),
        found=loose_page_of(opened.row, opened.state),
        here=f"{opened.home}/loose-ends",
        once=fresh(),
        typed=typed or Form(),
        errors=errors or {},
    )


def open_end(request: Request, form: Form) -> Response:
    """POST /builds/{build}/loose-ends: touched or typed, with or without a picture."""
    opened = open_build(request)
    label, sent = form.get("label"), form.files.get("picture")
    errors: dict[str, InputError] = {}
    data = b""
    if not label:
        errors["label"] = InputError("Say in a few words what is off, open or bypassed",
                                     instead="'oil line off'")  # fmt: skip
    if sent is not None:
        try:
            data = kept_picture(sent.data, sent.name)
        except InputError as error:
            errors["picture"] = error
    if not errors:
        named = entry_id(form, "open", label)
        if named and opened.state.entry(named) is not None:
            return see(f"{opened.home}/loose-ends")
        try:
            LooseEndOpened(label)  # words first: no picture is kept for an end that is refused
            picture = opened.bench.store.put_blob(data) if data else ""
            keep_once(opened, form, LooseEndOpened(label, picture=picture), "open", label)
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
    keep_once(opened, form, LooseEndClosed(end_id), "close", end_id)
    return see(f"{opened.home}/loose-ends")


def picture(request: Request) -> Response:
    """GET /builds/{build}/pictures/{sha256}: a picture of this build, and of no other."""
    opened = open_build(request)
    name = request.path_params["sha256"]
    named = {entry.body.sha256 for entry in opened.state.pictures()}
    named |= {end.opened.body.picture for end in opened.state.loose_ends}
    if not name or name not in named:
        raise MissingError("There is no such picture in this build")
    try:
        data = opened.bench.store.get_blob(name)
    except InputError as error:
        raise MissingError("The book names this picture but does not hold it") from error
    kind = media_type(data)
    if not kind:
        raise MissingError("This is kept in the build, but it is no picture")
    return Response(
        data, media_type=kind, headers={"cache-control": "private, max-age=31536000, immutable"}
    )
