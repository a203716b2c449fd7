"""The compression task and the book: what it reads there, and the entries it writes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import show
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression.assess import Assessment, assess
from tickover.tasks.compression.described import (
    PSI,
    Conditions,
    CylinderReadings,
    OtherEvidence,
)
from tickover.tasks.compression.from_file import conditions_from_file, spec_from_file
from tickover.tasks.compression.measured_book import with_measured
from tickover.tasks.compression.tables import cylinder_place, reading_kind, with_reading
from tickover.tasks.finding import Check, Finding, Wanted

CHECK = "compression"
_WHAT = {
    "dry": "compression dry",
    "wet": "compression wet",
    "slow": "compression slow",
    "first stroke": "compression first stroke",
    "strokes to full": "compression strokes to full",
    "leakdown": "leak-down",
    "air heard at": "air heard at",
}
_FIELD = {"dry": "dry", "wet": "wet", "slow": "slow", "first stroke": "first"}
_CLEARANCE = "valve clearance"

#: Work after which rings have yet to seat.
RING_WORK = ("rings changed", "rebored or honed", "pistons changed", "barrel changed")

CAUTIONS = (
    "All plugs out, leads earthed or unplugged: a spark jumps into what comes out of the holes.",
    "Fuel tap off; mixture and oil leave the plug holes as a mist: no flame, eyes away.",
    "Clear of belts, chains and a kick lever; in neutral, and nobody's hand on the wheel.",
    "Leak-down air turns the crank: lock it, stand clear, open the valve slowly.",
)
HOW = (
    "Throttle held wide open, slides lifted, choke off; battery charged; gauge screwed in; crank "
    "until the needle stops, at least five strokes, and count them."
)


@dataclass(frozen=True, slots=True)
class CompressionBook:
    """What the book says about compression.

    `was` holds readings that later work made void: they are shown and not counted. `proof` is the
    number of the latest entry of each cylinder.
    """

    readings: tuple[CylinderReadings, ...]
    was: Mapping[str, CylinderReadings]
    day: Conditions
    other: OtherEvidence
    proof: Mapping[str, int]


def cylinder_places(engine: EngineFile) -> tuple[str, ...]:
    """'cyl1' and so on."""
    return tuple(f"cyl{n}" for n in range(1, engine.engine.cylinders + 1))


def reading_entry(
    place: str, kind: str, value: str, unit: str, day: Conditions, instrument: str = ""
) -> Reading:
    """The book's entry for one reading, with how the test was done beside it.

    Parameters
    ----------
    place : str
        "cyl1" ...
    kind : str
        "dry", "wet", "slow", "first stroke", "leakdown" or "air heard at"
    value, unit : str
        As typed
    day : Conditions
    instrument : str

    Raises
    ------
    InputError
        As `with_reading`.
    """
    known = reading_kind(kind)
    found = with_reading(CylinderReadings(place), known, value, unit, day)
    typed = f"{value} {unit}".strip()
    beside = _beside(day)
    if known == "air heard at":
        assert found.heard is not None
        return Reading(
            _WHAT[known], place, 1.0, 1.0, "yes", typed, instrument, {**beside, "at": found.heard}
        )
    if known == "strokes to full":
        count = found.strokes_to_full
        assert count is not None
        return Reading(_WHAT[known], place, count, count, "1", typed, instrument, beside)
    if known == "leakdown":
        assert found.leak_percent is not None
        share = found.leak_percent / 100.0
        return Reading(_WHAT[known], place, share, share, "1", typed, instrument, beside)
    pressure = getattr(found, _FIELD[known])
    return Reading(_WHAT[known], place, pressure, pressure, "Pa", typed, instrument, beside)


_LINE_KINDS = (
    "strokes to full", "first stroke", "air heard at", "leak-down", "leakdown", "heard", "dry",
    "wet", "slow", "first",
)  # fmt: skip


def compression_line(engine: EngineFile, text: str) -> tuple[Reading, str]:
    """The entry a short line means, and the words to show before it is kept.

    Parameters
    ----------
    engine : EngineFile
    text : str
        'cyl2 dry 152 psi', '2 wet 11 bar', 'cyl2 leakdown 60/80 psi', 'cyl2 heard exhaust'

    Returns
    -------
    tuple of Reading and str

    Raises
    ------
    InputError
        If place, kind or value is none.
    """
    example = "'compression cyl2 dry 152 psi'"
    first, _, rest = text.strip().partition(" ")
    place = cylinder_place(first, engine.engine.cylinders)
    folded = rest.strip().casefold()
    kind = next((k for k in _LINE_KINDS if folded == k or folded.startswith(f"{k} ")), None)
    if kind is None or place == "test":
        raise InputError(
            "A compression reading needs its cylinder, its kind and its value", given=text,
            allowed="dry, wet, slow, first stroke, leakdown or heard", instead=example,
        )  # fmt: skip
    typed = rest.strip()[len(kind) :].strip(" :=")
    if not typed:
        raise InputError("Nothing stands behind the kind", given=text, instead=example)
    value, unit = typed, ""
    if "/" in typed:
        value, _, unit = typed.partition(" ")
    known = reading_kind(kind)
    if known in _FIELD and not any(c.isalpha() for c in typed):
        unit = engine.show.unit("pressure")
    body = reading_entry(place, known, value, unit.strip(), Conditions())
    return body, f"{place}, {known}: {typed}{f' {unit}' if unit and unit not in typed else ''}"


def _beside(day: Conditions) -> dict[str, str | float | bool]:
    """What differs from a test nobody said anything about."""
    usual = Conditions()
    return {
        f.name: getattr(day, f.name)
        for f in fields(Conditions)
        if getattr(day, f.name) != getattr(usual, f.name)
    }


def _day_of(engine: EngineFile, state: State) -> Conditions:
    """How the latest test was done; what it does not say, the engine file says."""
    day = conditions_from_file(engine)
    said: dict[str, Any] = {}
    entries = [e for what in _WHAT.values() for e in state.readings(what)]
    for entry in sorted(entries, key=lambda e: e.number):
        said.update(entry.body.conditions)
    known = {f.name for f in fields(Conditions)}
    day = replace(day, **{k: v for k, v in said.items() if k in known})
    if "unseated_rings" not in said and _rings_unseated(state):
        day = replace(day, unseated_rings=True)
    own = ("ratio", "ratio_sd", "cam_late_deg", "cam_late_sd_deg")
    told = {name: said[name] for name in own if name in said}
    return replace(with_measured(engine, state, day), **told)


def _rings_unseated(state: State) -> bool:
    """Rings or bores were renewed, and the engine has not run since."""
    fresh = max((e.number for what in RING_WORK for e in state.works(what)), default=0)
    ran = max(
        (e.number for e in state.start_attempts() if e.body.outcome in ("ran", "runs")), default=0
    )
    return fresh > ran


def compression_book(
    engine: EngineFile, state: State, stale: frozenset[str] = frozenset()
) -> CompressionBook:
    """Latest readings of every cylinder, how the test was done, and what else the book knows.

    `stale` names cylinders whose readings later work made void.
    """
    readings: list[CylinderReadings] = []
    was: dict[str, CylinderReadings] = {}
    proof: dict[str, int] = {}
    for place in cylinder_places(engine):
        found = CylinderReadings(place)
        for kind, what in _WHAT.items():
            entry = state.latest(what, place)
            if entry is not None:
                found = _with_entry(found, kind, entry)
                proof[place] = max(proof.get(place, 0), entry.number)
        if place in stale:
            was[place] = found
            found = CylinderReadings(place)
        readings.append(found)
    day = _day_of(engine, state)
    return CompressionBook(tuple(readings), was, day, _other(engine, state), proof)


def _with_entry(found: CylinderReadings, kind: str, entry: Entry[Reading]) -> CylinderReadings:
    body = entry.body
    if kind == "air heard at":
        return replace(found, heard=str(body.conditions.get("at", "nowhere")))
    if body.low is None or body.high is None:
        return found
    middle = 0.5 * (body.low + body.high)
    if kind == "leakdown":
        return replace(found, leak_percent=100.0 * middle)
    if kind == "strokes to full":
        return replace(found, strokes_to_full=round(middle))
    changes: dict[str, Any] = {_FIELD[kind]: middle}
    return replace(found, **changes)


def _other(engine: EngineFile, state: State) -> OtherEvidence:
    tight_inlet: dict[str, float] = {}
    tight_exhaust: dict[str, float] = {}
    for place in engine.places():
        entry = state.latest(_CLEARANCE, place.name)
        if entry is None:
            continue
        table = tight_inlet if place.kind == "in" else tight_exhaust
        cylinder = f"cyl{place.cylinder}"
        table[cylinder] = max(table.get(cylinder, 0.0), _tight(entry.body))
    odds: dict[tuple[str, str], float] = {}
    for done in state.works("valve or seat work"):
        for place_name in done.body.places:
            digits = "".join(c for c in place_name if c.isdigit())
            valve = h.INLET if place_name.startswith("in") else h.EXHAUST
            odds[f"cyl{digits}", valve] = 0.4
    return OtherEvidence(tight_inlet, tight_exhaust, odds)


def _tight(body: Reading) -> float:
    """Probability that a valve has no clearance left, from its reading (judgement)."""
    if body.low is None:
        # Not even the thinnest blade went; a thick one as the thinnest says less.
        return 0.7 if body.high is not None and body.high <= 60e-6 else 0.4
    return 0.3 if body.low < 15e-6 else 0.0


def has_compression(engine: EngineFile, state: State) -> bool:
    """Whether this build takes part: limits in its engine file, or a reading in its book."""
    if engine.engine.bore_m is None or engine.engine.stroke_m is None:
        return False
    if engine.compression is not None:
        return True
    return any(state.readings(what) for what in _WHAT.values())


def book_assessment(
    engine: EngineFile, state: State, stale: frozenset[str] = frozenset()
) -> Assessment:
    """The compression test as the book has it.

    Raises
    ------
    InputError
        If the engine file says too little, or readings cannot be what they say.
    """
    book = compression_book(engine, state, stale)
    return assess(spec_from_file(engine), book.readings, book.day, book.other)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check for each cylinder, where the build takes part."""
    if not has_compression(engine, state):
        return ()
    limit = None if engine.compression is None else engine.compression.limit_pa
    low, high = limit if limit is not None else (None, None)
    return tuple(
        Check(
            CHECK, place, f"Compression {place}",
            "that the cylinder holds what it draws in",
            HOW, frozenset({"hand-over"}), needs=("oil flow",), cautions=CAUTIONS[:3],
            minutes=4.0, risk=1, group="compression",
            wanted=Wanted("page", "pressure", low, high, 3.0 * PSI, page="compression"),
        )
        for place in cylinder_places(engine)
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the latest readings say of each cylinder, whether or not they still hold."""
    if not has_compression(engine, state):
        return ()
    book = compression_book(engine, state)
    if not book.proof:
        return ()
    try:
        found = assess(spec_from_file(engine), book.readings, book.day, book.other)
    except InputError as error:
        return tuple(
            Finding(CHECK, place, "undecided", str(error), number)
            for place, number in book.proof.items()
        )
    unit = engine.show.unit("pressure")
    made = []
    for cylinder in found.cylinders:
        if cylinder.verdict == "open" or cylinder.place not in book.proof:
            continue
        words = "leak-down only" if cylinder.reading is None else show(
            cylinder.reading, unit, "pressure"
        )  # fmt: skip
        sound = next((c.probability for c in cylinder.causes if c.what == h.SOUND), 0.0)
        made.append(
            Finding(
                CHECK, cylinder.place, cylinder.verdict, f"{words}: {cylinder.sentence}",
                book.proof[cylinder.place], sound,
            )
        )  # fmt: skip
    return tuple(made)
