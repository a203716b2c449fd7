"""The printed sheets of the compression test, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.compression import CompressionPage
from tickover.pages.drawing import state_mark
from tickover.pages.drawing.compression_pictures import climb_picture
from tickover.pages.wording import STATE_WORDS

_STEPS = (
    "Battery charged, or a second one beside it. Engine warm if it runs, cold if it does not: say "
    "which.",
    "Fuel tap off. All plugs out. Leads earthed on their plugs, or the ignition unplugged.",
    "Throttle held wide open, choke off; vacuum slides lifted and propped.",
    "Gauge screwed in by hand, its valve let off. Neutral, nobody near chain, belt or kick lever.",
    "Crank and count this cylinder's strokes aloud: write the first, go on until the needle stops, "
    "at least five; the same number on every cylinder.",
    "Wet, only where one stands out: the same little oil into every cylinder (about 1 cc in a "
    "small one), turn twice, and again the same number of strokes.",
    "Leak-down: piston at the top of compression, crank locked, stand clear, open the air slowly; "
    "write both gauges and listen at carburettor, exhaust, breather and the next plug hole.",
)
_AFTERWARDS = (
    "Plugs back in, leads on, slides down, tool and lock off the crank.",
    "Every cylinder read with the same strokes, throttle and battery.",
    "Written into the book.",
)


def compression_bench_sheet(engine: EngineFile, page: CompressionPage) -> dict[str, Any]:
    """The sheet to fill in at the bench.

    Parameters
    ----------
    engine : EngineFile
    page : CompressionPage

    Returns
    -------
    dict
    """
    return {
        **_head(engine, page),
        "title": "Compression and leak-down, bench sheet",
        "intro": "Fill in with a pencil, with the unit of your gauge. " + page.expected,
        "rule": "Even enough when the lowest is at least 75 % of the highest. " + page.climb,
        "steps": list(_STEPS),
        "rows": [line.name for line in page.lines],
        "cautions": list(page.cautions),
        "afterwards": list(_AFTERWARDS),
    }


def compression_report(engine: EngineFile, page: CompressionPage) -> dict[str, Any]:
    """What was found, for the build record.

    Parameters
    ----------
    engine : EngineFile
    page : CompressionPage

    Returns
    -------
    dict
    """
    return {
        **_head(engine, page),
        "title": page.title,
        "verdict": page.verdict,
        "picture": climb_picture(page, width=480.0, embedded=True),
        "expected": page.expected,
        "cylinders": [
            {
                "mark_svg": state_mark(line.state, embedded=True),
                "name": line.name,
                "state": STATE_WORDS[line.state],
                "reading": line.reading or (f"was {line.was}, void" if line.was else "not read"),
                "beside": line.beside,
                "leakdown": line.leakdown,
                "sentence": line.sentence if line.state != "open" else "",
                "cross_check": line.cross_check,
                "causes": [f"{words} {chance}" for words, chance in line.causes[:4]],
            }
            for line in page.lines
        ],
        "even": list(page.even),
        "alike": list(page.alike),
        "next_check": page.next_check,
        "sampling": page.sampling,
        "remarks": list(page.remarks),
        "cautions": list(page.cautions),
    }


def _head(engine: EngineFile, page: CompressionPage) -> dict[str, Any]:
    head = page.head
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
    }
