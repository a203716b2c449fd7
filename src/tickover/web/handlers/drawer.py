"""Shims in the engine and in the drawer: what lies there, what goes in and out."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import StockChanged
from tickover.errors import InputError
from tickover.pages.building import drawer_page_of
from tickover.tasks.valves import drawer_shim
from tickover.tasks.valves.in_book import SHIM
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see

_SAME_SIZE_M = 1e-7


def show(request: Request) -> Response:
    """GET /builds/{build}/drawer."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "drawer.html",
        status,
        found=drawer_page_of(opened.row, opened.state),
        here=f"{opened.home}/drawer",
        valves_href=f"{opened.home}/valves",
        typed=typed,
        error=error,
    )


def change(request: Request, form: Form) -> Response:
    """POST /builds/{build}/drawer: shims into the drawer, or out of it."""
    opened = open_build(request)
    try:
        shim = drawer_shim(
            opened.engine_file, form.get("size"), "", form.get("count") or "1", form.get("price")
        )
        count = shim.count if form.get("way") != "out" else -shim.count
        known_by = _take_from(opened, shim.size_m, -count) if count < 0 else ""
        if count == 0 and shim.price is None:
            raise InputError("Nothing would change", allowed="a count, or a price for one more")
        body = StockChanged(SHIM, shim.size_m, "m", count, shim.price, known_by)
    except InputError as error:
        return _draw(request, opened, 422, typed=form, error=error)
    opened.keep(body)
    return see(f"{opened.home}/drawer")


def _take_from(opened: Opened, size_m: float, count: int) -> str:
    """Which of the lots of this size holds so many: lots differ in how their size is known."""
    lots = [
        row
        for row in opened.state.stock(SHIM)
        if row.size is not None and abs(row.size - size_m) < _SAME_SIZE_M
    ]
    for row in lots:
        if row.count >= count:
            return row.known_by
    most = max((row.count for row in lots), default=0)
    raise InputError(
        "There are not that many of this size in the drawer",
        given=str(count),
        allowed=f"up to {max(most, 0)}",
    )
