"""Wiring: circuits and sizes, new lines for the engine file, the loom, the test wire by wire."""

from __future__ import annotations

import json
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import EngineFileKept, Reading, Work
from tickover.book.entries import Entry
from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.similar import example_looms
from tickover.engine.tables.colours import COLOURS, NOT_ON_WIRES
from tickover.engine.tables.wiring import LOADS
from tickover.errors import EngineFileError, InputError, Problem
from tickover.pages.building import head_for
from tickover.pages.drawing.loom_board import board_svg
from tickover.pages.drawing.one_line import one_line
from tickover.pages.loom import LoomTestPage, loom_page, loom_test_page
from tickover.pages.wiring import wiring_page
from tickover.quantities import whole_number
from tickover.tasks.wiring.continuity import TESTS
from tickover.tasks.wiring.in_book import loom_described, wire_reading
from tickover.tasks.wiring.made import remade
from tickover.tasks.wiring.power import swap_words
from tickover.tasks.wiring.sizing import size_loom
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see
from tickover.web.undescribed import UndescribedError

ADDED: dict[str, tuple[str, tuple[tuple[str, str, str], ...]]] = {
    "wiring": ("The loom as a whole", (
        ("battery", "point where the battery is", "text"), ("fuses", "point where the fuses are",
        "text"), ("main_fuse", "main fuse, such as 25 A", "text"),
        ("generator_idle", "generator at idle, such as 5 A", "text"),
        ("generator_road", "generator on the road", "text"))),
    "branches": ("A branch", (
        ("from", "from point", "text"), ("to", "to point", "text"),
        ("length", "length, such as 420 mm", "text"), ("connector", "connector in it", "text"),
        ("ways", "its ways", "count"))),
    "circuits": ("A circuit", (
        ("name", "name", "text"), ("colour", "main colour", "text"),
        ("tracer", "tracer", "text"), ("fed_through", "fed through, names with commas", "list"),
        ("fuse", "fuse fitted, such as 10 A", "text"))),
    "switches": ("A switch or relay", (("name", "name", "text"), ("at", "at point", "text"))),
    "joints": ("A joint", (("name", "name", "text"), ("at", "at point", "text"))),
    "loads": ("A load", (
        ("name", "name", "text"), ("kind", "kind", "text"),
        ("circuit", "circuit", "text"), ("at", "at point", "text"),
        ("rated", "rated, such as 21 W", "text"), ("real", "or real current, such as 1.8 A",
        "text"), ("feed", "way there, names with commas", "list"),
        ("choice", "never on with, such as headlamp/low", "text"),
        ("lower", "lower power it may have, such as 1 W", "text"),
        ("engine_off", "on with the engine off", "yes"))),
    "starter_cables": ("A starter cable", (
        ("name", "name, such as battery to relay", "text"),
        ("length", "length between its lugs, such as 420 mm", "text"),
        ("size", "size as it is lying, in mm², such as 16", "text"),
        ("resistance", "or its resistance, of a relay or the frame, such as 0.5 mohm", "text"))),
}  # fmt: skip
"""What can be added from the page: table, its words, and its keys with their words and kind."""


def show(request: Request) -> Response:
    """GET /builds/{build}/wiring: ?lamp= compares another lamp."""
    opened = open_build(request)
    return _draw(request, opened)


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    problems: tuple[Problem, ...] = (),
    lines: str = "",
) -> Response:
    engine = opened.engine_file
    lamp = request.query_params.get("lamp", "").strip()[:80]
    powers, error = None, None
    if lamp:
        try:
            powers = swap_words(engine, (lamp,))
        except InputError as wrong:
            error, status = wrong, 422
    head = head_for(opened.row, opened.state)
    found = wiring_page(engine, opened.state, opened.state.engine_text, powers, head)
    return draw(
        request,
        opened,
        "wiring.html",
        status,
        found=found,
        here=f"{opened.home}/wiring",
        main=one_line(found.main_nodes, "To the fuses") if found.main_nodes else "",
        diagrams={c.name: one_line(c.nodes, c.name) for c in found.circuits},
        # a table that stands once is offered only while the file has none
        added={k: v for k, v in ADDED.items() if k != "wiring" or engine.wiring is None},
        looms=() if found.described else tuple(example_looms().values()),
        choices=_choices(engine),
        typed=typed,
        problems=problems,
        lines=lines,
        lamp=lamp,
        lamp_error=error,
    )


def _choices(engine: EngineFile) -> dict[str, tuple[str, ...]]:
    """What a field may hold, where that is known: by its key."""
    points = {p.casefold(): p for b in engine.branches for p in (b.start, b.end)}
    colours = tuple(code for code in COLOURS if code not in NOT_ON_WIRES)
    return {
        "kind": ("", *LOADS),
        "colour": ("", *colours),
        "tracer": ("", *colours),
        "circuit": ("", *(c.name for c in engine.circuits)) if engine.circuits else (),
        "at": ("", *points.values()) if points else (),
        "engine_off": ("", "yes"),
    }


def add(request: Request, form: Form) -> Response:
    """POST /builds/{build}/wiring: lines for the engine file, written behind what is there."""
    opened = open_build(request)
    table = form.get("table")
    if table not in ADDED:
        raise MissingError("There is no such table to add to")
    lines = _lines(table, form)
    old = opened.state.engine_text
    text = old.rstrip("\n") + "\n\n" + lines
    try:
        parse_engine_file(text, "engine file")
    except EngineFileError as error:
        return _draw(request, opened, 422, typed=form, problems=error.problems, lines=lines)
    opened.keep(EngineFileKept(text))
    return see(f"{opened.home}/wiring#add")


