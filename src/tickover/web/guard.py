"""What every request passes before a page sees it, and every answer on its way out.

Four fences against pages of other sites that a browser on this machine may have open: the host
name must be ours (a foreign name that resolves to loopback is not), a write must come from one
of our own pages (Origin), a body has a largest size, and the answer carries a policy under
which the browser runs no script and loads nothing but ours. The fifth, a token in every form,
needs the parsed form and stands in `session.py`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
ANSWER_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",  # with no-referrer a browser sends 'Origin: null'
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), camera=(), microphone=()",
}


class TooLargeError(Exception):
    """A body ran past the limit while it was being read."""

    def __init__(self, limit: int) -> None:
        self.limit = limit
        super().__init__(f"body over {limit} bytes")


def host_name(host: str) -> str:
    """The name in a Host header, without its port, in lower case.

    >>> host_name("LocalHost:8080"), host_name("[::1]:8080"), host_name("127.0.0.1")
    ('localhost', '[::1]', '127.0.0.1')
    """
    host = host.strip().lower()
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def same_origin(headers: Headers, scheme: str) -> bool:
    """Whether a write comes from one of our own pages.

    A browser sends Origin with every POST. Without it only a Referer of ours will do; 'null'
    and anything foreign is refused.
    """
    origin = headers.get("origin") or headers.get("referer") or ""
    parts = urlsplit(origin)
    site = headers.get("sec-fetch-site", "same-origin")
    return (
        parts.scheme == scheme
        and parts.netloc.lower() == headers.get("host", "").lower()
        and site == "same-origin"
    )


Refuse = Callable[[Request, int, str, str], Response]


class Guard:
    """ASGI middleware: host, origin, size in; policy out.

    Parameters
    ----------
    app : ASGIApp
        What is guarded.
    refuse : callable
        Makes the page for a refusal from (request, status, heading, what to do).
    hosts : iterable of str
        Names this server answers to, without port.
    largest_body : int
        [bytes]
    """

    def __init__(
        self, app: ASGIApp, *, refuse: Refuse, hosts: Iterable[str], largest_body: int
    ) -> None:
        self.app = app
        self.refuse = refuse
        self.hosts = frozenset(host_name(host) for host in hosts)
        self.largest_body = largest_body

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with a refusal."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1003})
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ANSWER_HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, send_guarded)
            return
        read = 0

        async def receive_counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > self.largest_body:
                raise TooLargeError(self.largest_body)
            return message

        await self.app(scope, receive_counted, send_guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        request = Request(scope)
        if host_name(headers.get("host", "")) not in self.hosts:
            return self.refuse(
                request,
                421,
                "Not the name of this bench",
                "Tickover answers only to its own address. Open the one it printed when it "
                "started.",
            )
        if scope["method"] in SAFE_METHODS:
            return None
        if not same_origin(headers, scope["scheme"]):
            return self.refuse(
                request,
                403,
                "This did not come from a page of Tickover",
                "Nothing was written. Open the page here and press the button again.",
            )
        length = headers.get("content-length", "0")
        if not re.fullmatch(r"[0-9]{1,12}", length) or int(length) > self.largest_body:
            return self.refuse(request, 413, *too_large_words(self.largest_body))
        return None


def too_large_words(limit: int) -> tuple[str, str]:
    """Heading and advice for a body over the limit.

    >>> too_large_words(32_000_000)[1]
    'Nothing was written. Up to 32 MB can be sent at once; send a smaller file.'
    """
    megabytes = limit / 1e6
    return (
        "Too much at once",
        f"Nothing was written. Up to {megabytes:g} MB can be sent at once; send a smaller file.",
    )
