"""Valves: explanations, crank stops, the page in a long book."""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

AT = "2026-03-02T18:00:00+00:00"


def quickest(task: Callable[[], object], times: int = 9) -> float:
    """Shortest of several runs [ms]."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        task()
        best = min(best, time.perf_counter() - start)
    return best * 1e3


def row(claim: str, ours: float, limit: float, **more: Any) -> dict[str, Any]:
    """A row with an upper limit in milliseconds."""
    return {"claim": claim, "ours_ms": ours, "limit": f"< {limit:g} ms", "met": ours < limit,
            **more}  # fmt: skip


def explanation_rows() -> list[dict[str, Any]]:
    """16 valves, one odd pair; explanations alone, then everything."""
    from support import four

    from tickover.tasks.valves import FittedShim, assess_valves, clearance_reading, work_order
    from tickover.tasks.valves.assumptions import USUAL
    from tickover.tasks.valves.explanations import understand
    from tickover.tasks.valves.faults import Circumstances
    from tickover.tasks.valves.verdict import verdict

    engine = four(inlet=2, exhaust=2)
    places = engine.places()
    readings = {}
    for place in places:
        middle = 5.0 if place.kind == "in" else 7.0
        readings[place.name] = clearance_reading(
            engine, place.name, f"{middle - 0.5}", f"{middle + 0.5}", unit="thou"
        )
    readings["in4a"] = clearance_reading(engine, "in4a", "13", "14", unit="thou")
    readings["ex4a"] = clearance_reading(engine, "ex4a", no_go="1.5 thou")
    shims = {
        place.name: FittedShim(place.name, (2.4 + 0.025 * (n % 9)) * 1e-3, "micrometer")
        for n, place in enumerate(places)
    }
    shims["in4a"] = FittedShim("in4a", 2.5e-3, "micrometer")
    shims["ex4a"] = FittedShim("ex4a", 2.7032e-3, "micrometer")
    verdicts = {
        place.name: verdict(readings[place.name], engine.limits_m(place), (), USUAL)
        for place in places
    }
    return [
        row(
            "explanations of 16 valves",
            quickest(
                lambda: understand(
                    engine, places, readings, verdicts, shims, Circumstances(), USUAL
                )
            ),
            100.0,
        ),
        row(
            "order, verdicts, explanations and plan of 16 valves",
            quickest(lambda: assess_valves(engine, readings, shims)),
            400.0,
        ),
        row("crank stops of an engine file (all three orders: see decide)",
            quickest(lambda: work_order(engine)), 10.0),
    ]  # fmt: skip


def page_rows() -> list[dict[str, Any]]:
    """The valves page in a book of 10,000 entries, nothing changed and after each new entry."""
    from tickover.book.bodies import Note
    from tickover.book.store import Store
    from tickover.demo import open_demo
    from tickover.pages.building import valves_page_of

    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "b.tickover") as store:
        build_id = open_demo(store)
        store.append(build_id, [Note(f"note {n}") for n in range(10_000)], at=AT, by="bench")

        def page() -> object:
            return valves_page_of(store.build(build_id), store.state(build_id))

        page()
        times = sorted(quickest(page, 1) for _ in range(200))
        unchanged = times[int(0.95 * len(times))]
        changed = []
        for n in range(40):
            store.append(build_id, [Note(f"more {n}")], at=AT, by="bench")
            changed.append(quickest(page, 1))
        changed.sort()
    return [
        row("valves page, 10,000 entries, nothing changed, 95th percentile", unchanged, 50.0),
        row("valves page, 10,000 entries, after a new entry, 95th percentile",
            changed[int(0.95 * len(changed))], 50.0),
    ]  # fmt: skip


def rows() -> list[dict[str, Any]]:
    """Every claim of the valve task."""
    return [*explanation_rows(), *page_rows()]


if __name__ == "__main__":
    for line in rows():
        print(line)
