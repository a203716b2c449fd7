"""The printed sheets of the valve task, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.drawing import state_mark, stop_dial, valves_picture
from tickover.pages.valves import ValvesPage
from tickover.pages.wording import STATE_WORDS, place_words

_INTRO = (
    "Fill in with a pencil, in this order. Thickest blade that goes, thinnest that does not; "
    "if not even the thinnest goes, leave 'goes' empty and write that blade under 'does not go'."
)
_KNOWN = {"micrometer": " measured", "mark": " by mark"}
_AFTERWARDS = (
    "Every valve has two entries or 'no gap'.",
    "Anything odd read a second time, lobe pointing away.",
    "Shims of odd valves measured with the micrometer, not read off their mark.",
    "Written into the book.",
)


def valve_bench_sheet(engine: EngineFile, page: ValvesPage) -> dict[str, Any]:
    """The sheet to fill in at the bench, in working order."""
    by_place = {line.place: line for line in page.valves}

    def rows(places: tuple[str, ...]) -> list[dict[str, str]]:
        return [
            {
                "name": by_place[place].name,
                "limits": by_place[place].limits,
                "pick_up": by_place[place].pick_up.removeprefix("Pick up "),
            }
            for place in places
        ]

    stops = [
        {
            "headline": stop.headline,
            "text": stop.text,
            "dial_svg": stop_dial(engine, page.stops, stop.number, embedded=True),
            "rows": rows(stop.places),
        }
        for stop in page.stops
    ]
    placed = {place for stop in page.stops for place in stop.places}
    rest = tuple(line.place for line in page.valves if line.place not in placed)
    if rest:
        stops.append(
            {
                "headline": "Each with its own lobe pointing away",
                "text": "Turn forward until the lobe of the valve points away from its follower.",
                "dial_svg": "",
                "rows": rows(rest),
            }
        )
    return {
        **_head(engine, page),
        "title": "Valve clearances, bench sheet",
        "intro": _INTRO,
        "engine_svg": "",
        "stops": stops,
        "note": page.order_note if page.stops else "",
        "cautions": list(page.cautions),
        "afterwards": list(_AFTERWARDS),
    }


def valve_report(engine: EngineFile, page: ValvesPage) -> dict[str, Any]:
    """The report of one page: what was found, why, and what to fit."""
    return {
        **_head(engine, page),
        "title": "Valve clearances",
        "verdict": page.verdict,
        "engine_svg": valves_picture(engine, page, embedded=True),
        "valves": [
            {
                "mark_svg": state_mark(line.state, embedded=True),
                "name": line.name,
                "state": STATE_WORDS[line.state] + (f", {line.note}" if line.note else ""),
                "reading": line.reading or (f"was {line.was}, void" if line.was else "not read"),
                "limits": line.limits,
                "shim": line.shim + _KNOWN.get(line.shim_known_by, ""),
                "chance": line.chance,
            }
            for line in page.valves
        ],
        "reason": page.reason_sentence,
        "reasons": [
            {"chance": r.chance, "text": r.text, "remedy": r.remedy, "after": r.after}
            for r in page.reasons
            if page.reason_sentence
        ],
        "next_check": page.next_check,
        "plan": [
            {
                "name": row.name,
                "out": row.out,
                "fit": row.fit,
                "source": row.source,
                "then": row.then_reads,
                "chance": row.chance,
            }
            for row in page.plan
        ],
        "plan_sentence": page.plan_sentence,
        "plan_missing": page.plan_missing,
        "buy": list(page.buy),
        "notes": list(page.notes),
        "cautions": list(page.cautions),
    }


def _head(engine: EngineFile, page: ValvesPage) -> dict[str, Any]:
    head = page.head
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
        "odd": [place_words(line.place) for line in page.valves if line.state == "out"],
    }
