"""Light, dark, or as the device is: kept in a cookie, works without script."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.web.forms import Form
from tickover.web.render import THEME_COOKIE, THEMES, see
from tickover.web.session import set_cookie

_OWN_PATH = re.compile(r"/(?![/\\])[^\s\\]*")


def choose(request: Request, form: Form) -> Response:
    """POST /theme: keep the choice and go back to the page it was made on."""
    theme = form.get("theme")
    if theme not in THEMES:
        raise InputError("There is no such theme", given=theme, allowed=", ".join(THEMES))
    back = form.get("back")
    response = see(back if _OWN_PATH.fullmatch(back) else "/")
    set_cookie(response, THEME_COOKIE, theme, secure=request.url.scheme == "https")
    return response
