"""One short line to an entry: 'in4 .13 / .15 mm', 'shim in4 2.65', 'loose oil line off'.

Every face takes the same lines. A line is understood first and kept only then.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tickover.book.bodies import Body, LooseEndClosed, LooseEndOpened, Note
from tickover.book.state import LooseEnd, State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import parse, show
from tickover.tasks.answers import (
    check_entries,
    example_of,
    find_check,
    names_of,
    proving_checks,
)
from tickover.tasks.balance_book import turned_line, vacuum_line
from tickover.tasks.compression.in_book import compression_line
from tickover.tasks.compression.measured_entries import ratio_line, wheel_line
from tickover.tasks.fasteners import fastener_named, loosened_entry, tightened_entry
from tickover.tasks.fit_line import fit_entry, understand_fit
from tickover.tasks.fits import fit_title, line_words
from tickover.tasks.loose_line import loose_end_meant
from tickover.tasks.mixture.in_book import mixture_line
from tickover.tasks.strobe import strobe_line
from tickover.tasks.valves.in_book import clearance_entry, clearance_words, shim_entry
from tickover.tasks.valves.readings import clearance_reading, fitted_shim
from tickover.tasks.wiring.wire_line import wire_line

_VALVE = re.compile(r"(?:in|ex)\s*\d+[a-z]?", re.IGNORECASE)
_GAUGE = re.compile(
    r"cyl\s*(?P<number>[0-9]{1,2})[\s:=]+(?P<kind>dry|wet|slow)?\s*(?P<value>[0-9.,]+\s*(?:psi|bar|kPa|MPa|kg/cm2|atm))",
    re.IGNORECASE,
)
_DISTANCE = re.compile(
    r"(?:\bat\s+|@\s*)(?P<distance>[\d.,]+\s*(?:km|mi|miles?))\s*$", re.IGNORECASE
)
_PUT_BACK = re.compile(r"put\s+back\b", re.IGNORECASE)
_NO_GAP = re.compile(r"(?:no gap|nothing)\s*(?P<blade>.*)", re.IGNORECASE)

EXAMPLES = (
    "in4 .13 / .15 mm",
    "ex2 6-7 thou",
    "ex1 no gap 1.5 thou",
    "in2 .11 / .12 mm at 1200 km",
    "shim in4 2.65 mark",
    "fit cyl1 top ring 0.25 mm",
    "torque head bolts 23 Nm done",
    "check intake clamps yes",
    "cyl2 148 psi",
    "compression cyl2 wet 162 psi",
    "ratio cyl1 chamber 15.9 cc",
    "wheel inlet opens 12",
    "mixture 1/4 5200 0.93",
    "vacuum carb2 22 cmHg",
    "turned screw 1-2 in 1/4",
    "strobe 4000 31",
    "wire 12 0.3 ohm",
    "loose oil line off",
    "put back oil line",
    "note new seals in the fork",
)


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line means: the entry to keep and the words to show before it is kept."""

    body: Body
    words: str
    more: tuple[Body, ...] = ()
    """Entries to keep with it: the loose end a check opens by itself."""


def understand_line(
    engine: EngineFile, line: str, warm: bool | None = None, open_ends: Sequence[LooseEnd] = ()
) -> Understood:
    """The entry a short line means.

    Parameters
    ----------
    engine : EngineFile
    line : str
        One of `EXAMPLES`, or like it.
    warm : bool or None
        Of the engine; None where nobody said.
    open_ends : sequence of LooseEnd
        What is loose now; one of them can be put back.

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
    back = _PUT_BACK.match(text)
    if back:
        end = loose_end_meant(open_ends, text[back.end() :].strip(" :"))
        return Understood(LooseEndClosed(end.id), f"put back: {end.opened.body.label}")
    if word in _BY_WORD:
        return _BY_WORD[word](engine, rest.strip(), warm)
    gauge = _GAUGE.fullmatch(text)
    if gauge:  # a pressure at a cylinder and no word more is the dry reading
        kind = gauge["kind"] or "dry"
        return _compression(engine, f"cyl{gauge['number']} {kind} {gauge['value']}", warm)
    match = _VALVE.match(text)
    if match:
        place = "".join(match.group().split()).lower()
        return _clearance(engine, place, text[match.end() :].strip(" :="), warm)
    if any(text.casefold().startswith(f"{name} ") for name in names_of(proving_checks(engine))):
        return _check(engine, text, warm)
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
    said = clearance_words(reading, engine.show.unit("clearance"))
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


def _fit(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    line = understand_fit(engine, rest)
    said = f"{fit_title(line.fit, line.place)}: {line_words(engine, line.fit, line.reading)}"
    return Understood(fit_entry(line), said)


_STAGE = re.compile(r"\s*\bstage\s+(\d+)\b", re.IGNORECASE)
_MARKS = re.compile(r"\s+(done|again|loosened)\s*$", re.IGNORECASE)


def _name_and_torque(engine: EngineFile, text: str) -> tuple[str, str]:
    """A fastener's name may hold digits, so known names are looked for first."""
    folded = text.casefold()
    known = [
        each.name
        for each in engine.fasteners
        if folded == each.name.casefold() or folded.startswith(f"{each.name.casefold()} ")
    ]
    if known:
        name = max(known, key=len)
        return name, text[len(name) :].strip(" :=")
    size = re.search(r"(?<![\w./])[+-]?[\d.,]+\s*[a-z. ·*-]*$", text, re.IGNORECASE)
    typed = size.group() if size else ""
    return text.removesuffix(typed).strip(" :="), typed


