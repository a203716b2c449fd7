"""A visitor's session: one random cookie, and the token that every form must carry.

The token is made from the cookie, so nothing is kept on the server and a restart does not
spoil a form that is being filled in. A page of another site can make a browser send the
cookie's request, but can read neither cookie nor page, so it cannot know the token.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

from starlette.requests import Request
from starlette.responses import Response

COOKIE = "tickover_session"
FIELD = "token"
_MONTH = 30 * 24 * 3600
_WELL_FORMED = re.compile(r"[A-Za-z0-9_-]{43}")


def session_of(request: Request) -> str:
    """The session of this request; a new one where it has none worth the name."""
    known = getattr(request.state, "session", "")
    if known:
        return str(known)
    cookie = request.cookies.get(COOKIE, "")
    session = cookie if _WELL_FORMED.fullmatch(cookie) else secrets.token_urlsafe(32)
    request.state.session = session
    return session


def token_of(session: str) -> str:
    """The token for the forms of one session."""
    return hmac.new(session.encode(), b"tickover form", hashlib.sha256).hexdigest()


def token_fits(request: Request, token: str) -> bool:
    """Whether a form carries the token of the session its request belongs to."""
    cookie = request.cookies.get(COOKIE, "")
    if not _WELL_FORMED.fullmatch(cookie):
        return False
    return hmac.compare_digest(token_of(cookie).encode(), token.encode())


def keep_session(request: Request, response: Response) -> None:
    """Give the visitor the cookie, if there is none yet."""
    session = session_of(request)
    if request.cookies.get(COOKIE) != session:
        set_cookie(response, COOKIE, session, secure=request.url.scheme == "https")


def set_cookie(
    response: Response, name: str, value: str, *, secure: bool, life_s: int = _MONTH
) -> None:
    """A cookie only this site's own pages send, and no script reads."""
    response.set_cookie(
        name, value, max_age=life_s, httponly=True, samesite="strict", secure=secure, path="/"
    )
