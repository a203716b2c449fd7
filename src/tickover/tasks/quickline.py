"""One short line to an entry: 'in4 .13 / .15 mm', 'shim in4 2.65', 'loose oil line off'.

Every face takes the same lines. A line is understood first and kept only then.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from tickover.book.bodies import Body, LooseEndOpened, Note
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import parse
from tickover.tasks.valves.in_book import clearance_entry, shim_entry, words
from tickover.tasks.valves.readings import clearance_reading, fitted_shim

_VALVE = re.compile(r"(?:in|ex)\s*\d+[a-z]?", re.IGNORECASE)
_DISTANCE = re.compile(
    r"(?:\bat\s+|@\s*)(?P<distance>[\d.,]+\s*(?:km|mi|miles?))\s*$", re.IGNORECASE
)
_NO_GAP = re.compile(r"(?:no gap|nothing)\s*(?P<blade>.*)", re.IGNORECASE)

EXAMPLES = (
    "in4 .13 / .15 mm",
    "ex2 6-7 thou",
    "ex1 no gap 1.5 thou",
    "in2 .11 / .12 mm at 1200 km",
    "shim in4 2.65 mark",
    "loose oil line off",
    "note new seals in the fork",
)


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line means: the entry to keep and the words to show before it is kept."""

    body: Body
    words: str


def understand_line(engine: EngineFile, line: str, warm: bool | None = None) -> Understood:
    """The entry a short line means.

    Raises
    ------
    InputError
        If nothing here can be made of it; says which lines are understood.
    """
    text = line.strip()
    if not text or len(text) > 300:
        raise InputError("A line with something in it is needed", given=text,
                         instead=f"'{EXAMPLES[0]}'")  # fmt: skip
    first, _, rest = text.partition(" ")
    word = first.casefold().rstrip(":")
    if word in _BY_WORD:
        return _BY_WORD[word](engine, rest.strip(), warm)
    match = _VALVE.match(text)
    if match:
        place = "".join(match.group().split()).lower()
        return _clearance(engine, place, text[match.end() :].strip(" :="), warm)
    raise InputError(
        "This line says nothing that can be kept", given=text,
        allowed="; ".join(EXAMPLES),
    )  # fmt: skip


def _clearance(engine: EngineFile, place: str, rest: str, warm: bool | None) -> Understood:
    run = _DISTANCE.search(rest)
    distance_m = None
    if run:
        distance_m = parse(run["distance"], "distance", what="The distance run").value_si
        rest = rest[: run.start()].rstrip()
    no_gap = _NO_GAP.fullmatch(rest)
    if no_gap:
        blade = no_gap["blade"].strip(" ()") or _thinnest(engine)
        reading = clearance_reading(engine, place, no_go=blade, warm=warm)
    elif "/" in rest:
        go, _, no_go = rest.partition("/")
        unit = re.search(r"[a-zµ\"]+\s*$", no_go.strip(), re.IGNORECASE)
        go = go.strip()
        if unit and go and go not in "-–" and not re.search(r"[a-zµ\"]", go, re.IGNORECASE):
            go = f"{go} {unit.group()}"  # a unit typed once, at the end, serves both blades
        reading = clearance_reading(
            engine, place, "" if go in ("-", "–") else go, no_go.strip(" -–"), warm=warm
        )
    else:
        reading = clearance_reading(engine, place, value=rest, warm=warm)
    reading = replace(reading, distance_m=distance_m)
    said = words(reading, engine.show.unit("clearance"))
    return Understood(clearance_entry(reading), f"{reading.place}: {said}")


def _thinnest(engine: EngineFile) -> str:
    if engine.blades is not None:
        return f"{min(engine.blades.set_m) * 1e3:.4f} mm"
    return "0.03 mm"


def _shim(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    parts = rest.split()
    if len(parts) < 2:
        raise InputError("A shim needs its valve and its size", given=rest,
                         instead="'shim in4 2.65 mark'")  # fmt: skip
    place, *size = parts
    known_by = "micrometer"
    if size[-1].casefold() in ("mark", "micrometer"):
        known_by = size.pop().casefold()
    typed = " ".join(size)
    shim = fitted_shim(engine, place, typed, "", known_by)
    return Understood(
        shim_entry(shim, typed), f"shim at {shim.place}: {shim.size_m * 1e3:.3f} mm, by {known_by}"
    )


def _loose(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    return Understood(LooseEndOpened(rest), f"loose end: {rest}")


def _note(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    return Understood(Note(rest), f"note: {rest}")


_BY_WORD: dict[str, Callable[[EngineFile, str, bool | None], Understood]] = {
    "shim": _shim,
    "loose": _loose,
    "note": _note,
}
