"""Charging: the voltage over speed, causes, what to read next; switches and senders."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import charging_page_of
from tickover.pages.charging import page_plot
from tickover.tasks.answers import check_entries, proving_checks
from tickover.tasks.charging.names import NAMES
from tickover.tasks.finding import Check
from tickover.tasks.starting import AT_REST, CRANKING
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.refusals import MissingError
from tickover.web.render import see


def show(request: Request) -> Response:
    """GET /builds/{build}/charging: the page; ?at= puts that reading into the form."""
    return _draw(request, open_build(request), at=request.query_params.get("at", ""))


def _label(check: Check) -> str:
    return f"{check.name}, {check.place}" if check.place else check.name


def _labels(opened: Opened) -> dict[str, Check]:
    """Every reading of the form by its words, in working order."""
    every = proving_checks(opened.engine_file)
    order = (AT_REST, CRANKING, *NAMES)
    mine = [check for name in order for check in every if check.name == name]
    return {_label(check): check for check in mine if check.wanted.form != "page"}


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    at: str = "",
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    found = charging_page_of(opened.row, opened.state)
    labels = list(_labels(opened))
    pictures = both_widths(lambda width: page_plot(found, width=width)) if found.points else ()
    return draw(
        request,
        opened,
        "charging.html",
        status,
        found=found,
        here=f"{opened.home}/charging",
        pictures=pictures,
        labels=labels,
        at=at if at in labels else (labels[0] if labels else ""),
        typed=typed,
        error=error,
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/charging: keep one reading, go on to the next."""
    opened = open_build(request)
    labels = _labels(opened)
    label = form.get("reading")
    check = labels.get(label)
    if check is None:
        raise MissingError(f"There is no reading '{label}' on this machine")
    try:
        if not form.get("value"):
            raise InputError("Nothing is filled in", allowed="what the meter shows",
                             instead=check.wanted.prompt or "'14.2 V at 25 C'")  # fmt: skip
        bodies = check_entries(opened.engine_file, opened.state, check, form.get("value"))
    except InputError as wrong:
        return _draw(request, opened, 422, at=label, typed=form, error=wrong)
    kept = opened.keep(bodies[0])[0]
    names = list(labels)
    after = names[(names.index(label) + 1) % len(names)]
    return see(f"{opened.home}/charging?{urlencode({'at': after, 'kept': kept.id})}#enter")
