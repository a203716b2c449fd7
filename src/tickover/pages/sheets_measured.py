"""The printed sheets of ratio by burette and cam timing by degree wheel, as plain data."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.measured import RatioPage, TimingPage
from tickover.quantities import show
from tickover.tasks.compression.in_book import cylinder_places

_RATIO_STEPS = (
    "Head face up and level, plug and both valves in, seats greased so that nothing seeps.",
    "Clear plate with a hole on a thin film of grease; burette read at the bottom of the meniscus.",
    "Fill until no bubble is left under the plate; write what went in. Twice: how far apart?",
    "Gasket: thickness of the old one where it was pressed, or what its maker says when tight.",
    "Deck: piston at the top, gauge from the barrel's face to its edge; above it: minus.",
    "Dome: piston a known depth down, filled by burette; the bore's volume less what went in.",
)
_TIMING_STEPS = (
    "Plugs out, neutral, clearances set. Degree wheel on the crank, pointer stiff and near.",
    "Piston stop in by hand; turn gently to it from both sides, by hand, and write both readings.",
    "Stop out again before anything else is turned.",
    "Dial gauge on the valve, in line with it. Turn in the engine's own direction only; past the "
    "mark, turn back half a turn and come again.",
    "Write each event at the lift named above. Twice: how far apart?",
)


def ratio_bench_sheet(engine: EngineFile, page: RatioPage) -> dict[str, Any]:
    """The sheet for burette and depth gauge.

    Parameters
    ----------
    engine : EngineFile
    page : RatioPage

    Returns
    -------
    dict
    """
    told = engine.engine.compression_ratio
    return {
        **_head(engine, page),
        "title": "Compression ratio by burette, bench sheet",
        "intro": "Fill in with a pencil."
        + (f" The engine file tells {told:g} to 1." if told is not None else ""),
        "steps": list(_RATIO_STEPS),
        "heads": ["chamber, cc", "again", "gasket, mm", "its hole, mm", "deck, mm", "dome, cc"],
        "rows": list(cylinder_places(engine)),
        "blanks": ["Bore, mm", "Stroke, mm", "Burette"],
        "cautions": list(page.cautions),
        "afterwards": [
            "Chamber dry, grease off, plate put away.",
            "Written into the book.",
        ],
    }


def timing_bench_sheet(engine: EngineFile, page: TimingPage) -> dict[str, Any]:
    """The sheet for the degree wheel, in working order.

    Parameters
    ----------
    engine : EngineFile
    page : TimingPage

    Returns
    -------
    dict
    """
    return {
        **_head(engine, page),
        "title": "Cam timing by degree wheel, bench sheet",
        "intro": f"Fill in with a pencil. Read at {_lift(engine)}. {_told(engine)}",
        "steps": list(_TIMING_STEPS),
        "heads": ["reading", "again"],
        "rows": [
            "piston stop, before", "piston stop, after", "inlet opens, before top",
            "inlet closes, after bottom", "exhaust opens, before bottom",
            "exhaust closes, after top",
        ],
        "blanks": ["Valve measured", "Lift, mm", "Cam sprocket, teeth"],
        "cautions": list(page.cautions),
        "afterwards": ["Piston stop out.", "Cam chain tensioned, plugs back in.",
                       "Written into the book."],
    }  # fmt: skip


def _lift(engine: EngineFile) -> str:
    lift = None if engine.cams is None else engine.cams.timing_at_m
    if not lift:
        return "the lift the book tells its timing at (the engine file says: at the seat)"
    return f"{show(lift, 'mm', 'length')} of lift, where the engine file tells its timing"


def _told(engine: EngineFile) -> str:
    cams, words = engine.cams, []
    for name, lobe in () if cams is None else (("Inlet", cams.inlet), ("Exhaust", cams.exhaust)):
        if lobe is not None:
            words.append(f"{name} by the file: {lobe.opens_deg:g} / {lobe.closes_deg:g}.")
    return " ".join(words)


def _head(engine: EngineFile, page: RatioPage | TimingPage) -> dict[str, Any]:
    head = page.head
    ends = [] if head is None else [f"{end.words} (since {end.since})" for end in head.loose_ends]
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": ends,
    }
