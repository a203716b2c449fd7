"""The bench sheets of proving: electrics and spark, oil, fuel; as plain data for the typesetter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from tickover.engine import EngineFile
from tickover.pages.fuel import FuelPage
from tickover.pages.head import Head
from tickover.pages.ignition import IgnitionPage
from tickover.pages.oil import OilPage
from tickover.pages.proving import ProvingLine, TruthLine
from tickover.pages.starting import StartingPage
from tickover.pages.wording import place_words
from tickover.tasks import exhaust, fuel, ignition, oil, starting
from tickover.tasks.charging import names as charging

_ORDER = (
    "Spark before oil flow, oil flow before compression, compression before fuel: fuel stays out "
    "of the shop until sparks have been watched."
)
_TRIED = {
    starting.STOP: "Key on, one plug on its lead held to bare metal, every other lead earthed; "
    "crank for a moment in each position.",
    starting.INTERLOCKS: "Rear wheel off the ground, front wheel held, brake at hand; press the "
    "button for a moment in each state.",
    oil.SWITCH: "Wire off the switch, meter from its terminal to the engine, in both states.",
}
_BESIDE = {
    ignition.COIL_PRIMARY: "coil at °C",
    ignition.COIL_SECONDARY: "coil at °C",
    ignition.ADVANCE: "read at rpm",
    oil.FLOW: "seconds, rpm",
    oil.PRESSURE: "rpm, oil at °C",
    fuel.NEEDLE: "minutes",
    fuel.FLOW: "minutes",
    charging.WINDING: "at °C",
    charging.CHARGE: "battery °C",
    charging.VOLTS: "at rpm",
}


def electrics_bench_sheet(
    engine: EngineFile, first: StartingPage, second: IgnitionPage
) -> dict[str, Any]:
    """Battery, earths, switches, then plugs, timing, leads and spark, in working order."""
    timings = [
        {"name": row.title, "words": row.words} for row in second.timings if row.title != "asked"
    ]
    lines = {line.name: line for line in first.checks}
    blocks = [
        *check_blocks(first.checks, (starting.AT_REST, starting.EARTHS)),
        *_truth(starting.STOP, first.stop),
        *_truth(starting.INTERLOCKS, first.interlocks),
        *check_blocks(second.checks, ignition.NAMES),
    ]
    if starting.CRANKING in lines:
        blocks += check_blocks(first.checks, (starting.CRANKING,))
    return {
        **sheet_head(engine, first.head, "Electrics and spark, bench sheet"),
        "facts": timings,
        "blocks": blocks,
        "note": _ORDER,
        "cautions": list(dict.fromkeys((*first.cautions, *second.cautions))),
    }


def oil_bench_sheet(engine: EngineFile, page: OilPage) -> dict[str, Any]:
    """Oil in, primed, flowing, its switch; pressure once it runs."""
    facts = [
        {"name": name, "words": words}
        for name, words in (
            ("flow while cranking", page.flow),
            ("priming", page.priming),
            ("pressure", page.pressure),
        )
        if words
    ]
    plain = [line for line in page.checks if line.name != oil.SWITCH]
    before = [name for name in oil.NAMES if name not in (oil.SWITCH, oil.PRESSURE)]
    return {
        **sheet_head(engine, page.head, "Oil, bench sheet"),
        "facts": facts,
        "blocks": [
            *check_blocks(plain, before),
            *_truth(oil.SWITCH, page.switch, measured=True),
            *check_blocks(plain, (oil.PRESSURE,)),
        ],
        "note": f"{page.flow_note} Write into the book that the line is back: "
        f"'{page.opens}' stays open until then.".strip(),
        "cautions": list(page.cautions),
    }


def fuel_bench_sheet(engine: EngineFile, page: FuelPage) -> dict[str, Any]:
    """Tank to bowls, then intake and exhaust."""
    facts = [
        {"name": name, "words": words}
        for name, words in (
            ("to fill from dry", page.fill),
            ("must flow", page.needed),
            ("water over a needle", page.water),
            ("silencers", page.exhaust),
        )
        if words
    ]
    return {
        **sheet_head(engine, page.head, "Fuel, intake and exhaust, bench sheet"),
        "facts": facts,
        "blocks": check_blocks(page.checks, (*fuel.NAMES, *exhaust.NAMES)),
        "note": page.fill_note,
        "cautions": list(page.cautions),
    }


def check_blocks(lines: Iterable[ProvingLine], names: Sequence[str]) -> list[dict[str, Any]]:
    """One block for each check, with a row for each of its places."""
    every = tuple(lines)
    made = []
    for name in names:
        mine = [line for line in every if line.name == name]
        if mine:
            several = len(mine) > 1
            made.append(
                {
                    "headline": name[:1].upper() + name[1:] if several else mine[0].title,
                    "how": mine[0].how,
                    "beside": _BESIDE.get(name, "") if mine[0].limits else "",
                    "rows": [
                        {
                            "where": _where(line.place),
                            "must": line.limits or line.prompt,
                            "tick": not line.limits,
                        }
                        for line in mine
                    ],
                }
            )
    return made


def _where(place: str) -> str:
    """'coil 2' for 'coil2'; other places in their own words."""
    numbered = re.fullmatch(r"coil(\d+)", place)
    return f"coil {numbered[1]}" if numbered else place_words(place) if place else ""


def _truth(name: str, table: Sequence[TruthLine], measured: bool = False) -> list[dict[str, Any]]:
    if not table:
        return []
    return [
        {
            "headline": f"{name[:1].upper()}{name[1:]}",
            "how": _TRIED[name],
            "beside": "",
            "rows": [{"where": row.tried, "must": row.must, "tick": not measured} for row in table],
        }
    ]


def sheet_head(engine: EngineFile, head: Head | None, title: str) -> dict[str, Any]:
    """Machine, stage, loose ends and title of a sheet."""
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
        "title": title,
    }
