"""The printed bench sheets of mixture, balance and strobe, as plain data for the typesetter."""

from __future__ import annotations

import itertools
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.balance import balance_page, balance_picture
from tickover.pages.head import Head
from tickover.pages.mixture import mixture_page
from tickover.pages.mixture_map import influence_picture
from tickover.pages.strobe import CAUTIONS as STROBE_CAUTIONS
from tickover.pages.strobe import curve_of_engine
from tickover.pages.wording import dial_speed
from tickover.tasks.balance_book import balance_book
from tickover.tasks.mixture.adjusters import MARK_NAMES
from tickover.tasks.mixture.in_book import mixture_book
from tickover.tasks.mixture.readings import road_speed_rpm
from tickover.tasks.strobe import expected_at

_MIXTURE_STEPS = (
    "Air leaks, float level, ignition, clearances proved; engine hot; sensor hot, or a new plug.",
    "Tape on the grip, marked at each opening below.",
    "Start rich. Each opening held for some seconds at a steady speed, then read; full throttle "
    "last, and short. For a plug: cut the ignition with the throttle held, clutch in, roll.",
    "Any pinking, any lean at full throttle: shut it, stop, and look before going on.",
    "Change one thing at a time: screw before clip before jet. Write down what was changed.",
)
_BALANCE_STEPS = (
    "Engine warm, clearances and ignition right, no air leak, fuel from a bottle.",
    "Gauges damped alike and checked against each other on one cylinder.",
    "Idle a little raised and steady. Read all gauges, then turn one screw, blip, read all again.",
    "When they agree: idle speed last, then blip and read once more.",
)
_STROBE_STEPS = (
    "Engine warm, lamp on cylinder 1's lead, tachometer trusted.",
    "Hold each speed until the mark stands still, then read against the pointer.",
    "Write down what is read, not what was wanted.",
)
_BLANK_ROUNDS = 3


def mixture_bench_sheet(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> dict[str, Any]:
    """The openings to read, three rounds, with what is in and what each adjuster does.

    Parameters
    ----------
    engine : EngineFile
    state : State, optional
        Of a build; without it what the engine file says is in.
    head : Head, optional

    Returns
    -------
    dict
    """
    book = mixture_book(engine, state or State())
    page = mixture_page(engine, book, head)
    share = book.machine.top_speed_rpm / road_speed_rpm(1.0)
    return {
        **_head(engine, head),
        "title": "Mixture, bench sheet",
        "intro": "Fill in with a pencil: a number if there is a sensor, else a word (rich, about "
        "right, lean) and the sign seen.",
        "facts": [f"In now: {page.in_now}", f"Breathes: {page.breathes}", page.next_reading],
        "steps": list(_MIXTURE_STEPS),
        "heads": ["opening", "about rpm",
                  *(part for n in range(1, _BLANK_ROUNDS + 1)
                    for part in (f"round {n}: lambda", "sign seen"))],
        "rows": [
            [name, dial_speed(share * road_speed_rpm(mark)), *([""] * 2 * _BLANK_ROUNDS)]
            for name, mark in zip(MARK_NAMES, page.influence[0].openings, strict=True)
        ],
        "picture": influence_picture(page, width=480.0, embedded=True),
        "wide": 48,
        "picture_says": page.rule,
        "afterwards": ["Changed in round 1", "Changed in round 2", "Changed in round 3"],
        "cautions": list(page.cautions),
    }  # fmt: skip


def balance_bench_sheet(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> dict[str, Any]:
    """The rack drawn, a column for each gauge, a row for each look."""
    page = balance_page(engine, balance_book(engine, state or State()), head)
    names = [line.name for line in page.gauges]
    return {
        **_head(engine, head),
        "title": "Carburettor balance, bench sheet",
        "intro": "One row for each look at all gauges; the turn that led to it beside it. Turn in: "
        "it opens what the screw moves.",
        "facts": [f"{line.name[:1].upper()}{line.name[1:]}: {line.beyond}" for line in page.gauges],
        "steps": list(_BALANCE_STEPS),
        "heads": ["look", "screw turned", "turns, in or out", *names, "unit"],
        "rows": [[f"{n}", *([""] * (len(names) + 3))] for n in range(1, 9)],
        "picture": balance_picture(page, width=480.0, embedded=True),
        "wide": 52,
        "picture_says": "",
        "afterwards": ["Idle speed set to", "All gauges at raised speed"],
        "cautions": list(page.cautions),
    }


def strobe_bench_sheet(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> dict[str, Any]:
    """The speeds to hold, with what the book's curve wants at each."""
    curve = curve_of_engine(engine)
    speeds = sorted({round(speed / 50) * 50 for speed, _ in curve})
    middles = [50 * round((a + b) / 100) for a, b in itertools.pairwise(speeds)]
    return {
        **_head(engine, head),
        "title": "Timing under the strobe, bench sheet",
        "intro": "Degrees before the top. The book's curve stands beside each speed.",
        "facts": [],
        "steps": list(_STROBE_STEPS),
        "heads": ["rpm", "book, degrees", "speed held", "read", "read after moving"],
        "rows": [
            [f"{speed}", f"{expected_at(curve, float(speed)):.1f}", "", "", ""]
            for speed in sorted({*speeds, *middles})
        ],
        "picture": "",
        "wide": 52,
        "picture_says": "",
        "afterwards": ["Plate moved by", "Lamp and its delay"],
        "cautions": list(STROBE_CAUTIONS),
    }


def _head(engine: EngineFile, head: Head | None) -> dict[str, Any]:
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
    }
