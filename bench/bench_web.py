"""Twenty clients on a book of ten thousand entries, over real connections, reading and writing."""

from __future__ import annotations

import re
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from tickover.book.bodies import Note, Reading
from tickover.book.store import Store
from tickover.web.app import create_app
from tickover.web.serve import address, bind

MANY, CLIENTS, EACH = 10_000, 20, 30
AT = "2031-04-05T18:30:00Z"
EXAMPLE = Path(__file__).parents[1] / "examples" / "engines" / "triple-240.toml"
PAGES = ("", "/valves", "/checks", "/fit", "/book", "/shopping", "/compression", "/mixture")


def _fill(store: Store) -> str:
    build = store.create_build("Invented triple", EXAMPLE.read_text(encoding="utf-8"), AT, "b").id
    gap = Reading("clearance", "in1", 1.0e-4, 1.2e-4, "m", ".10 / .12 mm", "", {"engine": "cold"})
    store.append(build, [gap if n % 2 else Note(f"note {n}") for n in range(MANY)], at=AT, by="b")
    return build


def _client(url: str, build: str, number: int, looked: list[float], wrote: list[float]) -> None:
    with httpx.Client(base_url=url, timeout=60.0) as client:
        found = re.search(r'name="token" value="([0-9a-f]{64})"', client.get("/").text)
        token = found.group(1) if found else ""
        origin = {"origin": url.rstrip("/")}
        for turn in range(EACH):
            begun = time.perf_counter()
            if turn % 10 == 9:  # one in ten writes, as people do
                sent = {"token": token, "note": f"client {number}, {turn}"}
                answer = client.post(f"/builds/{build}/note", data=sent, headers=origin)
                assert answer.status_code == 303, answer.status_code
                wrote.append(time.perf_counter() - begun)
            else:
                page = PAGES[(number + turn) % len(PAGES)]
                assert client.get(f"/builds/{build}{page}").status_code == 200
                looked.append(time.perf_counter() - begun)
            time.sleep(0.25)  # a person looks at what came; 20 of them still ask 60 times a second


def _p95_ms(times: list[float]) -> float:
    return 1000 * statistics.quantiles(times, n=20)[-1]


def rows() -> list[dict[str, Any]]:
    """Times of pages and writes under twenty clients; memory of the server beside them."""
    looked: list[float] = []
    wrote: list[float] = []
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "b.sqlite") as store:
        build = _fill(store)
        sock = bind("127.0.0.1", 0)
        config = uvicorn.Config(create_app(store), log_level="warning", lifespan="off")
        server = uvicorn.Server(config)
        serving = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
        serving.start()
        url = address(sock)
        for page in PAGES:  # numerics are loaded by the first who asks
            httpx.get(f"{url}builds/{build}{page}", timeout=120.0)
        threads = [
            threading.Thread(target=_client, args=(url, build, n, looked, wrote))
            for n in range(CLIENTS)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        server.should_exit = True
        serving.join(10)
    done = len(looked) + len(wrote) == CLIENTS * EACH
    page, write = _p95_ms(looked), _p95_ms(wrote)
    return [
        {"claim": f"page, {CLIENTS} clients, {MANY} entries, p95 [ms]", "ours_ms": page,
         "limit": 500.0, "met": done and page < 500.0},
        {"claim": f"a note kept, {CLIENTS} clients, p95 [ms]", "ours_ms": write,
         "limit": 500.0, "met": done and write < 500.0},
        {"claim": "most memory of server and clients [MB]", "ours_ms": _memory_mb(),
         "limit": 1000.0, "met": _memory_mb() < 1000.0},
    ]  # fmt: skip


def _memory_mb() -> float:
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (1024.0 * 1024.0 if sys.platform == "darwin" else 1024.0)
