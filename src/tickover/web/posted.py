"""What a script of our own pages sends: JSON with its token in a header."""

from __future__ import annotations

import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request

from tickover.errors import InputError
from tickover.web.forms import TokenMissingError
from tickover.web.guard import TooLargeError
from tickover.web.session import token_fits

TOKEN_HEADER = "tickover-token"
LARGEST_POSTED = 1_000_000
"""[bytes]"""


async def read_posted(request: Request) -> Any:
    """Read JSON after its token was checked.

    Raises
    ------
    TokenMissingError
        If the token is not the one of this session.
    HTTPException
        415 for something that does not say it is JSON.
    TooLargeError
        Over `LARGEST_POSTED`.
    InputError
        It is not JSON.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise HTTPException(415)
    if not token_fits(request, request.headers.get(TOKEN_HEADER, "")):
        raise TokenMissingError
    data = bytearray()
    async for part in request.stream():
        data += part
        if len(data) > LARGEST_POSTED:
            raise TooLargeError(LARGEST_POSTED)
    try:
        return json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise InputError("This is not JSON", allowed="a list of touches") from error
