"""What a person waits for: a command, the first page, the first sheet, the first of everything.

Times are of the processor, the quickest of a few runs, so that other work on the machine counts
little. Every run is a process of its own with a home of its own. The 'theirs' column is the same
thing without what makes it quick: a bare Python, answers worked out anew, solvers loaded first.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
RUNS = 3

COMMAND = "import sys; from tickover.cli import main; main(sys.argv[1:])"
# As it was: compiler and solvers loaded, wanted or not.
EAGER = f"import numba, scipy.special, scipy.optimize; {COMMAND}"

PAGES = """
import asyncio, json, sys, time
import httpx
from tickover.book.store import Store
from tickover.web.app import create_app

async def ask(store):
    build = next(b.id for b in store.builds() if b.name.startswith("Lane"))
    transport = httpx.ASGITransport(app=create_app(store))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        await client.get("/")
        told = {"started": time.process_time()}
        for name, path in (("page", ""), ("sheet", "/sheets/valves-bench.pdf"),
                           ("record", "/record.pdf")):
            for time_of in ("first", "second"):
                begun = time.process_time()
                answer = await client.get(f"/builds/{build}{path}")
                assert answer.status_code == 200, (path, answer.status_code)
                told[f"{name}, {time_of}"] = time.process_time() - begun
        print(json.dumps(told))

with Store.open(sys.argv[1]) as store:
    asyncio.run(ask(store))
"""

LISTEN = """
import io, json, sys, time
import numpy as np, soundfile
from pathlib import Path
from tickover.physics.sound.synthesise import synthesise

sound, angles = Path(sys.argv[1]), (0.0, 240.0, 480.0)
if not sound.exists():
    minute = synthesise(angles, duration_s=60.0, rate=48_000, seed=1)
    soundfile.write(sound, minute.samples, minute.rate, subtype="PCM_16")
from tickover.tasks.listen import analyse
samples, rate = soundfile.read(sound, dtype="float32")
begun = time.process_time()
heard = analyse(samples, rate, angles, about_rpm=1100.0)
assert heard.refused is None
print(json.dumps(time.process_time() - begun))
"""


def _run(code: str, words: list[str], home: Path, **extra: str) -> tuple[float, str]:
    """Processor time of a fresh process [s], and what it printed last."""
    paths = os.pathsep.join([str(ROOT / "src"), *filter(None, [os.environ.get("PYTHONPATH")])])
    environment = {**os.environ, "HOME": str(home), "XDG_CACHE_HOME": str(home / "cache"),
                   "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": paths, **extra}  # fmt: skip
    environment.pop("NUMBA_CACHE_DIR", None)
    if "TICKOVER_ANSWERS" not in extra:
        environment.pop("TICKOVER_ANSWERS", None)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", code, *words], env=environment,
                          capture_output=True, text=True, check=False)  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # 1 is an answer of a command too: something is out, undecided or not measured.
    assert done.returncode == 0 or (done.returncode == 1 and not done.stderr), done.stderr
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent, (done.stdout.strip().splitlines() or [""])[-1]


def _best(code: str, words: list[str], home: Path, **extra: str) -> float:
    return min(_run(code, words, home, **extra)[0] for _ in range(RUNS))


def _within(claim: str, ours: float, limit: float, other: float | None = None) -> dict[str, Any]:
    row: dict[str, Any] = {"claim": claim, "ours": ours, "limit": f"< {limit:g}",
                           "met": ours < limit}  # fmt: skip
    if other is not None:
        row |= {"other": other, "ratio": ours / other}
    return row


def _against(claim: str, ours: float, other: float, limit: float) -> dict[str, Any]:
    ratio = ours / other
    return {"claim": claim, "ours": ours, "other": other, "ratio": ratio,
            "limit": f"ratio < {limit:g}", "met": ratio < limit}  # fmt: skip


def rows() -> list[dict[str, Any]]:
    """One row for each thing a person waits for."""
    with tempfile.TemporaryDirectory(prefix="bench-") as name:
        home = Path(name)
        book = str(home / "book.sqlite")
        _run(COMMAND, ["demo", "--no-serve", "--where", book], home)
        return [*_firsts(home, book), *_commands(home, book), *_pages(home, book)]


def _firsts(home: Path, book: str) -> list[dict[str, Any]]:
    """On a machine that has compiled nothing yet, and after that."""
    fit = ["fit", "--build", "Lane", "--where", book]
    off = {"TICKOVER_ANSWERS": "off"}
    first, _ = _run(COMMAND, fit, home, **off)
    sound = [str(home / "minute.flac")]
    _run(LISTEN, sound, home, XDG_CACHE_HOME=str(home / "other cache"))  # makes the recording
    heard = float(_run(LISTEN, sound, home)[1])
    again = min(float(_run(LISTEN, sound, home)[1]) for _ in range(RUNS))
    return [
        _within("first answer on a new machine, compiling [s]", first, 10.0),
        _within("first minute of FLAC heard, compiling; beside later [s]", heard, 4.0, again),
    ]


def _commands(home: Path, book: str) -> list[dict[str, Any]]:
    bare = _best("pass", [], home)
    told = _best(COMMAND, ["--help"], home)
    made = []
    for command, build in (("fit", "Lane"), ("compression", "Lane"), ("valves", "Hill")):
        words = [command, "--build", build, "--where", book]
        eager = _best(EAGER, words, home, TICKOVER_ANSWERS="off")
        _run(COMMAND, words, home)
        again = _best(COMMAND, words, home)
        made.append(_against(f"tickover {command} asked again, worked out anew [s]", again, eager,
                             0.7))  # fmt: skip
    again = made[0]["ours"]
    return [
        _within("tickover --help, beside a bare Python [s]", told, 0.15, bare),
        *made,
        _within("tickover fit, beside a bare Python [s]", again, 2.0, bare),
        _within("most memory of a command [MB]", _memory_mb(home, book), 400.0),
    ]


def _memory_mb(home: Path, book: str) -> float:
    code = (
        "import resource, subprocess, sys\n"
        "subprocess.run([sys.executable, '-c', sys.argv[1], *sys.argv[2:]], stdout=-3)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    words = [COMMAND, "fit", "--build", "Lane", "--where", book]
    used = float(_run(code, words, home, TICKOVER_ANSWERS="off")[1])
    return used / (1024.0 * 1024.0 if sys.platform == "darwin" else 1024.0)


def _pages(home: Path, book: str) -> list[dict[str, Any]]:
    """A server just started, with every answer worked out anew; then the same again."""
    off = [json.loads(_run(PAGES, [book], home, TICKOVER_ANSWERS="off")[1]) for _ in range(RUNS)]
    known = [json.loads(_run(PAGES, [book], home)[1]) for _ in range(RUNS)]

    def best(of: list[dict[str, float]], name: str) -> float:
        return min(each[name] for each in of)

    return [
        _within("server started, first page out [s]", best(known, "started"), 2.0),
        _against("first build page of a server, worked out anew [s]", best(known, "page, first"),
                 best(off, "page, first"), 0.5),
        _within("first bench sheet as PDF, beside the second [s]", best(known, "sheet, first"),
                1.0, best(known, "sheet, second")),
        _within("build record as PDF, beside the second [s]", best(known, "record, first"),
                3.0, best(known, "record, second")),
    ]  # fmt: skip


if __name__ == "__main__":
    for row in rows():
        print({k: round(v, 3) if isinstance(v, float) else v for k, v in row.items()})
