"""The page of the build measurements: what reads what, what is worn, what is still to read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import count_words, percent, sentence
from tickover.plan.checks import CheckState, check_states
from tickover.quantities import show
from tickover.tasks.fit_verdict import FitResult, wanted_readings
from tickover.tasks.fits import (
    CAUTIONS,
    fit_results,
    fit_title,
    fit_words,
    limit_words,
    line_words,
    places_of,
    quantity_of,
)


@dataclass(frozen=True, slots=True)
class FitLine:
    """One fit at one place as shown; `was` holds a reading that later work made void."""

    name: str
    place: str
    title: str
    state: str
    reading: str
    was: str
    limits: str
    chance: str
    how: str
    to_read: tuple[str, ...]
    single: tuple[str, ...]
    required: bool
    result: FitResult


@dataclass(frozen=True, slots=True)
class FitsPage:
    """Everything the page, sheet, screen and JSON of the build measurements show."""

    head: Head | None
    title: str
    verdict: str
    lines: tuple[FitLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    nothing: str

    @property
    def all_good(self) -> bool:
        """Whether there are fits and every one is good or accepted."""
        return bool(self.lines) and all(line.state in ("good", "accepted") for line in self.lines)


def fits_page(engine: EngineFile, state: State, head: Head | None = None) -> FitsPage:
    """The page of the fits of a build, or of an engine file with an empty state."""
    known = {item.check.key: item for item in check_states(engine, state)}
    return fits_page_of_results(engine, fit_results(engine, state), known, head)


def fits_page_of_results(
    engine: EngineFile,
    results: tuple[FitResult, ...],
    known: dict[tuple[str, str], CheckState] | None = None,
    head: Head | None = None,
) -> FitsPage:
    """The page for results, with the state each check has in the book where there is one."""
    lines = tuple(
        _line(engine, result, (known or {}).get((result.check_name, result.place)))
        for result in results
    )
    return FitsPage(
        head=head,
        title="Build measurements",
        verdict=_verdict(lines),
        lines=lines,
        whys=_whys(engine),
        cautions=CAUTIONS,
        nothing=""
        if lines
        else "The engine file names no build measurements yet; they stand under [[fits]].",
    )


def _line(engine: EngineFile, result: FitResult, item: CheckState | None) -> FitLine:
    words = fit_words(engine, result)
    limits = limit_words(engine, result.fit)
    reading = words.removesuffix(f" ({limits})")
    state = item.state if item is not None else result.state
    stale = state == "stale"
    return FitLine(
        name=result.check_name,
        place=result.place,
        title=fit_title(result.fit, result.place),
        state=state,
        reading="" if stale else reading,
        was=reading if stale else "",
        limits=limits or "none given",
        chance=percent(result.probability) if result.probability is not None else "",
        how=item.check.how if item is not None else (result.fit.how or ""),
        to_read=tuple(" ".join(word for word in key if word) for key in wanted_readings(result.fit))
        if not result.fit.between
        else (),
        single=tuple(
            line_words(engine, result.fit, reading, places_of(engine, result.fit, result.readings))
            for reading in result.readings
        ),
        required=result.fit.required != "never",
        result=result,
    )


def _verdict(lines: tuple[FitLine, ...]) -> str:
    if not lines:
        return "Nothing is asked for."
    counts = {s: sum(line.state == s for line in lines) for s in ("out", "undecided", "stale",
                                                                  "open", "good")}  # fmt: skip
    if counts["open"] == len(lines):
        return "Nothing is measured yet."
    worn = sum(line.result.worn for line in lines if line.state == "good")
    used = f", {count_words(worn)} of them worn but inside the wear limit" if worn else ""
    if counts["good"] == len(lines):
        if len(lines) == 1:
            return "Good, worn but inside the wear limit." if worn else "Good."
        return sentence(f"all {count_words(len(lines))} are good{used}")
    parts = []
    for state, one, many in (
        ("out", "is out", "are out"),
        ("undecided", "cannot be told yet", "cannot be told yet"),
        ("stale", "must be measured again after work", "must be measured again after work"),
        ("open", "is not measured", "are not measured"),
    ):
        if counts[state]:
            parts.append(f"{count_words(counts[state])} {one if counts[state] == 1 else many}")
    if counts["good"]:
        word = "is" if counts["good"] == 1 else "are"
        parts.append(f"{count_words(counts['good'])} {word} good{used}")
    return sentence(", ".join(parts))


def _whys(engine: EngineFile) -> tuple[Why, ...]:
    errors = {fit.kind: fit.reading_error_m for fit in engine.fits}
    unit = engine.show.unit("clearance")
    said = ", ".join(
        f"{kind} {show(error, unit, 'clearance', decimals=4 if unit == 'mm' else None)}"
        for kind, error in errors.items()
    )
    return (
        Why(
            "Good, out, or cannot be told",
            (
                "each reading, the limits, the wear limit",
                f"give or take of one reading: {said or 'none asked for'}",
            ),
            "standard uncertainty = give or take / √3; a reading proves a side when it lies "
            "1.65 of them clear of the limit",
            "rectangular distribution GUM 4.3.7; decision rule after ISO 14253-1; micrometers "
            "DIN 863; the other errors are our own",
            "the probability beside each verdict, for the reading nearest to its limit",
        ),
        Why(
            "Taper, out-of-round, clearance",
            ("readings at the named stations and directions; the latest at each counts",),
            "taper = largest difference between the means of two stations; out-of-round = largest "
            "difference between two directions at one station; clearance = mean of the hole less "
            "mean of the other part",
            "common practice, no source; uncertainties combined after GUM 5.1.2",
            "√2 of one reading's for a difference of two; less where one gauge set once was used "
            "for both",
        ),
    )


def fits_json(page: FitsPage) -> dict[str, Any]:
    """The page as JSON, lengths in mm."""

    def mm(value: float | None) -> float | None:
        return None if value is None else round(value * 1e3, 6)

    return {
        "verdict": page.verdict,
        "fits": [
            {
                "name": line.result.fit.name,
                "kind": line.result.fit.kind,
                "place": line.place,
                "state": line.state,
                "limits_mm": [mm(end) for end in line.result.fit.limits_m]
                if line.result.fit.limits_m
                else None,
                "wear_limit_mm": mm(line.result.fit.wear_limit_m),
                "mean_mm": mm(line.result.mean.value) if line.result.mean else None,
                "uncertainty_mm": mm(line.result.mean.uncertainty) if line.result.mean else None,
                "worst_mm": mm(line.result.worst.value) if line.result.worst else None,
                "taper_mm": mm(line.result.taper.value) if line.result.taper else None,
                "out_of_round_mm": mm(line.result.out_of_round.value)
                if line.result.out_of_round
                else None,
                "worn": line.result.worn,
                "probability_in": None
                if line.result.probability is None
                else round(line.result.probability, 4),
                "missing": list(line.result.missing),
                "reasons": list(line.result.reasons),
                "quantity": quantity_of(line.result.fit),
            }
            for line in page.lines
        ],
    }
