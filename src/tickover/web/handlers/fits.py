"""Build measurements, fasteners and controls: what reads what, and what was done to it."""

from __future__ import annotations

from functools import lru_cache
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import controls_page_of, fasteners_page_of, fits_page_of
from tickover.pages.fasteners import pattern_of
from tickover.pages.fits import FitLine, FitsPage
from tickover.quantities import whole_number
from tickover.tasks.fasteners import (
    fastener_named,
    loosened_entry,
    tightened_entry,
    tightening,
)
from tickover.tasks.fit_line import fit_entry, understand_fit
from tickover.web.checking import check_href, check_of, typed_bodies
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see

SETTLED = ("good", "accepted")
# worked out once for each state of the book
_fits_page = lru_cache(maxsize=16)(fits_page_of)
_fasteners_page = lru_cache(maxsize=16)(fasteners_page_of)
_controls_page = lru_cache(maxsize=16)(controls_page_of)


def show(request: Request) -> Response:
    """GET /builds/{build}/fits: ?name= and ?place= put that measurement into the entry block."""
    opened = open_build(request)
    found = _fits_page(opened.row, opened.state)
    asked = request.query_params
    return _draw(request, opened, found, _at(found, asked.get("name", ""), asked.get("place", "")))


def _at(found: FitsPage, name: str, place: str) -> FitLine | None:
    if name:
        for line in found.lines:
            if (line.name, line.place) == (name, place):
                return line
        raise MissingError(f"There is no measurement '{name}' at '{place}' on this engine")
    return _unread(found)


def _unread(found: FitsPage) -> FitLine | None:
    """The first to measure that is not read, or void."""
    waiting = (line for line in found.lines if line.to_read and line.state in ("open", "stale"))
    return next(waiting, None)


def _draw(
    request: Request,
    opened: Opened,
    found: FitsPage,
    at: FitLine | None,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "fits.html",
        status,
        found=found,
        here=f"{opened.home}/fits",
        at=at,
        groups=_groups(found),
        unit=opened.engine_file.show.unit(_quantity(at)) if at else "",
        typed=typed,
        errors=errors or {},
        href=lambda line: _href(opened, line),
    )


def _quantity(line: FitLine) -> str:
    fit = line.result.fit
    return "length" if fit.is_round or fit.kind in ("spring length", "length") else "clearance"


def _href(opened: Opened, line: FitLine) -> str:
    return f"{opened.home}/fits?{urlencode({'name': line.name, 'place': line.place})}#enter"


def _groups(found: FitsPage) -> list[tuple[str, tuple[FitLine, ...]]]:
    names = dict.fromkeys(line.name for line in found.lines)
    return [(name, tuple(line for line in found.lines if line.name == name)) for name in names]


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/fits: keep the readings filled in; all of them or none."""
    opened = open_build(request)
    found = _fits_page(opened.row, opened.state)
    at = _at(found, form.get("name"), form.get("place"))
    if at is None or not at.to_read:
        raise MissingError("There is nothing to read there: it is worked out from others")
    errors: dict[str, InputError] = {}
    bodies = []
    for number, station in enumerate(at.to_read):
        typed = form.get(f"read-{number}")
        if not typed:
            continue
        line = " ".join(word for word in (at.place, at.result.fit.name, station, typed) if word)
        try:
            understood = understand_fit(opened.engine_file, line)
            body = fit_entry(understood, form.get("instrument"))
            if (body.what, body.place) != (at.name, at.place):
                raise InputError("This belongs to another measurement", given=typed,
                                 allowed="one figure or a range")  # fmt: skip
            bodies.append(body)
        except InputError as error:
            errors[f"read-{number}"] = error
    if not bodies and not errors:
        errors["read-0"] = InputError(
            "Nothing is filled in", allowed="a figure or a range", instead="what you read"
        )
    if errors:
        return _draw(request, opened, found, at, 422, typed=form, errors=errors)
    kept = opened.keep(*bodies)
    again = open_build(request)
    after = _fits_page(again.row, again.state)
    same = _at(after, at.name, at.place)
    then = same if same is not None and same.state != "good" else (_unread(after) or same)
    where = {"name": then.name, "place": then.place} if then else {}
    return see(f"{opened.home}/fits?{urlencode({**where, 'kept': kept[0].id})}#enter")


def fasteners(request: Request) -> Response:
    """GET /builds/{build}/fasteners."""
    return _draw_fasteners(request, open_build(request))


def _draw_fasteners(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    wrong: str = "",
    error: InputError | None = None,
) -> Response:
    found = _fasteners_page(opened.row, opened.state)
    reached = {}
    for line in found.lines:
        done = tightening(line.fastener, opened.state)
        reached[line.name] = 0 if done is None or line.state == "stale" else done.stage
    return draw(
        request,
        opened,
        "fasteners.html",
        status,
        found=found,
        here=f"{opened.home}/fasteners",
        pictures={line.name: pattern_of(line.fastener) for line in found.lines},
        reached=reached,
        unit=opened.engine_file.show.unit("torque"),
        typed=typed,
        wrong=wrong,
        error=error,
    )


def tighten(request: Request, form: Form) -> Response:
    """POST /builds/{build}/fasteners: a round done, all done, done again, or loosened."""
    opened = open_build(request)
    engine, name, did = opened.engine_file, form.get("name"), form.get("did")
    if name not in {each.name for each in engine.fasteners}:
        raise MissingError(f"There is no fastener '{name}' in the engine file")
    try:
        if did == "loosened":
            body = loosened_entry(engine, name)
        elif did == "torque" and not form.get("torque"):
            raise InputError("A torque is needed", instead="what the wrench was set to, '23 Nm'")
        else:
            number = whole_number(did.removeprefix("stage-"))
            body = tightened_entry(
                engine, name, form.get("torque") if did == "torque" else "", number,
                again=did == "again",
            )  # fmt: skip
    except InputError as error:
        return _draw_fasteners(request, opened, 422, typed=form, wrong=name, error=error)
    kept = opened.keep(body)
    number = list(engine.fasteners).index(fastener_named(engine, name)) + 1
    return see(f"{opened.home}/fasteners?kept={kept[0].id}#fastener-{number}")


def controls(request: Request) -> Response:
    """GET /builds/{build}/controls."""
    return _draw_controls(request, open_build(request))


def _draw_controls(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    at: tuple[str, str] | None = None,
    error: InputError | None = None,
) -> Response:
    found = _controls_page(opened.row, opened.state)
    left = ((line.name, line.place) for line in found.lines if line.state not in SETTLED)
    return draw(
        request,
        opened,
        "controls.html",
        status,
        found=found,
        here=f"{opened.home}/controls",
        at=at or next(left, None),
        href=lambda line: check_href(opened.home, line.name, line.place),
        typed=typed,
        error=error,
    )


def keep_control(request: Request, form: Form) -> Response:
    """POST /builds/{build}/controls: what was found at a control; stays on the page."""
    opened = open_build(request)
    check = check_of(opened, form.get("name"), form.get("place")).check
    try:
        bodies = typed_bodies(opened, check, form)
    except InputError as error:
        return _draw_controls(request, opened, 422, typed=form, at=check.key, error=error)
    kept = opened.keep(*bodies)
    return see(f"{opened.home}/controls?kept={kept[0].id}#try")
