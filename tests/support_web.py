"""The web face on loopback, in a thread of the tests' own process, and how to wait."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import uvicorn

from tickover.web.serve import address, bind

PATIENCE_S = 120.0
"""What has to come at all comes within this, however busy the machine; a longer wait is a fault."""


def until(what: Callable[[], Any], told: str, rest: Callable[[float], Any] = time.sleep) -> None:
    """Wait until something is so.

    Parameters
    ----------
    what : callable
        Asked again and again.
    told : str
        What to say where it never came to be.
    rest : callable
        Lets so many seconds pass; a test with a browser lets the browser's driver do it.
    """
    end = time.monotonic() + PATIENCE_S
    while not what():
        assert time.monotonic() < end, f"{told} within {PATIENCE_S:g} s"
        rest(0.02)


def _ports() -> Iterator[int]:
    # Below what any system hands out by itself (IANA: from 49152; Linux: from 32768), so that
    # nobody is given it while its server is away; processes that test at once begin far apart.
    first = 20_000 + 50 * (os.getpid() % 200)
    while True:
        yield from range(first, first + 50)


_PORTS = _ports()


def own_port() -> int:
    """A free port that stays ours while the server on it is stopped and started again."""
    for port in _PORTS:
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
                probe.listen()
            except OSError:
                continue
            return port
    raise AssertionError("the ports never end")


class Serving:
    """An application that is served as `serve` does; it answers once this is made."""

    def __init__(self, app: Any, port: int = 0) -> None:
        sock = bind("127.0.0.1", port, tries=1)
        self.url = address(sock)
        config = uvicorn.Config(app, log_level="warning", lifespan="off")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [sock]}, daemon=True
        )
        self._thread.start()
        until(lambda: self._server.started, "the server did not start")

    def stop(self) -> None:
        """Stop it, whoever is still connected."""
        self._server.should_exit = True
        self._server.force_exit = True
        self._thread.join(timeout=PATIENCE_S)
        assert not self._thread.is_alive(), "the server did not stop"
