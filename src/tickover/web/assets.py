"""Style sheets, typeface and script: addressed by their content, kept by browsers for a year."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

FOLDER = Path(__file__).parent / "static"
KEEP = "public, max-age=31536000, immutable"


@cache
def digest() -> str:
    """One sum over all files: a changed file changes every address, none can be stale."""
    total = hashlib.sha256()
    for path in sorted(p for p in FOLDER.rglob("*") if p.is_file()):
        total.update(path.relative_to(FOLDER).as_posix().encode() + b"\0")
        total.update(path.read_bytes() + b"\0")
    return total.hexdigest()[:16]


def asset(name: str) -> str:
    """Address of a file in static/."""
    return f"/static/{digest()}/{name}"


class Assets(StaticFiles):
    """Serves /static/<digest>/<name>; an old digest gets today's file, unkept."""

    def __init__(self) -> None:
        super().__init__(directory=FOLDER)

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Drop the digest from the path and set how long to keep the answer."""
        given, _, name = path.partition("/")
        response = await super().get_response(name, scope)
        if response.status_code in (200, 206, 304):
            fresh = given == digest()
            response.headers["cache-control"] = KEEP if fresh else "no-cache"
        return response
