"""The valve clearances: order of work, entry of one valve after the other, verdicts, plan."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.store import BookMovedOn
from tickover.errors import InputError
from tickover.pages.building import valves_page_of
from tickover.pages.drawing import stop_dial, valves_picture
from tickover.pages.valves import ValvesPage
from tickover.plan.checks import check_states, stale_places
from tickover.quantities import parse, whole_number
from tickover.tasks.valves import clearance_reading, fitted_shim
from tickover.tasks.valves.in_book import (
    CLEARANCE,
    clearance_entry,
    fitted_entries,
    shim_entry,
    valve_book,
)
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.refusals import MissingError
from tickover.web.render import see
from tickover.web.undescribed import UndescribedError

STATES = ("out", "undecided", "stale", "open", "good", "accepted")


def valves_of(opened: Opened) -> ValvesPage:
    """The valve page of a build.

    Raises
    ------
    UndescribedError
        If its engine file describes no valves.
    """
    engine = opened.engine_file
    if engine.valves is None:
        raise UndescribedError(
            opened,
            "Valve clearances",
            "The engine file describes no valves yet. A [valves] table brings the limits, the "
            "stops of the crank and the plan of shims.",
            "valves",
        )
    return valves_page_of(opened.row, opened.state)


def working_order(found: ValvesPage) -> tuple[str, ...]:
    """Every valve in the order of the stops; engine order for those no stop serves."""
    order = [place for stop in found.stops for place in stop.places]
    order += [line.place for line in found.valves if line.place not in order]
    return tuple(order)


def _unread(found: ValvesPage, after: str = "") -> str:
    """The next valve to read in working order, after a place; empty when all are read."""
    order = working_order(found)
    turn = order.index(after) + 1 if after in order else 0
    unread = (p for p in order[turn:] + order[:turn] if found.line(p).state in ("open", "stale"))
    return next(unread, "")


def _worth_reading(found: ValvesPage) -> str:
    """With all valves read: the one whose next reading would tell most, where it is one."""
    check = found.assessment.next_check
    return check.places[0] if check is not None and len(check.places) == 1 else ""


def show(request: Request) -> Response:
    """GET /builds/{build}/valves: the page; ?at=ex2 puts that valve into the entry block."""
    opened = open_build(request)
    found = valves_of(opened)
    at = request.query_params.get("at", "")
    if at and at not in working_order(found):
        raise MissingError(f"There is no valve '{at}' on this engine")
    return _draw(request, opened, found, at or _unread(found) or _worth_reading(found))


def _draw(
    request: Request,
    opened: Opened,
    found: ValvesPage,
    at: str,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
    shim_error: InputError | None = None,
    fit_error: InputError | None = None,
    moved_on: bool = False,
) -> Response:
    engine = opened.engine_file
    here = f"{opened.home}/valves"

    def href(place: str) -> str:
        return f"{here}?at={place}#enter"

    stop = next((s.number for s in found.stops if at in s.places), found.next_stop)
    counts = [(word, sum(line.state == word for line in found.valves)) for word in STATES]
    return draw(
        request,
        opened,
        "valves.html",
        status,
        found=found,
        here=here,
        pictures=both_widths(lambda width: valves_picture(engine, found, href, width=width)),
        counts=[(word, count) for word, count in counts if count],
        stop=found.stops[stop - 1] if stop else None,
        dial=stop_dial(engine, found.stops, stop) if stop else "",
        at=found.line(at) if at else None,
        next_place=_unread(found, at) if at else "",
        typed=typed,
        error=error,
        shim_error=shim_error,
        fit_error=fit_error,
        moved_on=moved_on,
        seen=opened.state.last_number,
        distance_unit=engine.show.unit("distance"),
        takes_shims=engine.valves is not None and "shim" in (engine.valves.adjustment or ""),
    )


def one(request: Request) -> Response:
    """GET /builds/{build}/valves/{place}: a short way to one valve's entry."""
    opened = open_build(request)
    return see(f"{opened.home}/valves?at={_place(request, opened)}#enter")


def keep_reading(request: Request, form: Form) -> Response:
    """POST /builds/{build}/valves/{place}: keep one clearance, go on to the next valve."""
    opened = open_build(request)
    found, place = valves_of(opened), _place(request, opened)
    try:
        reading = clearance_reading(
            opened.engine_file,
            place,
            form.get("go"),
            form.get("no_go"),
            form.get("value"),
            warm=form.get("warm") == "yes",
        )
        reading = replace(reading, distance_m=_distance_m(opened, form.get("distance")))
    except InputError as error:
        return _draw(request, opened, found, place, 422, typed=form, error=error)
    kept = opened.keep(clearance_entry(reading))[0]
    then = {"at": _unread(found, place) or place, "kept": kept.id}
    return see(f"{opened.home}/valves?{urlencode(then)}#enter")


