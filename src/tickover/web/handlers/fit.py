"""Fit to start, to ride, for hand-over: yes, or no and exactly why; kept with what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Acceptance
from tickover.book.store import BookMovedOn
from tickover.errors import InputError
from tickover.pages.building import answer_of, fit_page_of
from tickover.pages.check_line import CheckLine
from tickover.pages.fitness import FitPage
from tickover.pages.wording import place_words
from tickover.plan.fit import LOOSE_END
from tickover.quantities import whole_number
from tickover.tasks.finding import Stage
from tickover.tasks.valves.in_book import CLEARANCE
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError
from tickover.web.render import see

_STAGES: dict[str, Stage] = {stage: stage for stage in get_args(Stage)}


def show(request: Request) -> Response:
    """GET /builds/{build}/fit: ?stage=riding or hand-over, the first start otherwise."""
    return _draw(request, open_build(request), _stage(request.query_params.get("stage", "")))


def _stage(word: str) -> Stage:
    if not word:
        return "first start"
    if word not in _STAGES:
        raise MissingError(f"There is no stage '{word[:40]}'")
    return _STAGES[word]


def _address(opened: Opened, stage: Stage) -> str:
    asked = "" if stage == "first start" else f"?{urlencode({'stage': stage})}"
    return f"{opened.home}/fit{asked}"


def _draw(
    request: Request,
    opened: Opened,
    stage: Stage,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
    moved_on: bool = False,
) -> Response:
    found = fit_page_of(opened.row, opened.state, stage)
    return draw(
        request,
        opened,
        "fit.html",
        status,
        found=found,
        here=f"{opened.home}/fit",
        stages=[(word, title, _address(opened, _stage(word))) for word, title in found.stages],
        blockers=_grouped(opened.home, found.blockers),
        to_accept=[(key, words) for key, (_, _, words) in _to_accept(found).items()],
        seen=opened.state.last_number,
        typed=typed,
        error=error,
        moved_on=moved_on,
    )


@dataclass(frozen=True, slots=True)
class Group:
    """Blockers alike but for their place: the first of them, and each place with its address."""

    line: CheckLine
    ways: list[tuple[str, str]]


def _grouped(home: str, blockers: tuple[CheckLine, ...]) -> list[Group]:
    groups: dict[tuple[str, ...], Group] = {}
    for number, line in enumerate(blockers):
        alone = str(number) if line.name == LOOSE_END else ""
        key = (line.name, line.state, line.text, line.way_out, alone)
        group = groups.setdefault(key, Group(line, []))
        group.ways.append((place_words(line.place), way_out(home, line)))
    return list(groups.values())


def way_out(home: str, line: CheckLine) -> str:
    """Where to go to put one thing right."""
    if line.name == LOOSE_END:
        return f"{home}/loose-ends"
    if line.name == CLEARANCE:
        return f"{home}/valves?{urlencode({'at': line.place})}#enter"
    return f"{home}/check?{urlencode({'name': line.name, 'place': line.place})}"


def _to_accept(found: FitPage) -> dict[str, tuple[str, str, str]]:
    """What can be accepted, by its key in the form: check, place and words."""
    rows = {}
    for line, loose in zip(found.blockers, found.loose_ids, strict=True):
        place = loose or line.place
        words = f"{line.title}: {line.text}".rstrip(": ")
        rows[f"{line.name}|{place}"] = (line.name, place, words)
    return rows


def record(request: Request, form: Form) -> Response:
    """POST /builds/{build}/fit: keep the answer as it was seen, with a sum over all under it."""
    opened = open_build(request)
    stage = _stage(form.get("stage"))
    seen = form.get("seen")
    bench = opened.bench
    try:
        bench.store.append(
            opened.row.id,
            answer_of(opened.state, stage),
            at=bench.clock(),
            by=bench.by,
            expect_number=-1 if (number := whole_number(seen)) is None else number,
        )
    except BookMovedOn:
        return _draw(request, open_build(request), stage, 409, moved_on=True)
    return see(f"{_address(opened, stage)}#record")


def accept(request: Request, form: Form) -> Response:
    """POST /builds/{build}/fit/accept: a person takes responsibility for one, with a reason."""
    opened = open_build(request)
    stage = _stage(form.get("stage"))
    rows = _to_accept(fit_page_of(opened.row, opened.state, stage))
    wanted = rows.get(form.get("which"))
    if wanted is None:
        raise MissingError("This does not stand in the way any more")
    check, place, _ = wanted
    try:
        body = Acceptance(check, place, form.get("reason"))
    except InputError as error:
        return _draw(request, opened, stage, 422, typed=form, error=error)
    opened.keep(body)
    return see(f"{_address(opened, stage)}#accepted")
