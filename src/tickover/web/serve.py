"""Run the web face: a free port if the wanted one is taken, a clean end on Ctrl-C."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

import uvicorn

from tickover.errors import InputError
from tickover.web.app import create_app
from tickover.web.bench import system_clock
from tickover.web.phone.pairing import Pairing
from tickover.web.warming import compile_all_beside

if TYPE_CHECKING:
    from tickover.book.store import Store
    from tickover.web.phone.paired import PairedPhones

PORT = 8539


def bind(host: str, port: int, tries: int = 20) -> socket.socket:
    """A listening socket on the first free port from `port` on; 0 takes any.

    Raises
    ------
    InputError
        If none of them is free, or the host is not one of this machine.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    last = ""
    for candidate in range(port, port + tries) if port else (0,):
        # The protocol is named because asyncio sends small answers at once only on such a socket:
        # without it each page on a kept connection waits some 40 ms.
        sock = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            sock.bind((host, candidate))
            sock.listen(128)
        except OSError as error:
            sock.close()
            last = error.strerror or str(error)
            continue
        return sock
    raise InputError(
        f"Cannot listen here ({last})",
        given=f"{host} port {port}",
        allowed="a free port of this machine",
        instead="another port, or 0 for any free one",
    )


def bind_both(host: str, other: str, port: int, tries: int = 20) -> list[socket.socket]:
    """Two listening sockets on one and the same port: this machine and its local network.

    Raises
    ------
    InputError
        As `bind`; also when no port is free at both.
    """
    sock = bind(host, port, tries)
    wanted = int(sock.getsockname()[1])
    try:
        return [sock, bind(other, wanted, 1)]
    except InputError:
        sock.close()
        if tries <= 1:
            raise
    return bind_both(host, other, wanted + 1 if port else 0, tries - 1)


def address(sock: socket.socket) -> str:
    """The address to open, for a socket that listens."""
    host, port = sock.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/"


def _load_numerics() -> None:
    # Loading the solvers takes a second or more; better now than when a first reading is kept.
    import scipy.optimize
    import scipy.special  # noqa: F401 (loaded, not used here)


def serve(
    store: Store,
    host: str = "127.0.0.1",
    port: int = PORT,
    *,
    clock: Callable[[], str] | None = None,
    open_demo: Callable[[Store], str] | None = None,
    phones: PairedPhones | None = None,
    phone_host: str = "",
    say: Callable[[str], None] = print,
    say_pairing: Callable[[Pairing], None] | None = None,
) -> None:
    """Serve until stopped.

    Parameters
    ----------
    store : Store
        The book to serve.
    host : str
        Address to listen on; loopback unless asked otherwise.
    port : int
        First port to try; 0 takes any.
    clock : callable or None
        Gives the time of an entry; the system's clock when left out.
    open_demo
        As in `create_app`.
    phones : PairedPhones or None
        Phones let in so far; None: no phone is served.
    phone_host : str
        Address of this machine in the local network, where phones are served.
    say : callable
        Told the address once it listens.
    say_pairing : callable or None
        Told how phones are let in, once it listens.
    """
    sockets = bind_both(host, phone_host, port) if phones else [bind(host, port)]
    hosts = [f"[{name}]" if ":" in name else name for name in (host, phone_host) if name]
    pairing = Pairing(address(sockets[-1]), phones, clock or system_clock) if phones else None
    app = create_app(
        store,
        clock=clock,
        hosts=hosts,
        pairing=pairing,
        open_demo=open_demo,
    )
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,  # nobody stands in front of a bench
        date_header=False,
        timeout_graceful_shutdown=3,
        lifespan="off",
    )
    say(address(sockets[0]))
    if pairing is not None and say_pairing is not None:
        say_pairing(pairing)
    threading.Thread(target=_load_numerics, daemon=True).start()
    compiling = compile_all_beside()
    try:
        uvicorn.Server(config).run(sockets=sockets)
    except KeyboardInterrupt:
        pass  # Ctrl-C is how a person stops it; every answered write is in the book already
    finally:
        if compiling is not None:
            compiling.terminate()
        for sock in sockets:
            sock.close()
