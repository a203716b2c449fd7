"""A build out of the book as one zip, readings as a table, and a build back in."""

from __future__ import annotations

import io

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.exchange import Existing, export_build, import_build
from tickover.book.readings import readings_to_csv
from tickover.errors import InputError
from tickover.web.bench import bench_of
from tickover.web.forms import Form
from tickover.web.handlers.builds import builds_page
from tickover.web.opened import open_build
from tickover.web.render import see

_EXISTING: dict[str, Existing] = {"": "refuse", "continue": "continue", "copy": "copy"}


def _attachment(data: bytes, kind: str, name: str) -> Response:
    # build ids are plain letters, digits and dashes, so the name needs no quoting rules
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=kind, headers=headers)


def export(request: Request) -> Response:
    """GET /builds/{build}/export.zip: the whole build with its checksums."""
    opened = open_build(request)
    target = io.BytesIO()
    export_build(opened.bench.store, opened.row.id, target)
    return _attachment(target.getvalue(), "application/zip", f"{opened.row.id}.zip")


def readings(request: Request) -> Response:
    """GET /builds/{build}/readings.csv: every reading that counts, for a spreadsheet."""
    opened = open_build(request)
    table = readings_to_csv(opened.state.readings())
    return _attachment(
        table.encode("utf-8"), "text/csv; charset=utf-8", f"{opened.row.id}-readings.csv"
    )


def bring_in(request: Request, form: Form) -> Response:
    """POST /import: a build from such a zip; it comes back exactly as it was."""
    bench = bench_of(request)
    sent = form.files.get("zip")
    try:
        if sent is None:
            raise InputError(
                "No file was chosen", allowed="a zip that Tickover wrote", instead="choose one"
            )
        existing = _EXISTING.get(form.get("existing"), "refuse")
        build = import_build(bench.store, io.BytesIO(sent.data), existing)
    except InputError as error:
        return builds_page(request, 422, zip_error=error, existing=form.get("existing"))
    return see(f"/builds/{build.id}")