def _distance_m(opened: Opened, typed: str) -> float | None:
    """How far the engine had run [m]; None where nothing was written."""
    if not typed:
        return None
    unit = opened.engine_file.show.unit("distance")
    distance = parse(typed, "distance", unit, "The distance run").value_si
    if distance < 0.0:
        raise InputError("The distance run cannot be negative", given=typed)
    return distance


def keep_shim(request: Request, form: Form) -> Response:
    """POST /builds/{build}/valves/{place}/shim: which shim lies there, and how that is known."""
    opened = open_build(request)
    place = _place(request, opened)
    try:
        shim = fitted_shim(opened.engine_file, place, form.get("size"), "", form.get("known_by"))
    except InputError as error:
        found = valves_of(opened)
        return _draw(request, opened, found, place, 422, typed=form, shim_error=error)
    kept = opened.keep(shim_entry(shim, form.get("size")))[0]
    return see(f"{opened.home}/valves?{urlencode({'at': place, 'kept': kept.id})}#enter")


def fitted(request: Request, form: Form) -> Response:
    """POST /builds/{build}/valves/fitted: the plan, or the ticked part of it, was carried out."""
    opened = open_build(request)
    found = valves_of(opened)
    done = [line.place for line in found.plan if form.get(f"fit-{line.place}") == "yes"]
    stale = stale_places(check_states(opened.engine_file, opened.state), CLEARANCE)
    book = valve_book(opened.engine_file, opened.state, stale)
    bench = opened.bench
    seen = form.get("seen")
    try:
        bodies = fitted_entries([line.change for line in found.plan], done, book)
        kept = bench.store.append(
            opened.row.id,
            bodies,
            at=bench.clock(),
            by=bench.by,
            expect_number=-1 if (number := whole_number(seen)) is None else number,
        )
    except InputError as error:
        return _draw(request, opened, found, "", 422, typed=form, fit_error=error)
    except BookMovedOn:
        again = open_build(request)
        return _draw(request, again, valves_of(again), "", 409, moved_on=True)
    return see(f"{opened.home}/valves?{urlencode({'kept': kept[0].id})}")


def _place(request: Request, opened: Opened) -> str:
    place = request.path_params["place"]
    if place not in {each.name for each in opened.engine_file.places()}:
        raise MissingError(f"There is no valve '{place}' on this engine")
    return str(place)


def sheet(request: Request) -> Response:
    """GET /builds/{build}/valves/all: every valve in working order, on one form."""
    opened = open_build(request)
    return _draw_sheet(request, opened, valves_of(opened))


def _draw_sheet(
    request: Request,
    opened: Opened,
    found: ValvesPage,
    status: int = 200,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "valves_all.html",
        status,
        found=found,
        here=f"{opened.home}/valves",
        groups=_groups(found),
        typed=typed,
        errors=errors or {},
    )


def _groups(found: ValvesPage) -> list[tuple[str, str, tuple[str, ...]]]:
    groups = [(stop.headline, stop.text, stop.places) for stop in found.stops]
    served = {place for stop in found.stops for place in stop.places}
    rest = tuple(line.place for line in found.valves if line.place not in served)
    if rest:
        heading = "The others" if groups else "One after the other"
        groups.append((heading, "Turn until the lobe of each points away from its follower.", rest))
    return groups


def keep_all(request: Request, form: Form) -> Response:
    """POST /builds/{build}/valves/all: keep what is filled in; all of it or none."""
    opened = open_build(request)
    found = valves_of(opened)
    errors: dict[str, InputError] = {}
    bodies = []
    for place in working_order(found):
        go, no_go = form.get(f"go-{place}"), form.get(f"no_go-{place}")
        if not go and not no_go:
            continue
        try:
            reading = clearance_reading(
                opened.engine_file, place, go, no_go, warm=form.get("warm") == "yes"
            )
            bodies.append(clearance_entry(reading))
        except InputError as error:
            errors[place] = error
    if errors or not bodies:
        if not errors:
            first = working_order(found)[0]
            errors[first] = InputError(
                "Nothing is filled in", instead="at least one valve, or go back to the card"
            )
        return _draw_sheet(request, opened, found, 422, form, errors)
    kept = opened.keep(*bodies)
    return see(f"{opened.home}/valves?{urlencode({'kept': kept[0].id})}")
