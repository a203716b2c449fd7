"""Mixture: a stop first, what to change, readings by hand or from a log, jets to have ready."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import mixture_page_of
from tickover.pages.mixture_map import influence_picture, map_pictures, map_rows
from tickover.plan.shopping import want_entry
from tickover.quantities import parse
from tickover.tasks.mixture import SIGNS, clean, read_log, readings_of
from tickover.tasks.mixture.adjusters import MARK_NAMES
from tickover.tasks.mixture.in_book import (
    BAFFLES,
    FILTER,
    HEIGHT,
    mixture_book,
    reading_entry,
    setting_entries,
    trim_entry,
)
from tickover.tasks.mixture.logfile import NEEDED
from tickover.tasks.mixture.readings import reading_from_row
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.render import see

if TYPE_CHECKING:
    from tickover.pages.mixture import MixturePage

WORDS = ("", *(sign.word for sign in SIGNS))
SETTINGS = (
    ("main", "main jet", "decimal"),
    ("clip", "clip, groove from the top", "numeric"),
    ("screw", "mixture screw, turns out", "decimal"),
    ("pilot", "pilot jet", "decimal"),
    ("needle", "needle", "text"),
    ("cutaway", "slide cutaway", "text"),
)
"""Field, words, keyboard; in the order of how often it is done."""
AIR = (
    (FILTER, "air box pulls at full throttle, or 'open'", "5 cmH2O"),
    (BAFFLES, "baffles, 'in' or 'out'", "out"),
    (HEIGHT, "height above the sea", "600 m"),
)
COLUMNS = tuple(zip(NEEDED, ("time", "engine speed", "opening", "lambda or air/fuel"), strict=True))


def show(request: Request) -> Response:
    """GET /builds/{build}/mixture: the page; ?ready=height+2000+m,+5+C adds a state."""
    return _draw(request, open_build(request))


def _page_of(opened: Opened, states: tuple[str, ...]) -> MixturePage | InputError:
    try:
        return mixture_page_of(opened.row, opened.state, states)
    except InputError as error:
        return error


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    form: str = "",
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    asked = request.query_params.get("ready", "").strip()
    states = _states(asked)
    ready_error = None
    made = _page_of(opened, states)
    if isinstance(made, InputError) and states:
        ready_error, made = made, _page_of(opened, ())
    found = None if isinstance(made, InputError) else made
    return draw(
        request,
        opened,
        "mixture.html",
        422 if ready_error else status,
        found=found,
        missing=made if isinstance(made, InputError) else None,
        described=opened.engine_file.carburettors is not None,
        here=f"{opened.home}/mixture",
        map_svgs=both_widths(lambda w: map_pictures(found, width=w))
        if found and found.advice
        else (),
        influence_svgs=both_widths(lambda w: influence_picture(found, width=w)) if found else (),
        influence_rows=[
            (f"{i.adjuster}, {i.step}", *(f"{p:+.1f}" for p in i.percent)) for i in found.influence
        ]
        if found
        else [],
        marks=MARK_NAMES,
        map_table=map_rows(found) if found else [],
        words=WORDS,
        settings=SETTINGS,
        air=AIR,
        columns=COLUMNS,
        ready=asked,
        ready_error=ready_error,
        kept_more=request.query_params.get("log", ""),
        form=form,
        typed=typed,
        error=error,
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/mixture: one reading, a number or a word."""
    opened = open_build(request)
    number = form.get("lambda")
    row = {key: form.get(key) for key in ("opening", "speed", "word", "note")}
    row["afr" if form.get("scale") == "afr" else "lambda"] = number
    try:
        mixture_book(opened.engine_file, opened.state)
        body = reading_entry(reading_from_row(row, ""), number or form.get("word"))
        entry = opened.keep(body)[0]
    except InputError as wrong:
        return _draw(request, opened, 422, form="reading", typed=form, error=wrong)
    return _back(opened, entry.id)


def change(request: Request, form: Form) -> Response:
    """POST /builds/{build}/mixture/change: jets, needle or screw as they are now."""
    opened = open_build(request)
    try:
        book = mixture_book(opened.engine_file, opened.state)
        said = {key: form.get(key) for key, _, _ in SETTINGS}
        works, _ = setting_entries(book, said)
    except InputError as wrong:
        return _draw(request, opened, 422, form="change", typed=form, error=wrong)
    return _back(opened, opened.keep(*works)[0].id)


def breathe(request: Request, form: Form) -> Response:
    """POST /builds/{build}/mixture/air: filter, baffles or height as they are now."""
    opened = open_build(request)
    try:
        bodies = [trim_entry(kind, form.get(kind)) for kind, _, _ in AIR if form.get(kind)]
        if not bodies:
            raise InputError("Nothing is filled in", allowed="filter, baffles or height")
    except InputError as wrong:
        return _draw(request, opened, 422, form="air", typed=form, error=wrong)
    return _back(opened, opened.keep(*bodies)[0].id)


def log(request: Request, form: Form) -> Response:
    """POST /builds/{build}/mixture/log: a sensor's log; its steady cells become readings."""
    opened = open_build(request)
    try:
        mixture_book(opened.engine_file, opened.state)
        sent = form.files.get("log")
        if sent is None:
            raise InputError("No log was chosen", allowed="a CSV file, up to 32 MB")
        names = {need: form.get(need) for need in NEEDED if form.get(need)}
        typed = form.get("delay")
        delay = parse(typed, "time", "s", "The delay").value_si if typed else None
        cleaned = clean(read_log(sent.data, sent.name, names or None), delay)
        readings = readings_of(cleaned, sent.name)
        if not readings:
            raise InputError(
                "No stretch of this log is steady enough to read", given=sent.name,
                allowed="some seconds at one opening and speed, sensor hot, no misfire",
                instead="a ride that holds each opening for three seconds",
            )  # fmt: skip
    except InputError as wrong:
        return _draw(request, opened, 422, form="log", typed=form, error=wrong)
    bodies = [reading_entry(reading, "", f"log {sent.name}"[:80]) for reading in readings]
    told = f"{len(readings)} readings out of {cleaned.seconds:.0f} s, delay {cleaned.delay:.2f} s"
    if cleaned.left_out:
        why = ", ".join(dict.fromkeys(stretch.why for stretch in cleaned.left_out[:20]))
        told += f"; left out: {why}"
    return _back(opened, opened.keep(*bodies)[0].id, log=told[:400])


def buy(request: Request, form: Form) -> Response:
    """POST /builds/{build}/mixture/buy: the jets to have ready go on the shopping list."""
    opened = open_build(request)
    states = _states(form.get("ready"))
    try:
        found = mixture_page_of(opened.row, opened.state, states)
        if found.cover is None or not found.cover.buy:
            raise InputError("There is nothing to buy for these states")
        why = "to be ready for " + "; ".join(states) if states else "to be ready"
        bodies = [
            want_entry(f"main jet {jet.mark}", count, price=jet.price or None, why=why)
            for jet, count in found.cover.buy
        ]
    except InputError as wrong:
        return _draw(request, opened, 422, form="ready", typed=form, error=wrong)
    opened.keep(*bodies)
    return see(f"{opened.home}/shopping")


def _states(asked: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in asked.split(";") if part.strip())


def _back(opened: Opened, kept: str, **more: str) -> Response:
    return see(f"{opened.home}/mixture?{urlencode({'kept': kept, **more})}#enter")
