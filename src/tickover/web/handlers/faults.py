"""Will not start, and 'runs, but': the next thing to look at, answered step by step."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Body
from tickover.errors import InputError
from tickover.pages.building import fault_page_of, states_of
from tickover.plan.faultfinding import (
    SYMPTOMS,
    Knowledge,
    answer_entry,
    begin_entry,
    knowledge,
    looked_entry,
    session_of,
)
from tickover.tasks.valves.in_book import CLEARANCE
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see
from tickover.web.striking import strike_out

FIRST = "will not start"
LIKELY = 6
"""Causes shown before the fold."""


def show(request: Request) -> Response:
    """GET /builds/{build}/why: ?symptom= which."""
    return _draw(request, open_build(request), _symptom(request.query_params.get("symptom", "")))


def _symptom(word: str) -> str:
    if word and word not in SYMPTOMS:
        raise MissingError(f"Nothing is known about '{word[:40]}'")
    return word or FIRST


def _address(opened: Opened, symptom: str, at: str = "next") -> str:
    return f"{opened.home}/why?{urlencode({'symptom': symptom})}#{at}"


def _draw(
    request: Request,
    opened: Opened,
    symptom: str,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    found = fault_page_of(opened.row, opened.state, symptom)
    return draw(
        request,
        opened,
        "why.html",
        status,
        found=found,
        here=f"{opened.home}/why",
        symptoms=[(word, title, _address(opened, word, "main")) for word, title in found.symptoms],
        prove_again=_proof(opened, found.next.words) if found.next.kind == "check" else "",
        likely=LIKELY,
        typed=typed,
        error=error,
    )


def _proof(opened: Opened, check: str) -> str:
    """Where a stale check of this name is proved again."""
    stale = next(
        (
            item.check.place
            for item in states_of(opened.state)
            if item.check.name == check and item.state == "stale"
        ),
        "",
    )
    if check == CLEARANCE:
        return f"{opened.home}/valves?{urlencode({'at': stale})}#enter"
    return f"{opened.home}/check?{urlencode({'name': check, 'place': stale})}"


def begin(request: Request, form: Form) -> Response:
    """POST /builds/{build}/why/begin: begin; earlier answers count no more."""
    opened = open_build(request)
    symptom = _symptom(form.get("symptom"))
    opened.keep(begin_entry(knowledge(symptom)))
    return see(_address(opened, symptom))


def answer(request: Request, form: Form) -> Response:
    """POST /builds/{build}/why: an answer to a question; begins where nobody has yet."""
    opened = open_build(request)
    symptom = _symptom(form.get("symptom"))
    known, asked, said = knowledge(symptom), form.get("question"), form.get("outcome")
    body = answer_entry(known, asked, said)
    opened.keep(*_begun(opened, known, body))
    return see(_address(opened, symptom))


def looked(request: Request, form: Form) -> Response:
    """POST /builds/{build}/why/looked: looked at a cause: it was this, or it was not."""
    opened = open_build(request)
    symptom = _symptom(form.get("symptom"))
    known, cause, said = knowledge(symptom), form.get("cause"), form.get("found")
    if said not in ("yes", "no"):
        raise InputError("A look needs what came of it", allowed="it was this, it was not")
    body = looked_entry(known, cause, said == "yes")
    opened.keep(*_begun(opened, known, body))
    return see(_address(opened, symptom))


def _begun(opened: Opened, known: Knowledge, body: Body) -> list[Body]:
    under_way = session_of(known, opened.state).under_way
    return [body] if under_way else [begin_entry(known), body]


def strike(request: Request, form: Form) -> Response:
    """POST /builds/{build}/why/strike: an answer or a look was wrong; a reason is needed."""
    opened = open_build(request)
    symptom = _symptom(form.get("symptom"))
    found = fault_page_of(opened.row, opened.state, symptom)
    try:
        strike_out(opened, form, {line.id for line in (*found.answers, *found.looked)})
    except InputError as error:
        return _draw(request, opened, symptom, 422, typed=form, error=error)
    return see(_address(opened, symptom, "so-far"))
