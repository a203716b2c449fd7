"""Balance: all gauges at once, each turn of a screw, and which screw next."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.balance import balance_picture
from tickover.pages.building import balance_page_of
from tickover.pages.wording import place_words
from tickover.tasks.balance_book import turned_entry, vacuum_entry
from tickover.tasks.mixture.from_file import rack_from_file
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.render import see

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.pages.balance import BalancePage

UNITS = ("", "kPa", "cmHg", "mmHg", "inHg", "mbar", "psi", "cmH2O")


def show(request: Request) -> Response:
    """GET /builds/{build}/balance."""
    return _draw(request, open_build(request))


def _page_of(opened: Opened) -> BalancePage | InputError:
    try:
        return balance_page_of(opened.row, opened.state)
    except InputError as error:
        return error


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    form: str = "",
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    made = _page_of(opened)
    found = None if isinstance(made, InputError) else made
    return draw(
        request,
        opened,
        "balance.html",
        status,
        found=found,
        missing=made if isinstance(made, InputError) else None,
        here=f"{opened.home}/balance",
        pictures=both_widths(lambda w: balance_picture(found, width=w)) if found else (),
        places=[(name, place_words(name)) for name in found.rack.carburettors] if found else [],
        screws=[screw.name for screw in found.rack.screws] if found else [],
        screw=found.found.screw if found and found.found else "",
        units=UNITS,
        form=form,
        typed=typed,
        errors=errors or {},
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/balance: one round of the gauges; those left empty were not read."""
    opened = open_build(request)
    errors: dict[str, InputError] = {}
    bodies: list[Body] = []
    try:
        rack = rack_from_file(opened.engine_file)
    except InputError as wrong:
        return _draw(request, opened, 422, form="gauges", typed=form, errors={"all": wrong})
    unit = form.get("unit") or opened.engine_file.show.unit("vacuum")
    for place in rack.carburettors:
        typed = form.get(place)
        if not typed:
            continue
        try:
            value = typed if any(c.isalpha() for c in typed) else f"{typed} {unit}"
            body = vacuum_entry(rack, place, value, form.get("at") or "idle")
        except InputError as wrong:
            errors[place] = wrong
            continue
        bodies.append(body)
    if not bodies and not errors:
        errors["all"] = InputError("Nothing is filled in", allowed="what each gauge shows")
    if errors:
        return _draw(request, opened, 422, form="gauges", typed=form, errors=errors)
    return _back(opened, opened.keep(*bodies)[0].id)


def turned(request: Request, form: Form) -> Response:
    """POST /builds/{build}/balance/turned: a screw was turned."""
    opened = open_build(request)
    try:
        rack = rack_from_file(opened.engine_file)
        body = turned_entry(rack, form.get("screw"), f"{form.get('way')} {form.get('turns')}")
        entry = opened.keep(body)[0]
    except InputError as wrong:
        return _draw(request, opened, 422, form="turned", typed=form, errors={"turns": wrong})
    return _back(opened, entry.id)


def _back(opened: Opened, kept: str) -> Response:
    return see(f"{opened.home}/balance?{urlencode({'kept': kept})}#enter")
