"""One short line for the book, on every page: understood first, kept only then."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.tasks.quickline import EXAMPLES, Understood, understand_line
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see

_PATH = re.compile(r"/[A-Za-z0-9/_-]*")


def show(request: Request) -> Response:
    """GET /builds/{build}/quick: a line to write, and which lines are understood.

    With ?line= the line of a phone that had no connection is shown as it is understood.
    """
    opened = open_build(request)
    asked = request.query_params
    if asked.get("line", "").strip():
        return _read(request, opened, asked["line"].strip(), asked.get("back", ""))
    return _draw(request, opened, back=asked.get("back", ""))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    line: str = "",
    back: str = "",
    understood: Understood | None = None,
    changed: bool = False,
    error: InputError | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "quick.html",
        status,
        here=f"{opened.home}/quick",
        line=line,
        back=_back(opened, back),
        understood=understood,
        changed=changed,
        error=error,
        examples=EXAMPLES,
    )


def _back(opened: Opened, asked: str) -> str:
    """A page of this build to go back to; its own page where the form names none."""
    own = asked == opened.home or asked.startswith(f"{opened.home}/")
    return asked if own and _PATH.fullmatch(asked) else opened.home


def read(request: Request, form: Form) -> Response:
    """POST /builds/{build}/quick: show what a line means; nothing is written."""
    return _read(request, open_build(request), form.get("line"), form.get("back"))


def _read(request: Request, opened: Opened, line: str, back: str) -> Response:
    try:
        understood = _understood(opened, line)
    except InputError as error:
        return _draw(request, opened, 422, line=line, back=back, error=error)
    return _draw(request, opened, line=line, back=back, understood=understood)


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/quick/keep: keep it as it was shown; shown anew if it changed since."""
    opened = open_build(request)
    line, back = form.get("line"), form.get("back")
    try:
        understood = _understood(opened, line)
    except InputError as error:
        return _draw(request, opened, 422, line=line, back=back, error=error)
    if understood.words != form.get("words"):
        return _draw(
            request, opened, 409, line=line, back=back, understood=understood, changed=True
        )
    kept = opened.keep(understood.body, *understood.more)[0]
    return see(f"{opened.home}/quick?kept={kept.id}&back={_back(opened, back)}")


def _understood(opened: Opened, line: str) -> Understood:
    return understand_line(opened.engine_file, line, open_ends=opened.state.open_loose_ends)
