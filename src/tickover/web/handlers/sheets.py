"""The sheets to print: which there are for this machine, and each as PDF."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.building import sheets_page_of
from tickover.pages.sheet_list import SHEET_LINES
from tickover.web.opened import draw, open_build
from tickover.web.refusals import MissingError

PAPERS = {"a4": "A4", "letter": "Letter"}
USUAL = "a4"


def paper_asked(request: Request) -> str:
    """The paper an address names with ?paper=.

    Raises
    ------
    MissingError
        There is no such paper.
    """
    paper = request.query_params.get("paper", USUAL)
    if paper not in PAPERS:
        raise MissingError("There is no such paper; sheets print on A4 and on Letter")
    return paper


def show(request: Request) -> Response:
    """GET /builds/{build}/sheets: ?paper=a4 or letter."""
    opened = open_build(request)
    paper = paper_asked(request)
    return draw(
        request,
        opened,
        "sheets.html",
        found=sheets_page_of(opened.row, opened.state),
        here=f"{opened.home}/sheets",
        papers=PAPERS,
        paper=paper,
        asked="" if paper == USUAL else f"?paper={paper}",
    )


def pdf(request: Request) -> Response:
    """GET /builds/{build}/sheets/{sheet}.pdf: ?paper=a4 or letter."""
    from tickover.paper.sheets import print_sheet

    opened = open_build(request)
    name, paper = request.path_params["sheet"], paper_asked(request)
    if name not in SHEET_LINES:
        raise MissingError(f"There is no sheet '{name}'")
    bench = opened.bench
    try:
        data = print_sheet(name, opened.row, opened.state, bench.store.get_blob, paper=paper,
                           printed_at=bench.clock())  # fmt: skip
    except InputError as error:  # a sheet of what this machine does not have
        raise MissingError(f"{error}".rstrip(".")) from error
    # build ids are plain letters, digits and dashes, so the name needs no quoting rules
    headers = {"content-disposition": f'attachment; filename="{opened.row.id}-{name}.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)
