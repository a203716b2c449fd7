"""The book: how close a durable entry comes to the bare database, and how quickly it is read.

Bare SQLite runs beside ours in the same run and turn by turn, on the same disk, with the same
tables and settings, and writes the same bytes: begin, one insert, commit.
"""

from __future__ import annotations

import sqlite3
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tickover.book.entries import Draft, Reading, Work, number_entries
from tickover.book.fold import fold
from tickover.book.location import default_path
from tickover.book.plain import body_to_json
from tickover.book.store import Store

MANY = 10_000
APPENDS = 600
AT = "2031-04-05T18:30:00Z"
ENGINE = '[engine]\nname = "Invented 539 triple"\n'


def bodies(count: int) -> list[Reading | Work]:
    """Readings and work as a long build has them."""
    return [
        Work("shims changed", (f"in{i % 12 + 1}",), {"from": 0.0025, "to": 0.0026})
        if i % 4 == 0
        else Reading(
            "clearance",
            f"in{i % 12 + 1}",
            1.0e-4 + i % 7 * 1e-5,
            1.1e-4 + i % 7 * 1e-5,
            "m",
            f"{0.10 + i % 7 * 0.01:.2f} / {0.11 + i % 7 * 0.01:.2f} mm",
            "blades",
            {"engine": "cold"},
        )
        for i in range(count)
    ]


def _ms(run: Callable[[], Any]) -> float:
    start = time.perf_counter()
    run()
    return (time.perf_counter() - start) * 1e3


def _appends(folder: Path) -> dict[str, object]:
    """One durable entry at a time, ours and bare, alternating."""
    with Store.open(folder / "ours.sqlite") as store, Store.open(folder / "bare.sqlite") as other:
        build = store.create_build("Invented triple", ENGINE, AT, "bench").id
        twin = other.create_build("Invented triple", ENGINE, AT, "bench").id
        bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
        bare.execute("PRAGMA journal_mode=DELETE")
        bare.execute("PRAGMA synchronous=FULL")
        bare.execute("PRAGMA foreign_keys=ON")
        number = [1]
        body = bodies(2)[1]
        text, check = body_to_json(body), "0" * 64

        def one_bare() -> None:
            number[0] += 1
            row = (twin, number[0], uuid.uuid4().hex, "reading", AT, AT, "bench", text, check)
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
            bare.execute("COMMIT")

        ours: list[float] = []
        theirs: list[float] = []
        for turn in range(APPENDS):
            pair: list[tuple[list[float], Callable[[], Any]]] = [
                (ours, lambda: store.append(build, Draft(body), at=AT, by="bench")),
                (theirs, one_bare),
            ]
            for times, run in pair if turn % 2 else pair[::-1]:
                times.append(_ms(run))
        bare.close()
    return _row(
        f"durable appends, of what bare SQLite does ({APPENDS} each, median)",
        statistics.median(ours),
        statistics.median(theirs),
        0.8,
    )


def _row(claim: str, ours: float, other: float, limit: float) -> dict[str, object]:
    ratio = other / ours
    return {
        "claim": claim,
        "ours_ms": ours,
        "other_ms": other,
        "ratio": ratio,
        "limit": limit,
        "met": ratio >= limit,
    }


def _within(claim: str, ours: float, limit_ms: float) -> dict[str, object]:
    return {
        "claim": claim,
        "ours_ms": ours,
        "other_ms": None,
        "ratio": None,
        "limit": limit_ms,
        "met": ours <= limit_ms,
    }


def _folds() -> list[dict[str, object]]:
    kept = number_entries(bodies(MANY + 1), at=AT, by="bench")
    many, one = kept[:MANY], kept[MANY:]
    whole = statistics.median(_ms(lambda: fold(many)) for _ in range(7))
    state = fold(many)
    piece = statistics.median(_ms(lambda: fold(one, state)) for _ in range(51))
    return [
        _within(f"fold of {MANY} entries [ms]", whole, 150.0),
        _within(f"fold of one more entry on {MANY} [ms]", piece, 5.0),
    ]


def _states(folder: Path) -> list[dict[str, object]]:
    with Store.open(folder / "long.sqlite") as store:
        build = store.create_build("Invented triple", ENGINE, AT, "bench").id
        store.append(build, bodies(MANY), at=AT, by="bench")
        cold = _ms(lambda: store.state(build))
        same = statistics.median(_ms(lambda: store.state(build)) for _ in range(301))
        grown = []
        for body in bodies(51):
            store.append(build, body, at=AT, by="bench")
            grown.append(_ms(lambda: store.state(build)))
    return [
        _within(f"state of {MANY} entries, first asked [ms]", cold, 500.0),
        _within("state when nothing changed [ms]", same, 1.0),
        _within("state after one new entry [ms]", statistics.median(grown), 5.0),
    ]


def rows() -> list[dict[str, object]]:
    """One row for each claim about the book."""
    # Where books lie, not the folder for temporary files: that one may lie in memory, where
    # nothing is durable and nothing costs what it costs.
    home = default_path().parent
    home.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="bench-", dir=home) as name:
        folder = Path(name)
        return [_appends(folder), *_folds(), *_states(folder)]


if __name__ == "__main__":
    for row in rows():
        print({k: round(v, 3) if isinstance(v, float) else v for k, v in row.items()})
