"""After the first start: what is due again, what the machine has run, the calendar file."""

from __future__ import annotations

from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Body, Work
from tickover.errors import InputError
from tickover.pages.building import run_in_of, runin_page_of, valves_page_of
from tickover.pages.calendar import calendar_file
from tickover.physics.runningin import Use
from tickover.plan.runin import (
    DISTANCE,
    DISTANCE_AT_START,
    HEAT_CYCLE,
    RUNNING,
    done_entry,
    progress_reading,
    use_entry,
)
from tickover.quantities import parse, parse_number
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see

_READINGS = {
    "distance": (DISTANCE, "distance"),
    "distance_at_start": (DISTANCE_AT_START, "distance"),
    "running": (RUNNING, "time"),
}


def show(request: Request) -> Response:
    """GET /builds/{build}/run-in."""
    return _draw(request, open_build(request))


def _today(opened: Opened) -> date:
    return date.fromisoformat(opened.bench.clock()[:10])


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    engine = opened.engine_file
    found = runin_page_of(opened.row, opened.state, _today(opened))
    drifts = valves_page_of(opened.row, opened.state).drifts if engine.valves is not None else ()
    dated = any(line.state == "due" or line.on is not None for line in found.lines
                if line.state != "done")  # fmt: skip
    return draw(
        request,
        opened,
        "run_in.html",
        status,
        found=found,
        drifts=drifts,
        dated=dated and found.started is not None,
        here=f"{opened.home}/run-in",
        unit=engine.show.unit("distance"),
        typed=typed,
        errors=errors or {},
    )


def keep_run(request: Request, form: Form) -> Response:
    """POST /builds/{build}/run-in: what it has run; all that is filled in, or nothing."""
    opened = open_build(request)
    unit = opened.engine_file.show.unit("distance")
    bodies: list[Body] = []
    errors: dict[str, InputError] = {}
    for name, (what, kind) in _READINGS.items():
        typed = form.get(name)
        if not typed:
            continue
        try:
            usual = unit if kind == "distance" else "h"
            read = parse(typed, kind, unit=usual, what=f"The {what}")
            bodies.append(progress_reading(what, read.value_si, _with_unit(typed, usual)))
        except InputError as error:
            errors[name] = error
    if not bodies and not errors:
        errors["distance"] = InputError("Nothing is filled in", allowed="at least one of these")
    if errors:
        return _draw(request, opened, 422, typed=form, errors=errors)
    opened.keep(*bodies)
    return see(f"{opened.home}/run-in#run")


def _with_unit(typed: str, unit: str) -> str:
    """As typed; a bare number gets the unit the page showed, so that the book can be read."""
    return typed if any(sign.isalpha() for sign in typed) else f"{typed} {unit}"


def heat_cycle(request: Request, form: Form) -> Response:
    """POST /builds/{build}/run-in/heat-cycle: warm through and cold again, once more."""
    opened = open_build(request)
    opened.keep(Work(HEAT_CYCLE))
    return see(f"{opened.home}/run-in#run")


def keep_use(request: Request, form: Form) -> Response:
    """POST /builds/{build}/run-in/use: how much it is ridden in a week."""
    opened = open_build(request)
    unit = opened.engine_file.show.unit("distance")
    errors: dict[str, InputError] = {}
    values: dict[str, float] = {}
    for name, kind, usual, what in (
        ("use_distance", "distance", unit, "The distance in a week"),
        ("use_running", "time", "h", "The running time in a week"),
        ("use_cycles", "", "", "Heat cycles in a week"),
    ):
        typed = form.get(name) or "0"
        try:
            values[name] = (
                parse(typed, kind, unit=usual, what=what).value_si
                if kind
                else float(parse_number(typed, what))
            )
        except InputError as error:
            errors[name] = error
    if not errors:
        try:
            use = Use(values["use_distance"], values["use_running"], values["use_cycles"])
        except InputError as error:
            errors["use_distance"] = error
    if errors:
        return _draw(request, opened, 422, typed=form, errors=errors)
    opened.keep(use_entry(use))
    return see(f"{opened.home}/run-in#use")


def done(request: Request, form: Form) -> Response:
    """POST /builds/{build}/run-in/done: a step was done."""
    opened = open_build(request)
    step = form.get("step")
    plan = run_in_of(opened.state, _today(opened))
    if step not in {item.known.step.name for item in plan.steps}:
        raise MissingError("There is no such step in this plan")
    opened.keep(done_entry(plan, step))
    return see(f"{opened.home}/run-in#due")


def calendar(request: Request) -> Response:
    """GET /builds/{build}/run-in.ics: the dates for any calendar."""
    opened = open_build(request)
    found = runin_page_of(opened.row, opened.state, _today(opened))
    data = calendar_file(found, opened.bench.clock())
    return Response(
        data,
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{opened.row.id}-run-in.ics"'},
    )
