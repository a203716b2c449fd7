"""Templates to answers: one environment, autoescape always on, one base context."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from tickover.book.entries import new_id
from tickover.book.photographs import ACCEPTED
from tickover.pages.drawing import state_mark
from tickover.tasks.simple import DONE_RIGHT
from tickover.web.assets import asset
from tickover.web.beginnings import BEGINNINGS
from tickover.web.forms import at_fault
from tickover.web.session import FIELD, keep_session, session_of, token_of

THEME_COOKIE = "tickover_theme"
THEMES = ("auto", "light", "dark")


@cache
def environment() -> Environment:
    """The templates. Undefined names are errors, all text is escaped."""
    found = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals["asset"] = asset
    found.globals["fresh"] = new_id
    found.globals["at_fault"] = at_fault
    found.globals["mark"] = _mark
    found.globals["beginnings"] = BEGINNINGS
    found.globals["pictures_accepted"] = ACCEPTED
    found.globals["done_right"] = DONE_RIGHT
    found.filters["drawn"] = _drawn
    return found


def _mark(state: str, size: int = 22) -> Markup:
    return Markup(state_mark(state, size))


def _drawn(svg: str) -> Markup:
    """A picture made by pages/drawing or a plot: markup already, escaped where it was made."""
    return Markup(svg)


def theme_of(request: Request) -> str:
    """The theme this visitor chose; 'auto' follows the device."""
    theme = request.cookies.get(THEME_COOKIE, "auto")
    return theme if theme in THEMES else "auto"


def page(request: Request, template: str, status: int = 200, **context: Any) -> Response:
    """A whole page.

    Parameters
    ----------
    request : Request
    template : str
        File in templates/.
    status : int
        HTTP status.
    **context
        What the template draws.
    """
    base: dict[str, Any] = {
        "card": None,
        "theme": theme_of(request),
        "token_field": FIELD,
        "token": token_of(session_of(request)),
        "path": request.url.path,
    }
    html = environment().get_template(template).render(base | context)
    response = HTMLResponse(html, status_code=status)
    keep_session(request, response)
    if status >= 400:
        response.headers["hx-push-url"] = "false"  # a refused form has no address of its own
    return response


def see(address: str) -> Response:
    """After a write: look at the result (303), so that reloading writes nothing twice."""
    return RedirectResponse(address, status_code=303)
