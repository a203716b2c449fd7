"""Speed and gearing: gears drawn, the needle tried by mile, roll-out or track, other tyres."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import speed_page_of
from tickover.pages.speed_parts import errors_drawn, gears_drawn
from tickover.physics.track import read_ride
from tickover.physics.tracklog import read_log
from tickover.quantities import parse, whole_number
from tickover.tasks.regearing import regeared
from tickover.tasks.rollout import CHANGES, WHEELS, change_entry, roll_out_entry
from tickover.tasks.speedruns import (
    errors_in_book,
    errors_that_count,
    measured_run,
    odometer_entry,
    paired,
    run_entry,
    stretch_of,
    track_entry,
)
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.render import see

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.physics.track import Ride, Stretch

_MOST_STRETCHES = 120


@dataclass(frozen=True)
class _Typed:
    """What was sent and refused: the form, and the reason by the field it stands under."""

    form: Form = field(default_factory=Form)
    errors: dict[str, InputError] = field(default_factory=dict)


def show(request: Request) -> Response:
    """GET /builds/{build}/speed: the page; ?rear=, ?front=, ?sprockets= are compared."""
    opened = open_build(request)
    return _draw(request, opened)


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    said: _Typed | None = None,
    ride: Ride | None = None,
    odometer_m: float | None = None,
    stretches: tuple[Stretch, ...] = (),
) -> Response:
    said = said or _Typed()
    asked = {key: request.query_params.get(key, "").strip() for key in
             ("front", "rear", "sprockets")}  # fmt: skip
    errors = dict(said.errors)
    change = None
    try:
        change = regeared(opened.engine_file, opened.state, **asked)
    except InputError as wrong:
        errors["other"] = wrong
    found, refused = None, None
    try:
        found = speed_page_of(
            opened.row, opened.state, ride=ride, odometer_m=odometer_m, change=change,
            stretches=stretches,
        )  # fmt: skip
    except InputError as wrong:
        refused = wrong
    gears: tuple[tuple[str, str], ...] = ()
    needle: tuple[tuple[str, str], ...] = ()
    if found is not None:
        rows = errors_that_count(errors_in_book(opened.state))
        engine = opened.engine_file
        if found.gears:
            gears = both_widths(lambda width: gears_drawn(engine, opened.state, width=width))
        if rows:
            needle = both_widths(lambda width: errors_drawn(engine, rows, width=width))
    return draw(
        request,
        opened,
        "speed.html",
        422 if errors and status == 200 else status,
        found=found,
        refused=refused,
        gears=gears,
        needle=needle,
        here=f"{opened.home}/speed",
        asked=asked,
        wheels=WHEELS,
        changes=CHANGES,
        unit=opened.engine_file.show.unit("road speed"),
        typed=said.form,
        errors=errors,
    )


def _refused(
    request: Request, opened: Opened, form: Form, name: str, wrong: InputError
) -> Response:
    return _draw(request, opened, 422, said=_Typed(form, {name: wrong}))


def _kept(opened: Opened, *bodies: Body) -> Response:
    first = opened.keep(*bodies)[0]
    return see(f"{opened.home}/speed?{urlencode({'kept': first.id})}#enter")


def timed(request: Request, form: Form) -> Response:
    """POST /builds/{build}/speed/timed: a run between two posts."""
    opened = open_build(request)
    line = f"{form.get('shown')} over {form.get('way')} in {form.get('time')}"
    try:
        if not (form.get("shown") and form.get("way") and form.get("time")):
            raise InputError("A timed run needs all three: shown, way and time",
                             instead="'60 mph', '1 mi' and '61.5 s'")  # fmt: skip
        body = run_entry(opened.engine_file, measured_run(opened.engine_file, line))
    except InputError as wrong:
        return _refused(request, opened, form, "timed", wrong)
    return _kept(opened, body)


def rolled(request: Request, form: Form) -> Response:
    """POST /builds/{build}/speed/rolled: a roll-out of a wheel."""
    opened = open_build(request)
    try:
        line = f"{form.get('way')} in {form.get('turns') or '0'} turns"
        body = roll_out_entry(opened.engine_file, line, form.get("wheel"))
    except InputError as wrong:
        return _refused(request, opened, form, "rolled", wrong)
    return _kept(opened, body)


def changed(request: Request, form: Form) -> Response:
    """POST /builds/{build}/speed/changed: another tyre, other sprockets, another instrument."""
    opened = open_build(request)
    try:
        body = change_entry(form.get("what"), form.get("wheel"))
    except InputError as wrong:
        return _refused(request, opened, form, "changed", wrong)
    return _kept(opened, body)


def read_track(request: Request, form: Form) -> Response:
    """POST /builds/{build}/speed/track: read a log and list its steady stretches; keep nothing.

    Only an odometer reading sent with it is kept: it can be worked out from the track alone.
    """
    opened = open_build(request)
    sent = form.files.get("track")
    counted = None
    try:
        if sent is None:
            raise InputError("No track was chosen", allowed="GPX 1.1 or NMEA 0183",
                             instead="the file your phone wrote")  # fmt: skip
        part = whole_number(form.get("part") or "1")
        if part is None:
            raise InputError("Recordings are counted from 1", given=form.get("part"),
                             instead="'1'")  # fmt: skip
        ride = read_ride(read_log(sent.data, sent.name), part)
        if form.get("odometer"):
            unit = opened.engine_file.show.unit("distance")
            counted = parse(form.get("odometer"), "distance", unit, "The odometer").value_si
            opened.keep(odometer_entry(ride, counted, form.get("odometer")))
            opened = open_build(request)
    except InputError as wrong:
        return _refused(request, opened, form, "track", wrong)
    return _draw(request, opened, ride=ride, odometer_m=counted)


def keep_track(request: Request, form: Form) -> Response:
    """POST /builds/{build}/speed/keep: what the dial showed on each stretch; all or nothing."""
    opened = open_build(request)
    found: list[Stretch] = []
    try:
        for n in range(_MOST_STRETCHES):
            text = form.get(f"stretch-{n}")
            if not text:
                break
            found.append(stretch_of(text))
        typed = [form.get(f"shown-{n}") for n in range(len(found))]
        rows = paired(opened.engine_file, found, typed)
        if not rows:
            raise InputError("Nothing is filled in", allowed="what the dial showed on a stretch",
                             instead="'80 km/h'")  # fmt: skip
    except InputError as wrong:
        said = _Typed(form, {"keep": wrong})
        return _draw(request, opened, 422, said=said, stretches=tuple(found))
    return _kept(opened, *(track_entry(opened.engine_file, row, words) for row, words in rows))
