"""The book: every entry, newest first; searched, struck out with a reason, never erased."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import StrikeOut
from tickover.errors import InputError
from tickover.pages.building import book_page_of
from tickover.quantities import whole_number
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see

AT_ONCE = 100  # entries on one page


def show(request: Request) -> Response:
    """GET /builds/{build}/book: ?find= words, ?from= how many to pass over."""
    opened = open_build(request)
    return _draw(request, opened)


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    wrong_entry: str = "",
    error: InputError | None = None,
) -> Response:
    searched = typed.get("find") if typed else request.query_params.get("find", "")
    search = searched.strip()[:200]
    found = book_page_of(opened.row, opened.state, search)
    start = request.query_params.get("from", "0")
    first = whole_number(start) or 0
    wanted = wrong_entry or request.query_params.get("entry", "")
    if wanted:
        at = next((i for i, e in enumerate(found.entries) if wanted in (e.id, str(e.number))), 0)
        first = at - at % AT_ONCE
    shown = found.entries[first : first + AT_ONCE]
    return draw(
        request,
        opened,
        "book.html",
        status,
        found=found,
        shown=shown,
        first=first,
        older=first + AT_ONCE if first + AT_ONCE < len(found.entries) else None,
        newer=max(0, first - AT_ONCE) if first else None,
        wanted=wanted,
        here=f"{opened.home}/book",
        typed=typed,
        wrong_entry=wrong_entry,
        error=error,
    )


def strike(request: Request, form: Form) -> Response:
    """POST /builds/{build}/book/strike: this entry counts for nothing from now on."""
    opened = open_build(request)
    entry = opened.state.entry(form.get("entry"))
    if entry is None:
        raise MissingError("There is no such entry in this book")
    try:
        if opened.state.is_struck(entry.id):
            raise InputError(f"Entry {entry.number} is struck out already")
        body = StrikeOut(entry.id, form.get("reason"))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, wrong_entry=entry.id, error=error)
    opened.keep(body)
    return see(f"{opened.home}/book?entry={entry.number}#entry-{entry.number}")
