"""A page of a build whose engine file does not describe its part yet: what to write, and where."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.web.opened import Opened, draw
from tickover.web.refusals import MissingError


class UndescribedError(MissingError):
    """The engine file says nothing about what a page shows.

    Parameters
    ----------
    opened : Opened
    title : str
        Of the page as it would be.
    sentence : str
        What is missing and what its lines bring.
    part : str
        Of `BEGINNINGS`: the lines that bring the page to life.
    """

    def __init__(self, opened: Opened, title: str, sentence: str, part: str) -> None:
        super().__init__(sentence.rstrip("."))
        self.opened, self.title, self.sentence, self.part = opened, title, sentence, part


def on_undescribed(request: Request, error: Exception) -> Response:
    """The page in its empty state; a form sent to it finds nothing to be kept for."""
    assert isinstance(error, UndescribedError)
    return draw(
        request,
        error.opened,
        "undescribed.html",
        404 if request.method == "POST" else 200,
        title=error.title,
        sentence=error.sentence,
        part=error.part,
    )
