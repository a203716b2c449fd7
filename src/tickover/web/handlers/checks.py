"""All checks of a build, and one of them: what to do now, and what was found."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Acceptance, StrikeOut
from tickover.errors import InputError
from tickover.pages.building import check_page_of, checks_page_of
from tickover.pages.checks import CheckGroup, ChecksPage
from tickover.pages.pictures import check_subject
from tickover.plan.next import STAGES
from tickover.tasks.answers import example_of
from tickover.tasks.ignition import LEADS
from tickover.web.checking import (
    after,
    by_name,
    check_href,
    check_of,
    entry_href,
    stage_of,
    typed_bodies,
)
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.photographs import needs_one, picture_body, sent_picture
from tickover.web.refusals import MissingError
from tickover.web.render import see

ALL = "all"
AT_FIRST = 4  # steps shown before the fold
COUNTED = ("out", "undecided", "stale", "open", "good", "accepted")


def show(request: Request) -> Response:
    """GET /builds/{build}/checks: ?stage= the checks before that stage, or 'all'."""
    opened = open_build(request)
    asked = request.query_params.get("stage", "")
    stage = stage_of(asked)
    every = checks_page_of(opened.row, opened.state, STAGES[-1] if asked == ALL else stage)
    found = every if asked == ALL else _before(every, stage)
    rows = [row for group in found.groups for row in group.rows]
    counts = [(word, sum(row.state == word for row in rows)) for word in COUNTED]
    now = [step for step in found.next_steps if not step.waits_for]
    waiting = [step for step in found.next_steps if step.waits_for]
    return draw(
        request,
        opened,
        "checks.html",
        found=found,
        here=f"{opened.home}/checks",
        stage=ALL if asked == ALL else stage,
        stages=STAGES,
        left_out=sum(len(group.rows) for group in every.groups) - len(rows),
        now=now,
        at_first=AT_FIRST,
        waiting=waiting,
        counts=[(word, count) for word, count in counts if count],
        href=lambda row: check_href(opened.home, row.name, row.place),
        by_name=by_name,
    )


def _before(found: ChecksPage, stage: str) -> ChecksPage:
    """The groups with only those checks that are required up to a stage."""
    wanted = set(STAGES[: STAGES.index(stage_of(stage)) + 1])
    groups = []
    for group in found.groups:
        rows = tuple(row for row in group.rows if wanted & set(row.required))
        if rows:
            groups.append(CheckGroup(group.title, group.line, rows))
    return replace(found, groups=tuple(groups))


def one(request: Request) -> Response:
    """GET /builds/{build}/check: ?name= and ?place= say which."""
    opened = open_build(request)
    asked = request.query_params
    return _draw(request, opened, asked.get("name", ""), asked.get("place", ""),
                 stage=asked.get("stage", ""))  # fmt: skip


def _draw(
    request: Request,
    opened: Opened,
    name: str,
    place: str,
    status: int = 200,
    *,
    stage: str = "",
    typed: Form | None = None,
    error: InputError | None = None,
    accept_error: InputError | None = None,
    strike_error: tuple[str, InputError] | None = None,
    picture_error: InputError | None = None,
) -> Response:
    item = check_of(opened, name, place)
    found = check_page_of(opened.row, opened.state, name, place)
    steps = checks_page_of(opened.row, opened.state, stage_of(stage)).next_steps
    ready = [s.row for s in steps if not s.waits_for and (s.row.name, s.row.place) != (name, place)]
    return draw(
        request,
        opened,
        "check.html",
        status,
        found=found,
        here=f"{opened.home}/check",
        stage=stage_of(stage) if stage else "",
        typed=typed,
        error=error,
        accept_error=accept_error,
        strike_error=strike_error,
        picture_error=picture_error,
        pictures=opened.state.pictures(check_subject(name, place)),
        example=example_of(item.check) if item.check.group != "fits" else "",
        by_order=name == LEADS,
        entered_at=entry_href(opened.home, found.wanted.page or item.check.group, name, place),
        href=lambda row: check_href(opened.home, row.name, row.place),
        next_row=ready[0] if ready else None,
    )


def answer(request: Request, form: Form) -> Response:
    """POST /builds/{build}/check: keep what was found, go on to the next step."""
    opened = open_build(request)
    item = check_of(opened, form.get("name"), form.get("place"))
    try:
        bodies = typed_bodies(opened, item.check, form)
    except InputError as error:
        return _draw(request, opened, item.check.name, item.check.place, 422,
                     stage=form.get("stage"), typed=form, error=error)  # fmt: skip
    kept = opened.keep(*bodies)
    stage = stage_of(form.get("stage"))
    return see(after(open_build(request), item.check, stage, kept[0].id))


def accept(request: Request, form: Form) -> Response:
    """POST /builds/{build}/check/accept: a person takes responsibility, with a reason."""
    opened = open_build(request)
    item = check_of(opened, form.get("name"), form.get("place"))
    name, place = item.check.key
    try:
        if item.settled:
            raise InputError("There is nothing to accept: it is settled")
        body = Acceptance(name, place, form.get("reason"))
    except InputError as error:
        return _draw(request, opened, name, place, 422, typed=form, accept_error=error)
    kept = opened.keep(body)
    return see(check_href(opened.home, name, place, kept=kept[0].id))


def picture(request: Request, form: Form) -> Response:
    """POST /builds/{build}/check/picture: a photograph of what was found."""
    opened = open_build(request)
    name, place = check_of(opened, form.get("name"), form.get("place")).check.key
    try:
        data = sent_picture(form)
        needs_one(data)
        about = check_subject(name, place)
        body = picture_body(opened, data, form.get("caption"), about)
        opened.keep(body)
    except InputError as error:
        return _draw(request, opened, name, place, 422, typed=form, picture_error=error)
    return see(f"{check_href(opened.home, name, place)}#pictures")


def strike(request: Request, form: Form) -> Response:
    """POST /builds/{build}/check/strike: a reading of this check counts for nothing from now on."""
    opened = open_build(request)
    name, place = check_of(opened, form.get("name"), form.get("place")).check.key
    entry = opened.state.entry(form.get("entry"))
    if entry is None:
        raise MissingError("There is no such entry in this book")
    try:
        if opened.state.is_struck(entry.id):
            raise InputError(f"Entry {entry.number} is struck out already")
        body = StrikeOut(entry.id, form.get("reason"))
    except InputError as error:
        return _draw(request, opened, name, place, 422, typed=form, strike_error=(entry.id, error))
    opened.keep(body)
    return see(f"{check_href(opened.home, name, place)}#readings")
