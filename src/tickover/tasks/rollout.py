"""Roll-outs in the book: what one turn of a wheel covers, and what makes such a reading void."""

from __future__ import annotations

import re

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.gearing import roll_out
from tickover.quantities import parse, parse_number

ROLL_OUT = "roll-out"
TYRE = "tyre changed"
SPROCKETS = "sprockets changed"
INSTRUMENT = "speedometer changed"
WHEELS = ("front", "rear")
CHANGES = (TYRE, SPROCKETS, INSTRUMENT)
"""Work that makes a reading of the speedometer void."""
_LINE = re.compile(r"^\s*(?:(front|rear)\b[\s:,]*)?(.+?)\s+in\s+([\d.,]+)\s*turns?\s*$", re.I)
_EXAMPLE = "'rear 9.98 m in 5 turns'"


def roll_out_entry(engine: EngineFile, text: str, wheel: str = "") -> Reading:
    """The entry of a walk beside the wheel: 'rear 9.98 m in 5 turns'.

    Parameters
    ----------
    engine : EngineFile
    text : str
        Way and whole turns; the wheel before them unless it is given.
    wheel : str
        'front' or 'rear'.

    Raises
    ------
    InputError
        No such wheel, no way or turns, or no wheel's circumference.
    """
    found = _LINE.match(text)
    if found is None:
        raise InputError("A roll-out is a way and the turns it took", given=text,
                         instead=_EXAMPLE)  # fmt: skip
    name = wheel or (found[1] or "").casefold()
    if name not in WHEELS:
        raise InputError("Say which wheel was rolled", given=wheel or text,
                         allowed="front or rear", instead=_EXAMPLE)  # fmt: skip
    way = parse(found[2], "length", "m", "The way").value_si
    turns = float(parse_number(found[3], "The turns"))
    if turns != round(turns) or not 1 <= turns <= 200:
        raise InputError("A roll-out takes whole turns of the wheel", given=f"{found[3]} turns",
                         allowed="1 to 200; five make it good", instead=_EXAMPLE)  # fmt: skip
    band = roll_out(way, turns)
    return Reading(ROLL_OUT, name, band.low, band.high, "m", text.strip(), "",
                   {"turns": turns, "way_m": way})  # fmt: skip


def change_entry(what: str, wheel: str = "", note: str = "") -> Work:
    """The entry of another tyre, other sprockets or another instrument.

    Raises
    ------
    InputError
        None of these.
    """
    if what not in CHANGES:
        raise InputError("That changes nothing between crank and needle", given=what,
                         allowed=", ".join(CHANGES))  # fmt: skip
    places = (wheel,) if what == TYRE and wheel in WHEELS else ()
    return Work(what, places, {"note": note} if note else {})


def overtaken(state: State, number: int, works: tuple[str, ...], place: str = "") -> str:
    """The work done after an entry that makes it void; '' where there is none.

    Parameters
    ----------
    state : State
    number : int
        Of the entry.
    works : tuple of str
    place : str
        Work at other places than this does not touch it; '' for work anywhere.
    """
    for what in works:
        for work in state.works(what):
            named = work.body.places
            if work.number > number and (not place or not named or place in named):
                return what
    return ""


def rolled(state: State | None, wheel: str) -> tuple[Entry[Reading], Band] | None:
    """The latest roll-out of a wheel that still holds; None without one."""
    entry = state.latest(ROLL_OUT, wheel) if state is not None else None
    if state is None or entry is None or overtaken(state, entry.number, (TYRE,), wheel):
        return None
    low, high = entry.body.low, entry.body.high
    if low is None or high is None or entry.body.unit != "m":
        return None
    return entry, Band(low, high)


def file_overtaken(state: State | None, wheel: str) -> bool:
    """Whether the tyre was changed after the engine file was last written."""
    if state is None or state.engine_file is None:
        return False
    return bool(overtaken(state, state.engine_file.number, (TYRE,), wheel))
