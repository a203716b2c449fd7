"""Build measurements: the checks they give, and what the book's readings say of each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fits import Fit
from tickover.physics.metrology import rectangular_uncertainty
from tickover.quantities import places_known, places_read, places_together, show, show_range
from tickover.tasks.finding import Check, Finding, Stage, Wanted
from tickover.tasks.fit_verdict import (
    FitReading,
    FitResult,
    check_name,
    judge_all,
    wanted_readings,
)

REMADE_BY: Mapping[str, tuple[tuple[str, str], ...]] = {
    "bore": (("rebored or honed", "the cylinder was cut"), ("barrel changed", "another barrel")),
    "piston": (("pistons changed", "another piston is in"),),
    "journal": (("crank reground", "the journals were ground"), ("crank changed", "another crank")),
    "clearance": (
        ("rebored or honed", "the cylinder was cut"), ("barrel changed", "another barrel"),
        ("pistons changed", "another piston is in"), ("crank reground", "the crank was ground"),
        ("crank changed", "another crank"), ("bearings changed", "other bearings are in"),
    ),
    "ring gap": (
        ("rebored or honed", "the cylinder was cut"), ("barrel changed", "another barrel"),
        ("rings changed", "other rings are in"),
    ),
    "ring side clearance": (
        ("pistons changed", "another piston is in"), ("rings changed", "other rings are in"),
    ),
    "end float": (
        ("crank changed", "another crank"), ("bearings changed", "other bearings are in"),
        ("engine opened", "the engine was opened"),
    ),
    "run-out": (("crank changed", "another crank"), ("crank reground", "the crank was ground")),
    "flatness": (("face machined", "the face was cut"),),
    "spring length": (("valve springs changed", "other springs are in"),),
    "length": (("parts changed", "another part is in"),),
}  # fmt: skip
"""Kind of fit to the work that makes its readings void, with the reason."""

_STAGES: dict[str, frozenset[Stage]] = {
    "first start": frozenset({"first start", "riding", "hand-over"}),
    "riding": frozenset({"riding", "hand-over"}),
    "hand-over": frozenset({"hand-over"}),
    "never": frozenset(),
}

_PROVES = {
    "bore": "that the hole is round, straight and the right size",
    "journal": "that the shaft is round, straight and not worn away",
    "piston": "that the piston is the right size for its cylinder",
    "clearance": "that the parts have room to run and do not rattle",
    "ring gap": "that the ring closes hot without butting, and does not leak",
    "ring side clearance": "that the ring moves freely in its groove",
    "end float": "that the shaft has room to grow and does not wander",
    "run-out": "that it runs true",
    "flatness": "that the faces seal",
    "spring length": "that the spring still closes what it has to",
    "length": "that the part is the right size",
}

_HOW = {
    "bore": "Bore gauge set with a micrometer, gauge and part at room temperature. Rock it for the "
    "smallest reading.",
    "journal": "Micrometer zeroed on its standard, part at room temperature, ratchet not force.",
    "piston": "Micrometer across the skirt, square to the pin, at the height the manual names.",
    "clearance": "Blades or a dial gauge where it can be reached; otherwise measure both parts.",
    "ring gap": "Ring alone in its cylinder, pushed square with a piston to where it wears least; "
    "feeler blades in the gap.",
    "ring side clearance": "Ring in its clean groove, feeler blade beside it, all the way round.",
    "end float": "Push to one side, then the other; blade or dial gauge at the end.",
    "run-out": "On vee blocks or centres, dial gauge set to nought, one slow turn: full swing.",
    "flatness": "Straight edge on the clean face, six ways; the thickest blade that goes under.",
    "spring length": "Slide gauge over the free spring, standing straight.",
    "length": "Slide gauge or micrometer, part clean and at room temperature.",
}

_MINUTES = {"bore": 6.0, "clearance": 5.0, "journal": 5.0, "ring gap": 4.0}

_RISK = {"bore": 3, "journal": 3, "clearance": 3, "ring gap": 3, "piston": 3, "end float": 2}

CAUTIONS = ("Clean and dry: oil and dust read as metal. Parts and gauges at one temperature.",)


def fit_results(engine: EngineFile, state: State) -> tuple[FitResult, ...]:
    """Every fit as the book has it; readings older than work that remade the part do not mix in."""

    def readings_of(fit: Fit, place: str) -> list[FitReading]:
        entries = state.readings(check_name(fit), place)
        since = _last_remade(fit, place, state)
        newer = [entry for entry in entries if entry.number > since]
        return [_of_entry(entry) for entry in newer or entries]

    return judge_all(engine, readings_of)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check for each fit at each place."""
    found = []
    for fit in engine.fits:
        low, high = fit.allowed_m
        by_value = wanted_readings(fit) == (("", ""),) and not fit.between
        names = {each.name.lower(): check_name(each) for each in engine.fits if each.is_round}
        for place in fit.places or ("",):
            found.append(
                Check(
                    check_name(fit), place, fit_title(fit, place), _PROVES[fit.kind],
                    fit.how or (_how_between(fit) if fit.between else _HOW[fit.kind]),
                    _STAGES[fit.required],
                    needs=tuple(names[name] for name in fit.between),
                    cautions=CAUTIONS,
                    minutes=0.5 if fit.between else _MINUTES.get(fit.kind, 3.0),
                    risk=_RISK.get(fit.kind, 1),
                    group="fits",
                    wanted=Wanted(
                        "value" if by_value else "page", quantity_of(fit),
                        low if math.isfinite(low) else None, high if math.isfinite(high) else None,
                        rectangular_uncertainty(fit.reading_error_m),
                        prompt=_prompt(fit, place), page="" if by_value else "fits",
                    ),
                )
            )  # fmt: skip
    return tuple(found)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of each fit that has some."""
    return tuple(
        Finding(
            result.check_name, result.place, result.state, fit_words(engine, result), result.proof,
            result.probability,
        )
        for result in fit_results(engine, state)
        if result.state != "open"
    )  # fmt: skip


def quantity_of(fit: Fit) -> str:
    """The kind of quantity a fit is shown as: parts as lengths, gaps as clearances."""
    return "length" if fit.is_round or fit.kind in ("spring length", "length") else "clearance"


def fit_title(fit: Fit, place: str) -> str:
    """A fit in words: 'Top ring, ring gap, cyl1'."""
    parts = [fit.name[:1].upper() + fit.name[1:]]
    if fit.kind not in fit.name.lower():
        parts.append(fit.kind)
    if place:
        parts.append(place)
    return ", ".join(parts)


def limit_words(engine: EngineFile, fit: Fit) -> str:
    """The limits of a fit in words: '61.00 to 61.02 mm, wear limit 61.10 mm'."""
    kind = quantity_of(fit)
    unit = engine.show.unit(kind)
    words = []
    if fit.limits_m is not None:
        words.append(show_range(*fit.limits_m, unit, kind))
    if fit.wear_limit_m is not None:
        end = "at least" if fit.shrinks else "at most"
        words.append(f"wear limit {end} {show(fit.wear_limit_m, unit, kind)}")
    return ", ".join(words)


def places_of(engine: EngineFile, fit: Fit, readings: Sequence[FitReading]) -> int:
    """Decimals all readings of a part are shown with: as typed, and enough for the finest."""
    kind = quantity_of(fit)
    unit = engine.show.unit(kind)
    ends = [end for each in readings for end in (each.low_m, each.high_m) if end is not None]
    typed = [places_read(each.typed, unit, kind) for each in readings]
    return places_together(ends, unit, kind, typed)


def line_words(engine: EngineFile, fit: Fit, reading: FitReading, places: int | None = None) -> str:
    """One reading in words: 'top along 61.012 mm', with the decimals of those beside it."""
    kind = quantity_of(fit)
    if places is None:
        places = places_of(engine, fit, [reading])
    unit = engine.show.unit(kind)
    size = show_range(reading.low_m, reading.high_m, unit, kind, decimals=places)
    return " ".join(word for word in (reading.station, reading.direction, size) if word)


def fit_words(engine: EngineFile, result: FitResult) -> str:
    """What a fit reads, in words and the build's units; empty when it is not measured."""
    if result.mean is None or result.worst is None:
        return ""
    kind = quantity_of(result.fit)
    unit, fine = engine.show.unit(kind), engine.show.unit("clearance")
    places = places_of(engine, result.fit, result.readings)
    if result.fit.is_round and len(result.readings) > 1:
        values = [reading.middle_m for reading in result.readings]
        words = show_range(min(values), max(values), unit, kind, decimals=places)
        words += f", mean {show(result.mean.value, unit, kind, places)}"
    elif len(result.readings) == 1:
        one = result.readings[0]
        words = show_range(one.low_m, one.high_m, unit, kind, decimals=places)
    elif result.parts:
        give = result.mean.expanded()
        known = places_known(give, unit, kind)
        words = show(result.mean.value, unit, kind, known)
        words += f" give or take {show(give, fine, 'clearance', places_known(give, fine, kind))}"
    else:
        words = show(result.mean.value, unit, kind, places)
    for name, shape in (("taper", result.taper), ("out of round", result.out_of_round)):
        if shape is not None:
            # a difference of readings has their decimals, in the same unit
            same = places if fine == unit else None
            words += f", {name} {show(shape.value, fine, 'clearance', same)}"
    notes = list(result.reasons)
    if result.worn:
        notes.append("worn, inside the wear limit")
    if notes:
        words += f": {'; '.join(notes)}"
    limits = limit_words(engine, result.fit)
    return f"{words} ({limits})" if limits else words


def _of_entry(entry: Entry[Reading]) -> FitReading:
    said = entry.body.conditions
    return FitReading(
        entry.body.low, entry.body.high, str(said.get("station", "")),
        str(said.get("direction", "")), entry.number, entry.body.typed,
    )  # fmt: skip


def _last_remade(fit: Fit, place: str, state: State) -> int:
    digits = "".join(sign for sign in place if sign.isdigit())

    def touches(entry: Entry[Work]) -> bool:
        places = entry.body.places
        return not places or any(
            place == each or digits == "".join(s for s in each if s.isdigit()) for each in places
        )

    works = [e for work, _ in REMADE_BY[fit.kind] for e in state.works(work) if touches(e)]
    return max((entry.number for entry in works), default=0)


def _how_between(fit: Fit) -> str:
    return f"Worked out: {fit.between[0]} less {fit.between[1]}; measure both."


def _prompt(fit: Fit, place: str) -> str:
    station = " ".join(part for part in wanted_readings(fit)[0] if part)
    where = f"{place} " if place else ""
    return f"fit {where}{fit.name} {station}".strip()
