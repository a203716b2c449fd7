"""The start card, to be read at arm's length, and an attempt written down by hand."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import StartAttempt
from tickover.errors import InputError
from tickover.pages.building import start_card_of
from tickover.pages.stopwatch import BUTTONS, attempt_body, button
from tickover.quantities import parse
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see


def show(request: Request) -> Response:
    """GET /builds/{build}/start: ?kept= the attempt written down last."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    kept = opened.state.entry(request.query_params.get("kept", ""))
    body = kept.body if kept else None
    pressed = button(body.outcome) if isinstance(body, StartAttempt) else None
    return draw(
        request,
        opened,
        "start.html",
        status,
        found=start_card_of(opened.row, opened.state),
        here=f"{opened.home}/start",
        outcomes=[each.words for each in BUTTONS],
        kept=kept if pressed else None,
        then=pressed.then if pressed else "",
        then_page=pressed.page if pressed else "",
        typed=typed,
        errors=errors or {},
    )


def seconds_of(typed: str) -> float | None:
    """Seconds since the starter was pressed, as typed; None where nothing is."""
    return parse(typed, "time", unit="s", what="The time").value_si if typed else None


def write_down(request: Request, form: Form) -> Response:
    """POST /builds/{build}/start: what came of pressing the button, written by hand."""
    opened = open_build(request)
    what = form.get("what")
    try:
        seconds = seconds_of(form.get("seconds"))
        body = attempt_body(what, seconds, form.get("note"))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, errors={error.where or "seconds": error})
    entry = opened.keep(body)[0]
    return see(f"{opened.home}/start?{urlencode({'kept': entry.id})}#attempt")
