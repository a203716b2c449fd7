"""Errors to pages, once: what happened, and what to do."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from tickover.errors import (
    BookBusy,
    BookDamaged,
    BookError,
    BookNewer,
    BookUnwritable,
    EngineFileError,
    InputError,
)
from tickover.web.forms import TokenMissingError
from tickover.web.guard import TooLargeError, too_large_words
from tickover.web.render import page

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow

_WORDS = {
    400: ("This request is broken", "Nothing was written. Go back and try it again."),
    404: ("Nothing here", "This address leads nowhere. It may have been typed wrong."),
    405: ("Not this way", "This address is not for that. Nothing was written."),
    415: ("Not a form", "Only forms of these pages are read here. Nothing was written."),
}
_BOOK_ADVICE: tuple[tuple[type[BookError], int, str], ...] = (
    (BookBusy, 503, "Somebody else is writing just now. Wait a moment, go back, press it again."),
    (BookUnwritable, 507, "Nothing was written. Make room on the disk, go back, press it again."),
    (BookNewer, 500, "Open this book with the newer Tickover."),
    (BookDamaged, 500, "Nothing was changed. Bring back the last export, or a copy of the file."),
)


class MissingError(Exception):
    """There is no such build, entry or part.

    Parameters
    ----------
    what : str
        As the start of a sentence: "There is no build 'x' in this book".
    """


def refuse(
    request: Request,
    status: int,
    heading: str,
    advice: str,
    wrong: InputError | None = None,
    problems: Sequence[object] = (),
    build: BuildRow | None = None,
) -> Response:
    """A page for a refusal; it leads back to the build, where one is given.

    None is given to who was not let in: the name of a build is not theirs to read.
    """
    return page(
        request, "refusal.html", status,
        heading=heading, advice=advice, wrong=wrong, problems=problems, build=build,
    )  # fmt: skip


def _build_of(request: Request) -> BuildRow | None:
    found = re.match(r"/builds/([^/]+)", request.url.path)
    if found is None:
        return None
    try:
        return cast("BuildRow", request.app.state.bench.store.build(found[1]))
    except (InputError, BookError):
        return None


def on_http(request: Request, error: Exception) -> Response:
    """404, 405 and the like."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    heading, advice = _WORDS.get(status, _WORDS[400])
    response = refuse(request, status, heading, advice, build=_build_of(request))
    if isinstance(error, HTTPException) and error.headers:
        response.headers.update(error.headers)
    return response


def on_missing(request: Request, error: Exception) -> Response:
    """Something a page was asked for is not there."""
    return refuse(request, 404, "Nothing here", f"{error}.", build=_build_of(request))


def on_input(request: Request, error: Exception) -> Response:
    """Something given that no form of its own takes back."""
    wrong = error if isinstance(error, InputError) else None
    writing = request.method == "POST"
    return refuse(
        request,
        422,
        "This cannot be used" if writing else "This page cannot be drawn yet",
        "Nothing was written. Go back: what you typed is still there."
        if writing
        else "Something has to be put right first.",
        wrong,
        error.problems if isinstance(error, EngineFileError) else (),
        _build_of(request),
    )


def on_book(request: Request, error: Exception) -> Response:
    """The book cannot be read or written."""
    for kind, status, advice in _BOOK_ADVICE:
        if isinstance(error, kind):
            return refuse(request, status, f"{error}".rstrip("."), advice)
    return refuse(request, 500, f"{error}".rstrip("."), "Nothing was written.")


def on_too_large(request: Request, error: Exception) -> Response:
    """A body that ran past the limit while it was read."""
    limit = error.limit if isinstance(error, TooLargeError) else 0
    return refuse(request, 413, *too_large_words(limit))


def on_token(request: Request, error: Exception) -> Response:
    """A form without its token."""
    return refuse(
        request,
        403,
        "This form is not from this visit",
        "Nothing was written. Go back, load the page again, press the button once more. "
        "Cookies must be allowed for this address.",
    )


def on_gone(request: Request, error: Exception) -> Response:
    """Whoever sent it left before all of it was here: nothing was written, and nobody listens."""
    return refuse(request, 400, *_WORDS[400])


def on_failure(request: Request, error: Exception) -> Response:
    """A fault of ours."""
    return refuse(
        request,
        500,
        "Tickover made a mistake",
        "What was written before is safe. Go back and try it again; if it happens again, "
        "export the build and report it with the time of day.",
    )


HANDLERS = {
    HTTPException: on_http,
    MissingError: on_missing,
    InputError: on_input,
    BookError: on_book,
    TooLargeError: on_too_large,
    TokenMissingError: on_token,
    ClientDisconnect: on_gone,
    500: on_failure,
}
