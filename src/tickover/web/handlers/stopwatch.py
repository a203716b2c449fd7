"""The stopwatch of the first minutes: with script it works without a connection, without it too.

With script each touch is kept on the phone and sent to `observe` when there is a connection. The
same buttons are a plain form for browsers without; then the moment the starter was pressed stands
in the address and the seconds are reckoned here.
"""

from __future__ import annotations

import json
from datetime import datetime
from functools import cache
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tickover.book.entries import Draft, check_id, new_id
from tickover.errors import InputError
from tickover.pages.building import stopwatch_page_of
from tickover.pages.stopwatch import BUTTONS, LONGEST_S, attempt_body, observation_drafts
from tickover.web.assets import FOLDER, asset, digest
from tickover.web.forms import Form
from tickover.web.handlers.start import seconds_of
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see

PRESSED = "pressed"
_WORKER = "stopwatch-worker.js"
_OTHERS = ("icon.svg", "font/atkinson-next-latin.woff2")


def show(request: Request) -> Response:
    """GET /builds/{build}/stopwatch: without script ?attempt= and ?since= carry the clock on."""
    return _draw(request, open_build(request), request.query_params)


def _draw(
    request: Request,
    opened: Opened,
    asked: Any,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    groups = (
        ("What came of it", [b for b in BUTTONS if b.kind == "outcome"]),
        ("Seen, all well", [b for b in BUTTONS if b.kind == "sign" and not b.stop]),
        ("Stop the engine first, then touch", [b for b in BUTTONS if b.stop]),
    )
    return draw(
        request,
        opened,
        "stopwatch.html",
        status,
        found=stopwatch_page_of(opened.row, opened.state),
        groups=groups,
        here=f"{opened.home}/stopwatch",
        attempt=_attempt(asked.get("attempt", "")),
        since=_moment(asked.get("since", "")),
        typed=typed,
        error=error,
    )


def _attempt(text: str) -> str:
    """The attempt carried on; '' where the address says none that can be one."""
    try:
        return check_id(text) if text else ""
    except InputError:  # an address typed wrong: the next touch stands alone
        return ""


def _moment(text: str) -> str:
    try:
        return datetime.fromisoformat(text).isoformat() if text else ""
    except ValueError:  # likewise: then nothing is reckoned
        return ""


def touch(request: Request, form: Form) -> Response:
    """POST /builds/{build}/stopwatch: one touch without script."""
    opened = open_build(request)
    what, now = form.get("what"), opened.bench.clock()
    if what == PRESSED:
        then = {"attempt": new_id(), "since": now}
        if form.get("note") or form.get("seconds"):  # words for the next touch wait for it
            return _draw(request, opened, then, typed=form)
        return see(f"{opened.home}/stopwatch?{urlencode(then)}#touches")
    attempt, since = _attempt(form.get("attempt")), _moment(form.get("since"))
    try:
        seconds = seconds_of(form.get("seconds"))
        if seconds is None:
            seconds = _seconds_since(since, now)
        body = attempt_body(what, seconds, form.get("note"), attempt)
        opened.keep(body)
    except InputError as error:
        return _draw(request, opened, form.typed, 422, typed=form, error=error)
    on = {"attempt": attempt, "since": since} if attempt else {}
    return see(f"{opened.home}/stopwatch{'?' if on else ''}{urlencode(on)}#touches")


def _seconds_since(since: str, now: str) -> float | None:
    """Seconds by the clock of the book; None where the moment is unknown, ahead or long past."""
    if not since:
        return None
    begun, ends = datetime.fromisoformat(since), datetime.fromisoformat(now)
    if (begun.tzinfo is None) != (ends.tzinfo is None):
        return None
    passed = (ends - begun).total_seconds()
    return passed if 0 <= passed <= LONGEST_S else None


def observe(request: Request, posted: Any) -> Response:
    """POST /builds/{build}/observations: touches kept on a phone, each answered by its id.

    A touch sent again is answered as before and not doubled; a bad one loses no other.
    """
    opened = open_build(request)
    try:
        found = observation_drafts(posted, opened.state)
    except InputError as error:
        return JSONResponse({"refused": str(error)}, 422)
    kept, refused = _keep(opened, found.drafts)
    answers = [{"id": draft, "kept": number} for draft, number in kept.items()]
    answers += [{"id": each, "refused": why} for each, why in refused]
    answers += [{"id": each.id, "refused": str(each.error)} for each in found.refused]
    return JSONResponse({"answers": answers})


def _keep(
    opened: Opened, drafts: tuple[Draft, ...]
) -> tuple[dict[str, int], list[tuple[str, str]]]:
    """Keep all together; where the book refuses one of them, one by one."""

    def append(*some: Draft) -> dict[str, int]:
        entries = opened.keep(*some)
        return {entry.id: entry.number for entry in entries}

    try:
        return append(*drafts), []
    except InputError:
        kept: dict[str, int] = {}
        refused: list[tuple[str, str]] = []
        for draft in drafts:
            try:
                kept |= append(draft)
            except InputError as error:
                refused.append((draft.id, str(error)))
        return kept, refused


@cache
def _styles_and_scripts() -> tuple[str, ...]:
    names = [path.name for path in FOLDER.iterdir() if path.suffix in (".css", ".js")]
    return tuple(sorted(name for name in names if name != _WORKER))


def worker(request: Request) -> Response:
    """GET /builds/{build}/stopwatch-worker.js: opens this page again without a connection.

    Its address decides what it may touch: nothing above this build's stopwatch.
    """
    opened = open_build(request)
    facts = {
        "sum": digest(),
        "page": f"{opened.home}/stopwatch",
        "assets": [asset(name) for name in (*_styles_and_scripts(), *_OTHERS)],
    }
    script = (FOLDER / _WORKER).read_text(encoding="utf-8")
    return Response(
        f'"use strict";\nconst KEEP = {json.dumps(facts)};\n{script}',
        media_type="text/javascript; charset=utf-8",
        headers={"cache-control": "no-cache"},
    )
