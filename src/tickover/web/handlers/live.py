"""What a page that stays open asks: did somebody write since?"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tickover.errors import InputError
from tickover.web.bench import bench_of
from tickover.web.refusals import MissingError


def last(request: Request) -> Response:
    """GET /builds/{build}/last: number of the latest entry; asks the book for one row."""
    build_id = request.path_params["build"]
    try:
        return JSONResponse({"last": bench_of(request).store.last_number(build_id)})
    except InputError as error:
        raise MissingError(f"There is no build '{build_id}' in this book") from error
