"""The whole of a compression test: expected, even, causes, what cannot be told, what next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from tickover.cache.remembered import remembered
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression.checked import checked
from tickover.tasks.compression.described import (
    PSI,
    Conditions,
    CylinderReadings,
    CylinderSpec,
    EvidenceKey,
    OtherEvidence,
    at_sea_level,
)
from tickover.tasks.compression.emulator import Emulator, make_emulator
from tickover.tasks.compression.evenness import Rule, against_book, rules
from tickover.tasks.compression.expected import Expected, Influence, expected, influences
from tickover.tasks.compression.inference import CAUSES, Posterior, infer
from tickover.tasks.compression.leaks import LeakFigure, cross_check, leak_figure
from tickover.tasks.compression.likelihood import Problem
from tickover.tasks.compression.next_check import Alike, NextCheck, alike, next_check

VerdictWord = Literal["open", "good", "undecided", "out"]

#: Causes that are the test's fault, not the engine's.
OF_THE_TEST = (h.SLIDE, h.SLOW_CRANKING, h.GAUGE)
GOOD_FROM, OUT_FROM = 0.60, 0.80


@dataclass(frozen=True, slots=True)
class Cause:
    """One possible cause, and its probability after the readings."""

    what: str
    probability: float


@dataclass(frozen=True, slots=True)
class CylinderFinding:
    """What is concluded of one cylinder.

    Parameters
    ----------
    place : str
    reading : float, optional
        Dry, gauge [Pa]
    at_sea_level : float, optional
        The same on a standard day at sea level [Pa]
    verdict : "open", "good", "undecided" or "out"
    sentence : str
        Why, in one sentence
    causes : tuple of Cause
        From the most probable on, down to one percent
    leak_mm2 : tuple of float, optional
        10, 50 and 90 percent points of the leak when cranking [mm2]
    leakdown : LeakFigure, optional
    cross_check : str
        What the two tests say of each other
    book : str, optional
        "below", "within" or "above" the book's limits
    """

    place: str
    reading: float | None
    at_sea_level: float | None
    verdict: VerdictWord
    sentence: str
    causes: tuple[Cause, ...]
    leak_mm2: tuple[float, float, float] | None
    leakdown: LeakFigure | None
    cross_check: str
    book: str | None


@dataclass(frozen=True, slots=True)
class Assessment:
    """A compression test, read.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions
    readings : tuple of CylinderReadings
    expected : Expected
    influences : tuple of Influence
    cylinders : tuple of CylinderFinding
    even : tuple of Rule
        The deciding rule first; empty with fewer than two readings
    engine : tuple of Cause
        What moves all cylinders alike
    cannot_tell_apart : tuple of Alike
    next_checks : tuple of NextCheck
        About the most doubtful cylinder, best first
    effective_sample_size : float
    remarks : tuple of str
    """

    spec: CylinderSpec
    day: Conditions
    readings: tuple[CylinderReadings, ...]
    expected: Expected
    influences: tuple[Influence, ...]
    cylinders: tuple[CylinderFinding, ...]
    even: tuple[Rule, ...]
    engine: tuple[Cause, ...]
    cannot_tell_apart: tuple[Alike, ...]
    next_checks: tuple[NextCheck, ...]
    effective_sample_size: float
    remarks: tuple[str, ...]

    @property
    def all_good(self) -> bool:
        """Every cylinder read and good, and the engine even."""
        even = all(rule.holds for rule in self.even[:1])
        return even and all(c.verdict == "good" for c in self.cylinders)


@remembered
def _emulator(spec: CylinderSpec, day: Conditions) -> Emulator:
    return make_emulator(spec, day)


def assess(
    spec: CylinderSpec,
    readings: Sequence[CylinderReadings],
    day: Conditions,
    other: OtherEvidence | None = None,
    *,
    seed: int = 1,
) -> Assessment:
    """Read a compression test.

    Parameters
    ----------
    spec : CylinderSpec
    readings : sequence of CylinderReadings
        Of as many cylinders as were measured
    day : Conditions
    other : OtherEvidence, optional
        What the rest of the book says
    seed : int
        Of the draws

    Returns
    -------
    Assessment

    Raises
    ------
    InputError
        If a reading cannot be what it says it is.
    """
    kept, remarks = checked(spec, day, readings)
    known = other or OtherEvidence()
    return _assessed(spec, kept, remarks, day, known.as_key(), seed)


@remembered
def _assessed(
    spec: CylinderSpec,
    kept: tuple[CylinderReadings, ...],
    remarks: tuple[str, ...],
    day: Conditions,
    known: EvidenceKey,
    seed: int,
) -> Assessment:
    """The work of `assess`; a page drawn again with nothing changed costs nothing."""
    other = OtherEvidence.of_key(known)
    usual = expected(spec, day)
    figures = [leak_figure(r, day) for r in kept]
    dry = {r.place: r.dry for r in kept if r.dry is not None}
    even = rules(dry)
    best = max(dry.values(), default=None)
    anything = bool(dry) or any(f is not None and f.area_mm2 is not None for f in figures)
    found = None
    if anything:
        problem = Problem(spec, day, kept, other, _emulator(spec, day))
        found = infer(problem, seed)
    cylinders = []
    for i, reading in enumerate(kept):
        cylinders.append(_finding(spec, day, reading, i, found, usual, figures[i], even, best))
    groups, checks = _doubts(kept, found)
    extra = [f"{f.place}: {f.remark}" for f in figures if f is not None and f.remark]
    if found is not None and found.ess < 30.0:
        extra.append(f"The probabilities rest on {found.ess:.0f} draws only: take them as rough.")
    extra += _strokes_remarks(kept, usual, day)
    if day.unseated_rings:
        extra.append(
            "Rings not yet seated leak about half as much again as seated ones: expect 5 to 20 "
            "psi less than later, and test again after the first rides."
        )
    return Assessment(
        spec=spec,
        day=day,
        readings=kept,
        expected=usual,
        influences=influences(spec, day),
        cylinders=tuple(cylinders),
        even=even,
        engine=_engine_causes(found),
        cannot_tell_apart=groups,
        next_checks=checks,
        effective_sample_size=0.0 if found is None else found.ess,
        remarks=(*spec.assumptions, *remarks, *extra),
    )


def _strokes_remarks(
    kept: tuple[CylinderReadings, ...], usual: Expected, day: Conditions
) -> list[str]:
    """Strokes to full belong to the hose: say so where they are not what the hose should take."""
    low, _, high = usual.strokes_to_full
    found = []
    for reading in kept:
        count = reading.strokes_to_full
        if count is None:
            continue
        if count > day.strokes:
            found.append(
                f"{reading.place}: full after {count} strokes, but only {day.strokes} were "
                "counted: read it again with more."
            )
        elif count > high + 2 or count < low - 2:
            found.append(
                f"{reading.place}: full after {count} strokes where {low} to {high} are usual: "
                "a hose of another size, or a check valve that leaks or sticks; no sign of a fault."
            )
    return found


def _engine_causes(found: Posterior | None) -> tuple[Cause, ...]:
    if found is None:
        return ()
    ranked = sorted(found.engine.items(), key=lambda item: -item[1])
    return tuple(Cause(name, value) for name, value in ranked if value >= 0.01)


def _doubts(
    kept: tuple[CylinderReadings, ...], found: Posterior | None
) -> tuple[tuple[Alike, ...], tuple[NextCheck, ...]]:
    if found is None:
        return (), ()
    read = [i for i, r in enumerate(kept) if r.dry is not None or r.leak_percent is not None]
    groups = [g for i in read for g in alike(kept[i].place, found.local[i], found.evidence[i])]
    worst = min(read, key=lambda i: float(found.local[i, 0]))
    checks = next_check(kept[worst], found, worst)
    return tuple(groups), checks


def _finding(
    spec: CylinderSpec,
    day: Conditions,
    reading: CylinderReadings,
    i: int,
    found: Posterior | None,
    usual: Expected,
    figure: LeakFigure | None,
    even: tuple[Rule, ...],
    best: float | None,
) -> CylinderFinding:
    level = None if reading.dry is None else at_sea_level(reading.dry, day.air_pressure)
    book = None
    if reading.dry is not None:
        book = against_book(reading.dry, spec.book_limit, day.air_pressure)
    unread = reading.dry is None and (figure is None or figure.area_mm2 is None)
    if found is None or unread:
        return CylinderFinding(
            reading.place, reading.dry, level, "open", "Not measured.", (), None, figure, "", book
        )
    local = found.local[i]
    order = np.argsort(-local)
    causes = tuple(Cause(CAUSES[c], float(local[c])) for c in order if local[c] >= 0.01)
    uneven = bool(even) and reading.place in even[0].where
    verdict, sentence = _verdict(causes, float(local[0]), uneven, book)
    low, middle, high = (float(x) for x in found.leak[i])
    return CylinderFinding(
        reading.place,
        reading.dry,
        level,
        verdict,
        sentence,
        causes,
        (low, middle, high),
        figure,
        cross_check(spec, figure, reading.dry, usual.last, best),
        book,
    )


def _verdict(
    causes: tuple[Cause, ...], sound: float, uneven: bool, book: str | None
) -> tuple[VerdictWord, str]:
    fault = next((c for c in causes if c.what != h.SOUND), None)
    most = f"{fault.what} ({100 * fault.probability:.0f} percent)" if fault else "nothing known"
    if book == "below":
        return "out", f"Below the book's limit, brought to sea level. Most likely: {most}."
    if uneven:
        return "out", f"Below 75 percent of the best cylinder. Most likely: {most}."
    of_test = sum(c.probability for c in causes if c.what in OF_THE_TEST)
    if sound >= GOOD_FROM:
        return "good", f"As a sound cylinder reads ({100 * sound:.0f} percent)."
    if of_test >= 0.5:
        return "undecided", f"The test itself is in doubt: {most}. Put that right and test again."
    if 1.0 - sound - of_test >= OUT_FROM:
        return "out", f"Something is wrong. Most likely: {most}."
    return "undecided", f"These readings cannot decide. Sound {100 * sound:.0f} percent, {most}."


def as_json(found: Assessment) -> dict[str, Any]:
    """The assessment as plain data.

    Parameters
    ----------
    found : Assessment

    Returns
    -------
    dict
        `cylinders`, `even`, `engine`, `cannot_tell_apart`, `next_check`, `next_checks`,
        `influences`, `climb_psi`, `strokes_to_full`, `effective_sample_size`, `remarks`.
    """
    usual = found.expected
    return {
        "cylinders": [_cylinder_json(found, c) for c in found.cylinders],
        "even": _even_json(found.even),
        "engine": [{"what": c.what, "probability": round(c.probability, 4)} for c in found.engine],
        "cannot_tell_apart": [
            {
                "place": g.place,
                "causes": list(g.causes),
                "probability": round(g.probability, 4),
                "would_tell": list(g.would_tell),
            }
            for g in found.cannot_tell_apart
        ],
        "next_check": _check_json(found.next_checks[0]) if found.next_checks else None,
        "next_checks": [_check_json(c) for c in found.next_checks],
        "influences": [{"what": x.what, "psi": round(x.change / PSI, 1)} for x in found.influences],
        "climb_psi": [
            [round(a / PSI, 1), round(b / PSI, 1), round(c / PSI, 1)]
            for a, b, c in zip(usual.low, usual.middle, usual.high, strict=True)
        ],
        "strokes_to_full": list(usual.strokes_to_full),
        "air_pressure_hpa": round(found.day.air_pressure / 100.0, 1),
        "effective_sample_size": round(found.effective_sample_size, 1),
        "remarks": list(found.remarks),
    }


def _cylinder_json(found: Assessment, c: CylinderFinding) -> dict[str, Any]:
    return {
        "place": c.place,
        "expected_psi": [round(x / PSI, 1) for x in found.expected.last],
        "reading_psi": None if c.reading is None else round(c.reading / PSI, 2),
        "at_sea_level_psi": None if c.at_sea_level is None else round(c.at_sea_level / PSI, 1),
        "verdict": c.verdict,
        "sentence": c.sentence,
        "causes": [{"what": x.what, "probability": round(x.probability, 4)} for x in c.causes],
        "leak_area_mm2": None if c.leak_mm2 is None else [round(x, 3) for x in c.leak_mm2],
        "leakdown": None
        if c.leakdown is None
        else {
            "percent": c.leakdown.percent,
            "area_mm2": None
            if c.leakdown.area_mm2 is None
            else [round(x, 3) for x in c.leakdown.area_mm2],
            "remark": c.leakdown.remark,
        },
        "cross_check": c.cross_check,
        "book": c.book,
    }


def _even_json(even: tuple[Rule, ...]) -> dict[str, Any] | None:
    if not even:
        return None
    first = even[0]
    return {
        "figure": round(first.figure, 1),
        "unit": first.unit,
        "rule": first.words,
        "holds": first.holds,
        "where": list(first.where),
        "others": [
            {"rule": r.words, "figure": round(r.figure, 1), "unit": r.unit, "holds": r.holds}
            for r in even[1:]
        ],
    }


def _check_json(check: NextCheck) -> dict[str, Any]:
    return {
        "what": check.what,
        "place": check.place,
        "minutes": check.minutes,
        "bits": round(check.bits, 3),
        "how": check.how,
    }