def _torque(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'head bolts 23 Nm done', 'head bolts 12 Nm stage 1', 'head bolts loosened'."""
    stage = _STAGE.search(rest)
    text = _STAGE.sub("", rest).strip()
    mark = _MARKS.search(f" {text}")
    text = _MARKS.sub("", f" {text}").strip()
    word = mark[1].casefold() if mark else ""
    name, typed = _name_and_torque(engine, text)
    if not (word or typed or stage):
        raise InputError(
            "Say what was done to it", given=rest,
            allowed="a torque with its unit, 'done', 'stage 1', 'again' or 'loosened'",
            instead=f"'torque {name or 'head bolts'} 23 Nm done'",
        )  # fmt: skip
    if word == "loosened":
        return Understood(loosened_entry(engine, name), f"{name}: loosened")
    number = int(stage[1]) if stage else None
    body = tightened_entry(engine, name, typed, number, again=word == "again")
    fastener = fastener_named(engine, name)
    torque = show(float(body.detail["torque_nm"]), engine.show.unit("torque"), "torque")
    said = f"{fastener.name}: {torque}, stage {body.detail['stage']} of {body.detail['stages']}"
    return Understood(body, said + (", tightened again" if word == "again" else ""))


def _check(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'spark plug1 yes', 'coil primary 1 4.2 ohm at 35 C', 'oil flow 70 ml in 8 s'."""
    check, typed = find_check(proving_checks(engine), rest)
    if not typed:
        raise InputError(f"'{check.title}' needs its answer", given=rest,
                         instead=example_of(check))  # fmt: skip
    body, *more = check_entries(engine, State(), check, typed)
    name = f"{check.name}, {check.place}" if check.place else check.name
    opened = "".join(f"; loose end: {e.label}" for e in more if isinstance(e, LooseEndOpened))
    return Understood(body, f"{name}: {typed}{opened}", tuple(more))


def _compression(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'cyl2 dry 152 psi', '2 wet 11 bar', 'cyl2 leakdown 60/80 psi', 'cyl2 heard exhaust'."""
    body, said = compression_line(engine, rest)
    return Understood(body, said)


def _ratio(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'cyl1 chamber 15.9 +- 0.2 cc', 'gasket 1.0 mm'."""
    return Understood(*ratio_line(engine, rest))


def _wheel(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'inlet opens 12', 'stop before 42'."""
    return Understood(*wheel_line(engine, rest))


def _mixture(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'1/4 5200 0.93', 'full pinking'."""
    return Understood(*mixture_line(engine, rest))


def _vacuum(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'carb2 22 cmHg', 'carb2 29 kPa raised'."""
    return Understood(*vacuum_line(engine, rest))


def _turned(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'screw 2-1 in 1/4'."""
    return Understood(*turned_line(engine, rest))


def _strobe(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'4000 31', '4000 rpm 31 deg'."""
    body = strobe_line(engine, rest)
    return Understood(body, f"strobe, {body.place}: {body.low:g} deg before the top")


def _wire(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    """'12 0.3 ohm', '12 open', '12 to earth open', '12 touches 25'."""
    return Understood(*wire_line(engine, rest))


def _loose(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    return Understood(LooseEndOpened(rest), f"loose end: {rest}")


def _note(engine: EngineFile, rest: str, warm: bool | None) -> Understood:
    return Understood(Note(rest), f"note: {rest}")


_BY_WORD: dict[str, Callable[[EngineFile, str, bool | None], Understood]] = {
    "shim": _shim,
    "fit": _fit,
    "torque": _torque,
    "check": _check,
    "compression": _compression,
    "ratio": _ratio,
    "wheel": _wheel,
    "mixture": _mixture,
    "vacuum": _vacuum,
    "turned": _turned,
    "strobe": _strobe,
    "wire": _wire,
    "loose": _loose,
    "note": _note,
}
