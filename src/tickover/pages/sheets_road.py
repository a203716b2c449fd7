"""The printed sheets for the road and the noise meter, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.noise import NoisePage
from tickover.pages.speed import SpeedPage

_RUNS = 4
_READINGS = 3


def speed_bench_sheet(engine: EngineFile, page: SpeedPage) -> dict[str, Any]:
    """Roll-outs, timed runs and speeds held along a track, to fill in."""
    rolled = [_row(f"{wheel} wheel", "m in whole turns, rider on") for wheel in ("front", "rear")]
    held = [_row(check.place, f"true {check.limits}") for check in page.checks]
    timed = [_row(f"run {n}", "steady from post to post") for n in range(1, _RUNS + 1)]
    facts = [{"name": f"gear {g.gear}", "words": f"{g.per_1000} at 1000 rpm"} for g in page.gears]
    blocks = [
        _block("Roll-out", "Mark tyre and floor, push five turns, measure.", rolled, "turns"),
        _block("Between two posts", "Start and stop the watch at the posts; somebody else reads.",
               timed, "shown, way, time"),
    ]  # fmt: skip
    if held:
        blocks.append(_block("Along a track", "Phone logging. Hold 15 s and more, straight and "
                             "level; note the time of day.", held, "time of day"))  # fmt: skip
    return _sheet(engine, page.head, "Speed, road sheet", facts, blocks, page.cautions,
                  "The rule that decides is UN R39, 5.3, type approval; law and limits come first."
                  )  # fmt: skip


def noise_bench_sheet(engine: EngineFile, page: NoisePage) -> dict[str, Any]:
    """Background, and three readings of every outlet with baffles in and out."""
    facts = [{"name": name, "words": words} for name, words in
             (("limit", page.limit), ("hold at", page.test_speed)) if words]  # fmt: skip
    rows = [
        _row(f"outlet {outlet}, {number}", "silencers in / out")
        for outlet in page.outlets
        for number in range(1, _READINGS + 1)
    ]
    blocks = [
        _block("Background", "Engine off, same place.", [_row("background", "10 dB below or more")],
               "time of day"),
        _block("As it stands", " ".join(page.method[1:4]), rows, "rpm"),
        _block("With the baffles changed over", "The same, for comparison.", rows, "rpm"),
    ]  # fmt: skip
    return _sheet(engine, page.head, "Stationary noise, bench sheet", facts, blocks, page.cautions,
                  page.exposure)  # fmt: skip


def _row(where: str, must: str) -> dict[str, Any]:
    return {"where": where, "must": must, "tick": False}


def _block(headline: str, how: str, rows: list[dict[str, Any]], beside: str) -> dict[str, Any]:
    return {"headline": headline, "how": how, "rows": rows, "beside": beside}


def _sheet(
    engine: EngineFile,
    head: Head | None,
    title: str,
    facts: list[dict[str, str]],
    blocks: list[dict[str, Any]],
    cautions: tuple[str, ...],
    note: str,
) -> dict[str, Any]:
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
        "title": title,
        "facts": facts,
        "blocks": blocks,
        "cautions": list(cautions),
        "note": note,
    }
