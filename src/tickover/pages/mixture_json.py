"""The mixture page as plain values, for programs."""

from __future__ import annotations

from typing import Any

from tickover.pages.mixture import MixturePage
from tickover.tasks.mixture.tables import advice_json


def mixture_json(page: MixturePage) -> dict[str, Any]:
    """The page as plain values: `stop` first, then the advice and what to have ready."""
    if page.advice is None:
        data: dict[str, Any] = {
            "stop": page.stop or None,
            "look_first": list(page.look_first),
            "advice": [],
            "refused": None if page.refused is None else str(page.refused),
            "influence": {
                i.adjuster: {"step": i.step, "opening": list(i.openings),
                             "percent": [round(x, 2) for x in i.percent]}
                for i in page.influence
            },
        }  # fmt: skip
    else:
        data = advice_json(page.advice)
    data["verdict"] = page.verdict
    data["in_now"] = page.in_now
    if page.cover is not None:
        data["have_ready"] = {
            "states": [
                {"state": w.trim.name, "bore_mm": round(w.bore * 1e3, 4),
                 "low_mm": round(w.low * 1e3, 4), "high_mm": round(w.high * 1e3, 4),
                 "uncertain": list(w.uncertain)}
                for w in page.cover.wants
            ],
            "sizes": [jet.mark for jet in page.cover.use],
            "buy": [{"jet": jet.mark, "count": n} for jet, n in page.cover.buy],
            "cost": page.cover.cost,
            "uncovered": [w.trim.name for w in page.cover.uncovered],
        }  # fmt: skip
    return data
