"""The engine file of a build: shown, and changed line by line with its errors beside it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import EngineFileKept
from tickover.engine import parse_engine_file
from tickover.errors import EngineFileError, FileError, Problem
from tickover.pages.drawing import plan_view
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see


def show(request: Request) -> Response:
    """GET /builds/{build}/engine: the file, the engine drawn from it, what falls away."""
    opened = open_build(request)
    return _page(request, opened, opened.state.engine_text)


def _page(
    request: Request,
    opened: Opened,
    text: str,
    status: int = 200,
    problems: tuple[Problem, ...] = (),
    file_error: FileError | None = None,
) -> Response:
    engine_file = None
    if opened.state.engine_text:
        try:
            engine_file = opened.engine_file
        except EngineFileError as error:  # kept by a Tickover that asked for less
            problems = problems or error.problems
    kept = opened.state.engine_file
    return draw(
        request,
        opened,
        "engine.html",
        status,
        action=f"{opened.home}/engine",
        text=text,
        refused=status != 200,
        problems=problems,
        file_error=file_error,
        picture=plan_view(engine_file, {}) if engine_file else "",
        fallen_away=engine_file.fallen_away() if engine_file else (),
        kept=f"entry {kept.number}" if kept else "",
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/engine: keep the changed file as an entry, if it is sound."""
    opened = open_build(request)
    text = form.typed.get("engine_file", "")
    sent = form.files.get("file")
    try:
        if sent is not None:
            text = sent.text()
    except FileError as error:
        return _page(request, opened, text, 422, file_error=error)
    try:
        parse_engine_file(text, "engine file")
    except EngineFileError as error:
        return _page(request, opened, text, 422, error.problems)
    if text != opened.state.engine_text:
        opened.keep(EngineFileKept(text))
    return see(f"{opened.home}/engine")
