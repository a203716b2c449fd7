"""The list of builds: open one, start one from an engine file, look at the demo."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.engine import parse_engine_file
from tickover.errors import EngineFileError, InputError
from tickover.web.bench import bench_of
from tickover.web.forms import Form
from tickover.web.refusals import MissingError
from tickover.web.render import page, see


def show(request: Request) -> Response:
    """GET /: every build, and how to begin one."""
    return builds_page(request)


def builds_page(
    request: Request,
    status: int = 200,
    *,
    typed: str = "",
    error: InputError | None = None,
    zip_error: InputError | None = None,
    existing: str = "",
) -> Response:
    """The page, with what was refused beside what was typed."""
    bench = bench_of(request)
    return page(
        request,
        "builds.html",
        status,
        builds=tuple(reversed(bench.store.builds())),
        demo=bench.open_demo is not None,
        typed=typed,
        error=error,
        zip_error=zip_error,
        existing=existing,
        problems=error.problems if isinstance(error, EngineFileError) else (),
    )


def create(request: Request, form: Form) -> Response:
    """POST /builds: a new build from an engine file, pasted or sent."""
    bench = bench_of(request)
    sent = form.files.get("file")
    text = form.typed.get("engine_file", "")
    try:
        if sent is not None:
            text = sent.text()
        if not text.strip():
            raise InputError(
                "There is no engine file yet",
                allowed="a file, or its text in the box",
                instead="at least [engine] with a name, a layout and the cylinders",
            )
        name = sent.name if sent is not None else "engine.toml"
        engine_file = parse_engine_file(text, name)
    except InputError as error:
        return builds_page(request, 422, typed=text, error=error)
    build = bench.store.create_build(engine_file.engine.name, text, bench.clock(), bench.by)
    return see(f"/builds/{build.id}")


def open_demo(request: Request, form: Form) -> Response:
    """POST /demo: put the demo build into the book and go there."""
    bench = bench_of(request)
    if bench.open_demo is None:
        raise MissingError("This book offers no demo build")
    return see(f"/builds/{bench.open_demo(bench.store)}")
