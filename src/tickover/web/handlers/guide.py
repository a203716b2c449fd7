"""Starting a build and describing its machine without a text editor, one step on a page."""

from __future__ import annotations

import difflib

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import EngineFileKept
from tickover.book.entries import Entry
from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.editing import changed_text, toml_value
from tickover.engine.guided import STEPS, guide_step
from tickover.engine.limits_table import COLUMNS, EXAMPLE, take_in_limits
from tickover.engine.similar import examples
from tickover.errors import EngineFileError, InputError, Problem
from tickover.pages.drawing import plan_view
from tickover.pages.guide import LIMITS, Refused, answered, guide_page
from tickover.web.bench import bench_of
from tickover.web.forms import Form
from tickover.web.opened import Opened, card_of, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import page, see

_NEW = guide_step("machine").questions[:4]
_BUILD, _EXAMPLE = "build ", "example "


def new(request: Request) -> Response:
    """GET /new: from scratch, or from a similar machine."""
    return _new_page(request)


def _new_page(
    request: Request,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
    others: tuple[Problem, ...] = (),
    like_error: InputError | None = None,
) -> Response:
    bench = bench_of(request)
    similar = [(f"{_BUILD}{row.id}", row.name) for row in reversed(bench.store.builds())]
    similar += [(f"{_EXAMPLE}{name}", f"example: {name}") for name in examples()]
    return page(
        request,
        "new.html",
        status,
        asked=_NEW,
        similar=similar,
        typed=typed or Form(),
        errors=errors or {},
        others=others,
        like_error=like_error,
    )


def begin(request: Request, form: Form) -> Response:
    """POST /new: a build from a name, a layout and the cylinders."""
    errors: dict[str, InputError] = {}
    changes = {}
    for question in _NEW:
        try:
            changes[question.path] = toml_value(form.get(question.name), question.form)
        except InputError as error:
            errors[question.name] = error
    given = {path: value for path, value in changes.items() if value is not None}
    if errors:
        return _new_page(request, 422, typed=form, errors=errors)
    text = changed_text("", given or {("engine", "name"): ""})
    try:
        engine = parse_engine_file(text)
    except EngineFileError as error:
        names = {question.name for question in _NEW}
        for problem in error.problems:
            errors.setdefault(problem.key, InputError(
                problem.problem, given=problem.given, allowed=problem.allowed,
                instead=problem.instead))  # fmt: skip
        rest = tuple(problem for problem in error.problems if problem.key not in names)
        return _new_page(request, 422, typed=form, errors=errors, others=rest)
    return _started(request, engine.engine.name, text, "firing")


def begin_like(request: Request, form: Form) -> Response:
    """POST /new/like: a build with the engine file of a similar machine, under its own name."""
    name, chosen = form.get("name"), form.get("like")
    try:
        text = _text_of(request, chosen)
        if not name:
            raise InputError("It needs a name of its own", instead="what this machine is called")
        text = changed_text(text, {("engine", "name"): name})
        parse_engine_file(text)
    except InputError as error:
        told = InputError(f"The name cannot be kept: {error.problems[0].problem}", given=name) if (
            isinstance(error, EngineFileError)) else error  # fmt: skip
        return _new_page(request, 422, typed=form, like_error=told)
    return _started(request, name, text, "machine")


def _text_of(request: Request, chosen: str) -> str:
    if chosen.startswith(_EXAMPLE) and chosen.removeprefix(_EXAMPLE) in examples():
        return examples()[chosen.removeprefix(_EXAMPLE)]
    store = bench_of(request).store
    build_id = chosen.removeprefix(_BUILD)
    if chosen.startswith(_BUILD) and build_id in {row.id for row in store.builds()}:
        text = store.state(build_id).engine_text
        if text:
            return text
    raise InputError("Choose a machine to begin from", given=chosen,
                     allowed="one of the list")  # fmt: skip


def _started(request: Request, name: str, text: str, step: str) -> Response:
    bench = bench_of(request)
    build = bench.store.create_build(name, text, bench.clock(), bench.by)
    return see(f"/builds/{build.id}/guide?step={step}")


