"""One shopping list: what every task wants, what somebody added, ticked off as it arrives."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import shopping_of, shopping_page_of
from tickover.pages.shopping import find_want
from tickover.plan.shopping import arrived_entry, want_entry
from tickover.quantities import parse_number
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see
from tickover.web.striking import strike_out


def show(request: Request) -> Response:
    """GET /builds/{build}/shopping."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    at: str = "",
    error: InputError | None = None,
) -> Response:
    found = shopping_page_of(opened.row, opened.state)
    lines = [place for line in found.to_buy for place in (line.key, f"strike {line.id}")]
    return draw(
        request,
        opened,
        "shopping.html",
        status,
        found=found,
        placed=("add", *lines),
        here=f"{opened.home}/shopping",
        typed=typed,
        at=at,
        error=error,
    )


def _count(form: Form) -> int:
    typed = form.get("count") or "1"
    if not re.fullmatch(r"[0-9]{1,6}", typed):
        raise InputError("How many is a whole number", given=typed, instead="1", where="count")
    return int(typed)


def _price(form: Form) -> float | None:
    typed = form.get("price")
    return float(parse_number(typed, "The price")) if typed else None


def add(request: Request, form: Form) -> Response:
    """POST /builds/{build}/shopping: put something on the list."""
    opened = open_build(request)
    item = form.get("item")
    try:
        body = want_entry(item, _count(form), price=_price(form), why=form.get("why"))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, at="add", error=error)
    opened.keep(body)
    return see(f"{opened.home}/shopping#to-buy")


def arrived(request: Request, form: Form) -> Response:
    """POST /builds/{build}/shopping/arrived: so many of one line came."""
    opened = open_build(request)
    key = form.get("key")
    try:
        want = find_want(shopping_of(opened.state), key)
        body = arrived_entry(want, _count(form), _price(form))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, at=key, error=error)
    opened.keep(body)
    return see(f"{opened.home}/shopping#to-buy")


def strike(request: Request, form: Form) -> Response:
    """POST /builds/{build}/shopping/strike: something added by hand is not wanted after all."""
    opened = open_build(request)
    found = shopping_page_of(opened.row, opened.state)
    shown = {line.id for line in (*found.to_buy, *found.settled) if line.id}
    try:
        strike_out(opened, form, shown)
    except InputError as error:
        return _draw(
            request, opened, 422, typed=form, at=f"strike {form.get('entry')}", error=error
        )
    return see(f"{opened.home}/shopping#to-buy")
