"""The build record: what stands in it, and the files to hand over."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.pages.record.assembled import build_record
from tickover.pages.record.blocks import Caution, Paragraph
from tickover.web.handlers.sheets import PAPERS, paper_asked
from tickover.web.opened import Opened, draw, open_build
from tickover.web.refusals import MissingError

_ALONE = "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; sandbox"
"""The file carries its style inside it and may do nothing else: not even send a form."""


def show(request: Request) -> Response:
    """GET /builds/{build}/record: what stands in it, and where to fetch it."""
    opened = open_build(request)
    record = build_record(opened.row, opened.state)
    return draw(
        request,
        opened,
        "record.html",
        record=record,
        firsts=[(part, _first(part.blocks)) for part in record.parts],
        papers=PAPERS,
        here=f"{opened.home}/record",
    )


def _first(blocks: tuple[Any, ...]) -> str:
    """The sentence a part begins with, where it begins with one."""
    first = blocks[0] if blocks else Caution(())
    return first.text if isinstance(first, Paragraph) and first.weight == "strong" else ""


def pdf(request: Request) -> Response:
    """GET /builds/{build}/record.pdf: ?paper=a4 or letter."""
    from tickover.paper.record import record_pdf

    opened, paper = _asked(request)
    data = _made(record_pdf, opened, paper)
    return _sent(data, "application/pdf", f"{opened.row.id}-record.pdf", "attachment")


def html(request: Request) -> Response:
    """GET /builds/{build}/record.html: one file; read here, or kept with ?keep=yes."""
    from tickover.paper.record import record_html

    opened, paper = _asked(request)
    data = _made(record_html, opened, paper)
    way = "attachment" if request.query_params.get("keep") else "inline"
    answer = _sent(data, "text/html; charset=utf-8", f"{opened.row.id}-record.html", way)
    answer.headers["content-security-policy"] = _ALONE
    return answer


def _asked(request: Request) -> tuple[Opened, str]:
    return open_build(request), paper_asked(request)


def _made(make: Callable[..., bytes | str], opened: Opened, paper: str) -> bytes | str:
    bench = opened.bench
    try:
        return make(opened.row, opened.state, bench.store.get_blob, paper=paper,
                    printed_at=bench.clock())  # fmt: skip
    except InputError as error:
        raise MissingError(f"{error}".rstrip(".")) from error


def _sent(data: bytes | str, kind: str, name: str, way: str) -> Response:
    # build ids are plain letters, digits and dashes, so the name needs no quoting rules
    headers = {"content-disposition": f'{way}; filename="{name}"'}
    return Response(data, media_type=kind, headers=headers)