def _lines(table: str, form: Form) -> str:
    """The table as it is written into the engine file."""
    head = f"[{table}]" if table == "wiring" else f"[[{table}]]"
    rows = [head]
    for key, _, kind in ADDED[table][1]:
        value = form.get(key)
        if not value:
            continue
        if kind == "list":
            names = [name.strip() for name in value.split(",") if name.strip()]
            rows.append(f"{key} = {json.dumps(names, ensure_ascii=False)}")
        elif kind == "yes":
            yes = value.casefold() in ("yes", "y", "true")
            rows.append(f"{key} = {'true' if yes else 'false'}")
        elif kind == "count" and (count := whole_number(value)) is not None:
            rows.append(f"{key} = {count}")
        else:
            rows.append(f"{key} = {json.dumps(value, ensure_ascii=False)}")
    return "\n".join(rows) + "\n"


def loom(request: Request) -> Response:
    """GET /builds/{build}/wiring/loom: schedule, branches, cutting list, board."""
    opened = _described(request)
    engine = opened.engine_file
    found = loom_page(engine, head_for(opened.row, opened.state), opened.state)
    return draw(
        request,
        opened,
        "loom.html",
        found=found,
        here=f"{opened.home}/wiring/loom",
        picture=board_svg(found.board, full_size=False),
    )


def board(request: Request) -> Response:
    """GET /builds/{build}/wiring/board.svg: the loom at full size, colours in the file."""
    opened = _described(request)
    svg = board_svg(loom_page(opened.engine_file).board, embedded=True)
    name = f"{opened.row.id}-loom-board.svg"
    return Response(
        svg, media_type="image/svg+xml",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip


def _described(request: Request) -> Opened:
    opened = open_build(request)
    if not loom_described(opened.engine_file):
        raise UndescribedError(
            opened,
            "Loom",
            "No loom is described for this machine yet. One circuit with its lamp is enough to "
            "begin: the sizes of wire and fuse, the cutting list and the test follow from it.",
            "loom",
        )
    return opened


def test(request: Request) -> Response:
    """GET /builds/{build}/wiring/test: ?wire= says which; the first unread one otherwise."""
    opened = _described(request)
    return _draw_test(request, opened, request.query_params.get("wire", ""))


def _draw_test(
    request: Request,
    opened: Opened,
    number: str,
    status: int = 200,
    *,
    typed: Form | None = None,
    errors: dict[str, InputError] | None = None,
) -> Response:
    found = loom_test_page(
        opened.engine_file, opened.state, head=head_for(opened.row, opened.state)
    )
    number = number or found.next_number or found.lines[0].number
    at = next((line for line in found.lines if line.number == number), None)
    if at is None:
        raise MissingError(f"There is no wire '{number}' in this loom")
    kept = opened.state.entry(request.query_params.get("kept", ""))
    return draw(
        request,
        opened,
        "loom_test.html",
        status,
        found=found,
        at=at,
        after=_after(found, number),
        here=f"{opened.home}/wiring/test",
        counts=[
            (word, sum(line.state == word for line in found.lines))
            for word in ("out", "open", "good")
            if any(line.state == word for line in found.lines)
        ],
        typed=typed,
        errors=errors or {},
        kept=kept if kept is not None and isinstance(kept.body, Reading | Work) else None,
        **_made_anew(kept),
    )


def _made_anew(kept: Entry | None) -> dict[str, str]:
    if kept is None or not isinstance(kept.body, Work):
        return {}
    return {"kept_words": f"{', '.join(kept.body.places)}, made anew: read it again"}


def _after(found: LoomTestPage, number: str) -> str:
    numbers = [line.number for line in found.lines]
    start = numbers.index(number)
    later = [line.number for line in (*found.lines[start + 1 :], *found.lines[:start])
             if line.state == "open"]  # fmt: skip
    return later[0] if later else numbers[(start + 1) % len(numbers)]


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/wiring/test: keep what one wire showed, go on to the next."""
    opened = _described(request)
    sizing = size_loom(opened.engine_file)
    number = form.get("wire")
    run = next((w.run for w in sizing.wires if w.run.number == number), None)
    if run is None:
        raise MissingError(f"There is no wire '{number}' in this loom")
    known = {w.run.number for w in sizing.wires}
    said = {test: form.get(test.replace(" ", "_")) for test in TESTS}
    press = form.get("press")
    if press == "remade" and not any(said.values()):
        kept = opened.keep(remade(run))[0].id
        return see(f"{opened.home}/wiring/test?{urlencode({'wire': number, 'kept': kept})}#enter")
    if press == "good" and not any(said.values()):
        # With something typed, Enter presses the first button too: what is typed counts.
        said = {"end to end": "ok", "to earth": "open"}
    elif press == "open":
        said["end to end"] = "open"
    if run.side == "earth":
        said["to earth"] = ""
    errors: dict[str, InputError] = {}
    bodies = []
    for test, typed in said.items():
        if typed:
            try:
                bodies.append(wire_reading(run, test, typed, form.get("instrument"), known))
            except InputError as wrong:
                errors[test.replace(" ", "_")] = wrong
    if not bodies and not errors:
        errors["end_to_end"] = InputError(
            "Nothing is filled in", allowed="what the meter shows, or one of the buttons"
        )
    if errors:
        return _draw_test(request, opened, number, 422, typed=form, errors=errors)
    kept = opened.keep(*bodies)[0].id
    found = loom_test_page(opened.engine_file, open_build(request).state)
    then = {"wire": _after(found, number), "kept": kept}
    return see(f"{opened.home}/wiring/test?{urlencode(then)}#enter")
