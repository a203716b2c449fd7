"""A build's own page: where are we, what next, what stops us; loose ends, work, acceptance."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import (
    Acceptance,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Work,
)
from tickover.book.entries import Draft
from tickover.errors import InputError
from tickover.pages.build import BuildPage
from tickover.pages.building import build_page_of, sheets_page_of
from tickover.pages.drawing import PartMark, plan_view
from tickover.plan.staleness import TABLE
from tickover.web.checking import by_name, check_href
from tickover.web.forms import Form
from tickover.web.once import first_id
from tickover.web.opened import Opened, draw, open_build
from tickover.web.photographs import picture_body, sent_picture
from tickover.web.pictures import both_widths
from tickover.web.refusals import MissingError
from tickover.web.render import see

NEXT = 3  # steps shown at once
WORK_KINDS = tuple(dict.fromkeys(rule.work for rule in TABLE))


def show(request: Request) -> Response:
    """GET /builds/{build}."""
    opened = open_build(request)
    if not opened.state.engine_text:
        return see(f"{opened.home}/engine")
    return _draw(request, opened)


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    found = build_page_of(opened.row, opened.state)
    return draw(
        request,
        opened,
        "build.html",
        status,
        found=found,
        pictures=_pictures(opened, found),
        now=found.ready[:NEXT],
        more=len(found.ready) - NEXT,
        undone=by_name(found.undone),
        sheets=sum(len(lines) for _, lines in sheets_page_of(opened.row, opened.state).groups),
        href=lambda name, place: check_href(opened.home, name, place),
        loose=tuple((end, _open_loose(opened, end.id)) for end in found.head.loose_ends),
        places=tuple(each.name for each in opened.engine_file.places()),
        work_kinds=WORK_KINDS,
        typed=typed,
        errors=errors or {},
    )


def _open_loose(opened: Opened, end_id: str) -> str:
    entry = opened.state.entry(end_id)
    return f"entry {entry.number}" if entry else ""


def _pictures(opened: Opened, found: BuildPage) -> tuple[tuple[str, str], ...]:
    unit = f" {found.engine.show.unit('clearance')}"
    marks = {
        place: PartMark(
            part.state,
            "no gap" if part.label.startswith("no gap") else part.label.removesuffix(unit),
            check_href(opened.home, part.check, place),
            part.more,
        )
        for place, part in found.parts.items()
    }
    valves = any(place.startswith(("in", "ex")) for place in marks)
    note = f"Touch a part. Clearances in{unit}." if valves else "Touch a part." if marks else ""
    return both_widths(lambda width: plan_view(found.engine, marks, note=note, width=width))


def open_loose_end(request: Request, form: Form) -> Response:
    """POST /builds/{build}/loose: something was left off, open or bypassed on purpose."""
    opened = open_build(request)
    label = form.get("label")
    try:
        if not label:
            raise InputError("Nothing is written yet", instead="a few words")
        opened.keep(LooseEndOpened(label))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, errors={"label": error})
    return see(f"{opened.home}#loose-ends")


def note(request: Request, form: Form) -> Response:
    """POST /builds/{build}/note: a note for the book, a photograph, or both."""
    opened = open_build(request)
    words = form.get("note")
    errors: dict[str, InputError] = {}
    data = b""
    try:
        data = sent_picture(form)
    except InputError as error:
        errors["picture"] = error
    if not errors:
        try:
            if not words and not data:
                raise InputError("Nothing is written yet", instead="a few words, or a picture")
            first = first_id(request)
            drafts = [Draft(Note(words), first)] if words else []
            if data:
                drafts.append(Draft(picture_body(opened, data, words, first if words else "")))
            opened.keep(*drafts)
        except InputError as error:
            errors["note"] = error
    if errors:
        return _draw(request, opened, 422, typed=form, errors=errors)
    return see(f"{opened.home}#write")


def close_loose_end(request: Request, form: Form) -> Response:
    """POST /builds/{build}/loose/close: it is back in place."""
    opened = open_build(request)
    end_id = form.get("end")
    if end_id not in {end.id for end in opened.state.open_loose_ends}:
        raise MissingError("This loose end is not open any more")
    opened.keep(LooseEndClosed(end_id))
    return see(f"{opened.home}#loose-ends")


def work(request: Request, form: Form) -> Response:
    """POST /builds/{build}/work: work done, which makes the right checks stale."""
    opened = open_build(request)
    kind, place = form.get("work"), form.get("place")
    known = {each.name for each in opened.engine_file.places()}
    error = None
    if kind not in WORK_KINDS:
        error = InputError("This kind of work is not known", given=kind,
                           allowed=", ".join(WORK_KINDS))  # fmt: skip
    elif place and place not in known:
        error = InputError("There is no such valve on this engine", given=place,
                           allowed=", ".join(known))  # fmt: skip
    if error is not None:
        return _draw(request, opened, 422, typed=form, errors={"work": error})
    opened.keep(Work(kind, (place,) if place else ()))
    return see(opened.home)


def accept(request: Request, form: Form) -> Response:
    """POST /builds/{build}/accept: a person takes responsibility for a check, with a reason."""
    opened = open_build(request)
    check, place = form.get("check"), form.get("place")
    found = build_page_of(opened.row, opened.state)
    if (check, place) not in found.keys:
        raise MissingError("There is no such check on this engine")
    try:
        opened.keep(Acceptance(check, place, form.get("reason")))
    except InputError as error:
        return _draw(request, opened, 422, typed=form, errors={"accept": error})
    return see(f"{opened.home}#stops")
