"""The gate: this machine and paired phones come in, everybody else gets the pairing page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

if TYPE_CHECKING:
    from tickover.web.guard import Refuse
    from tickover.web.phone.pairing import Pairing

COOKIE = "tickover_phone"
PAIR = "/pair"
_THIS_MACHINE = ("127.0.0.1", "::1")
_FREE = ("/static/",)  # styles and letters of the pairing page: nothing of any book


def is_this_machine(scope: Scope) -> bool:
    """Whether a request comes from this machine by loopback."""
    client = scope.get("client")
    return client is not None and client[0] in _THIS_MACHINE


class PhoneGate:
    """ASGI middleware: who may see the pages.

    Parameters
    ----------
    app : ASGIApp
        What is behind the gate.
    refuse : callable
        Makes the page for a refusal.
    pairing : Pairing or None
        Which phones are paired; None where phones are not served at all.
    """

    def __init__(self, app: ASGIApp, *, refuse: Refuse, pairing: Pairing | None) -> None:
        self.app = app
        self.refuse = refuse
        self.pairing = pairing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let in, send to the pairing page, or turn away."""
        if scope["type"] != "http" or self.pairing is None or is_this_machine(scope):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        phone = self.pairing.phone_of(request)
        if phone is not None:
            scope.setdefault("state", {})["phone"] = phone
        elif scope["path"] != PAIR and not scope["path"].startswith(_FREE):
            if scope["method"] in ("GET", "HEAD"):
                await RedirectResponse(PAIR, 303)(scope, receive, send)
                return
            refusal = self.refuse(
                request,
                401,
                "This phone is not paired",
                "Nothing was written. Pair it with the code the bench shows, then send it again.",
            )
            await refusal(scope, receive, send)
            return
        await self.app(scope, receive, send)