def show(request: Request) -> Response:
    """GET /builds/{build}/guide: ?step= which."""
    opened = open_build(request)
    key = request.query_params.get("step", STEPS[0].key)
    if key == LIMITS:
        return see(f"{opened.home}/guide/limits")
    return _draw(request, opened, key)


def _draw(
    request: Request,
    opened: Opened,
    key: str,
    status: int = 200,
    *,
    typed: Form | None = None,
    refused: Refused | None = None,
) -> Response:
    try:
        found = guide_page(opened.engine_file, opened.state.engine_text, key,
                           card_of(opened).head)  # fmt: skip
    except EngineFileError:
        return see(f"{opened.home}/engine")  # it must be read before it can be asked about
    except InputError as error:
        if not opened.state.engine_text:
            return see(f"{opened.home}/engine")
        raise MissingError(f"{error}".rstrip(".")) from error
    return draw(
        request,
        opened,
        "guide.html",
        status,
        found=found,
        here=f"{opened.home}/guide",
        picture=plan_view(opened.engine_file, {}),
        wires=_wires(opened.engine_file),
        typed=typed.typed if typed else {},
        refused=refused,
        titles={step.key: step.title for step in STEPS},
    )


def _wires(engine: EngineFile) -> str:
    """How much of a loom stands in the engine file."""
    if not engine.loads:
        return "line by line, on its own page"
    return f"{len(engine.loads)} loads, {len(engine.branches)} branches"


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/guide: the answers of one step, all of them or none."""
    opened = open_build(request)
    key = form.get("step")
    try:
        result = answered(opened.state.engine_text, key, form.typed)
    except InputError as error:
        raise MissingError(f"{error}".rstrip(".")) from error
    if isinstance(result, Refused):
        return _draw(request, opened, key, 422, typed=form, refused=result)
    if result != opened.state.engine_text:
        _kept(opened, result)
    after = guide_page(parse_engine_file(result), result, key, card_of(opened).head)
    return see(f"{opened.home}/guide?step={after.next_key}")


def _kept(opened: Opened, text: str) -> Entry:
    body = EngineFileKept(text)
    return opened.keep(body)[0]


def limits(request: Request) -> Response:
    """GET /builds/{build}/guide/limits: a whole table of limits at once."""
    return _limits_page(request, open_build(request))


def _limits_page(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: str = "",
    problems: tuple[Problem, ...] = (),
) -> Response:
    kept = opened.state.entry(request.query_params.get("kept", ""))
    return draw(
        request,
        opened,
        "limits.html",
        status,
        here=f"{opened.home}/guide",
        columns=COLUMNS,
        example=EXAMPLE,
        typed=typed,
        problems=problems,
        kept=kept,
        written=_new_lines(opened, kept) if kept is not None else (),
    )


def _new_lines(opened: Opened, kept: Entry) -> tuple[str, ...]:
    """The lines an engine file has that the one before had not."""
    files = [e for e in opened.state.entries if isinstance(e.body, EngineFileKept)]
    if kept not in files:
        return ()
    at = files.index(kept)
    before = files[at - 1].body if at else None
    old = before.text.splitlines() if isinstance(before, EngineFileKept) else []
    new_text = kept.body.text if isinstance(kept.body, EngineFileKept) else ""
    told = difflib.ndiff(old, new_text.splitlines())
    return tuple(line[2:] for line in told if line.startswith("+ ") and line[2:].strip())


def take_in(request: Request, form: Form) -> Response:
    """POST /builds/{build}/guide/limits: every row is written into the engine file, or none."""
    opened = open_build(request)
    table = form.typed.get("table", "")
    sent = form.files.get("file")
    try:
        if sent is not None:
            table = sent.text()
        found = take_in_limits(opened.state.engine_text, table)
    except EngineFileError as error:
        return _limits_page(request, opened, 422, typed=table, problems=error.problems)
    except InputError as error:
        told = Problem(None, "", error.problem, error.given, error.allowed, error.instead)
        return _limits_page(request, opened, 422, typed=table, problems=(told,))
    if found.text == opened.state.engine_text:
        return see(f"{opened.home}/guide/limits")
    return see(f"{opened.home}/guide/limits?kept={_kept(opened, found.text).id}")
