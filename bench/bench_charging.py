"""Charging: causes from a full set of readings, and the page."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))


def _quickest(task: Callable[[], object], times: int = 7) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        task()
        best = min(best, time.perf_counter() - start)
    return best * 1e3


def _row(claim: str, ours: float, limit: float) -> dict[str, Any]:
    return {"claim": claim, "ours_ms": ours, "limit": f"< {limit:g} ms", "met": ours < limit}


def rows() -> list[dict[str, Any]]:
    """Causes of 17 readings with machines at hand and drawn anew; the whole page."""
    from support_charging import readings, trials, twin

    from tickover.pages.charging import charging_page
    from tickover.tasks.charging import causes

    engine = twin()
    trial = trials(5, 1)[0]
    state = readings(engine, *(row for some in trial.rows.values() for row in some))

    def anew() -> None:
        causes._machines.cache_clear()
        causes.charging_causes(engine, state)

    causes.charging_causes(engine, state)
    return [
        _row("causes and next check, machines at hand",
             _quickest(lambda: causes.charging_causes(engine, state)), 200.0),
        _row("causes and next check, 78000 machines drawn anew", _quickest(anew, 3), 500.0),
        _row("charging page", _quickest(lambda: charging_page(engine, state)), 300.0),
    ]  # fmt: skip
