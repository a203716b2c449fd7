"""The pages of the compression ratio by burette and of the cam timing by degree wheel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import listed, place_words, sentence
from tickover.quantities import show
from tickover.tasks.compression import PSI, Conditions, conditions_from_file, expected
from tickover.tasks.compression.from_file import spec_from_file
from tickover.tasks.compression.measured import CamFinding, CamTiming
from tickover.tasks.compression.measured_book import (
    RATIO_CAUTIONS,
    RATIO_HOW,
    TIMING_CAUTIONS,
    TIMING_HOW,
    RatioFinding,
    book_ratio,
    cam_state,
    ratio_finding,
    ratio_places,
    timing_finding,
    wheel_readings,
    with_ratios,
    with_timing,
    worst_cam,
)
from tickover.tasks.finding import StateWord

NOTHING_VOLUMES = "No chamber is measured yet."
NOTHING_WHEEL = "No event is read yet."


@dataclass(frozen=True, slots=True)
class RatioPage:
    """Ratios as measured, cylinder by cylinder; `refused` says in words what cannot be used."""

    head: Head | None
    title: str
    verdict: str
    found: tuple[RatioFinding, ...]
    refused: tuple[tuple[str, str], ...]
    needle: str
    needle_psi: Mapping[str, tuple[float, float, float]]
    how: str
    cautions: tuple[str, ...]
    whys: tuple[Why, ...]

    @property
    def all_good(self) -> bool:
        """Something is measured, all of it usable and as told."""
        good = all(f.state in ("good", "accepted") for f in self.found)
        return bool(self.found) and good and not self.refused


@dataclass(frozen=True, slots=True)
class TimingPage:
    """Cam timing as measured."""

    head: Head | None
    title: str
    verdict: str
    timing: CamTiming | None
    lines: tuple[tuple[str, str, str, tuple[str, ...]], ...]
    """Camshaft, state, sentence, facts."""
    needle: str
    needle_psi: Mapping[str, tuple[float, float, float]]
    how: str
    cautions: tuple[str, ...]
    whys: tuple[Why, ...]

    @property
    def all_good(self) -> bool:
        """Both events of a valve are read, and as told."""
        states = [state for _, state, _, _ in self.lines if state]
        return bool(states) and all(state in ("good", "accepted") for state in states)


def _needle(
    engine: EngineFile, before: Conditions, after: Conditions
) -> tuple[str, dict[str, tuple[float, float, float]]]:
    """What the gauge should say before and with what was measured."""
    if before == after:
        return "", {}
    try:
        spec = spec_from_file(engine)
    except InputError:
        return "", {}
    unit = engine.show.unit("pressure")
    psi, words = {}, []
    for name, day in (("told", before), ("measured", after)):
        low, middle, high = expected(spec, day).last
        psi[name] = (low / PSI, middle / PSI, high / PSI)
        words.append(
            f"{show(low, unit, 'pressure', with_unit=False)} to {show(high, unit, 'pressure')}"
        )
    return (
        f"A sound cylinder should show {words[1]} with what was measured, {words[0]} by the "
        "engine file alone.",
        psi,
    )


def ratio_page(
    engine: EngineFile,
    found: Iterable[RatioFinding],
    refused: Iterable[tuple[str, str]] = (),
    head: Head | None = None,
) -> RatioPage:
    """The page of ratios already worked out.

    Parameters
    ----------
    engine : EngineFile
    found : iterable of RatioFinding
    refused : iterable of (place, sentence)
    head : Head, optional

    Returns
    -------
    RatioPage
    """
    known, wrong = tuple(found), tuple(refused)
    day = conditions_from_file(engine)
    standing = [f.measured for f in known if f.state != "stale"]
    needle, psi = _needle(engine, day, with_ratios(day, standing))
    stale = [place_words(f.place) for f in known if f.state == "stale"]
    out = [place_words(f.place) for f in known if f.state == "out"]
    if wrong:
        verdict = "These volumes cannot all be used."
    elif not known:
        verdict = NOTHING_VOLUMES
    elif stale:
        verdict = sentence(f"{listed(stale)} must be measured again after work")
    elif out:
        verdict = sentence(f"{listed(out)} {'is' if len(out) == 1 else 'are'} not as told")
    else:
        verdict = "As told." if known[0].told is not None else "Measured."
    return RatioPage(
        head, "Compression ratio by burette", verdict, known, wrong, needle, psi, RATIO_HOW,
        RATIO_CAUTIONS, tuple(_ratio_why(f) for f in known),
    )  # fmt: skip


def _ratio_why(found: RatioFinding) -> Why:
    made = found.measured
    shares = "; ".join(f"{words} {sd:.3f}" for words, sd in made.shares)
    return Why(
        sentence(f"the ratio of {place_words(found.place)}"),
        (f"{1e6 * made.clearance:.2f} cc above the piston at the top",),
        "(swept + clearance) / clearance; clearance = chamber + gasket + deck - dome",
        "geometry",
        f"{made.sd:.2f}, one standard deviation; each measurement alone: {shares}",
    )


def ratio_of_readings(engine: EngineFile, readings: Iterable[Reading]) -> RatioPage:
    """The page of volumes from a file or from options: place '' stands for every cylinder.

    Raises
    ------
    InputError
        If there is none, or they make no ratio.
    """
    common: dict[str, Reading] = {}
    own: dict[str, dict[str, Reading]] = {}
    for body in readings:
        (own.setdefault(body.place, {}) if body.place else common)[body.what] = body
    if not own:
        own = {"cyl1": {}}
    return ratio_page(
        engine, [ratio_finding(engine, {**common, **own[place]}, place) for place in sorted(own)]
    )


def ratio_of_book(
    engine: EngineFile,
    state: State,
    head: Head | None = None,
    known: Mapping[str, StateWord] | None = None,
) -> RatioPage:
    """The page as the book has it; `known` tells cylinders that are stale or accepted."""
    found, refused = [], []
    for place in ratio_places(engine, state):
        try:
            made = book_ratio(engine, state, place)
            word = (known or {}).get(place, made.state)
            again = " Work was done since; measure it again." if word == "stale" else ""
            found.append(replace(made, state=word, sentence=made.sentence + again))
        except InputError as error:
            refused.append((place, str(error)))
    return ratio_page(engine, found, refused, head)


def ratio_json(page: RatioPage) -> dict[str, Any]:
    """The page as JSON.

    Returns
    -------
    dict
        `verdict`, `cylinders`, `refused`, `expected_psi` before and with what was measured.
    """
    return {
        "verdict": page.verdict,
        "cylinders": [
            {
                "place": f.place,
                "ratio": round(f.measured.ratio, 4),
                "ratio_sd": round(f.measured.sd, 4),
                "clearance_cc": round(1e6 * f.measured.clearance, 3),
                "told": f.told,
                "verdict": f.state,
                "sentence": f.sentence,
                "shares": [
                    {"what": what, "ratio_sd": round(sd, 4)} for what, sd in f.measured.shares
                ],
            }
            for f in page.found
        ],
        "refused": [{"place": place, "why": why} for place, why in page.refused],
        "expected_psi": _rounded(page.needle_psi),
    }


def _rounded(psi: Mapping[str, tuple[float, float, float]]) -> dict[str, list[float]]:
    return {name: [round(x, 1) for x in values] for name, values in psi.items()}


def timing_page(
    engine: EngineFile,
    timing: CamTiming | None,
    head: Head | None = None,
    refused: str = "",
    known: StateWord | None = None,
) -> TimingPage:
    """The page of cam timing already worked out.

    Parameters
    ----------
    engine : EngineFile
    timing : CamTiming, optional
    head : Head, optional
    refused : str
        Why readings in the book make no timing
    known : "stale" or "accepted", optional
        Where the book knows better

    Returns
    -------
    TimingPage
    """
    day = conditions_from_file(engine)
    needle = ""
    psi: dict[str, tuple[float, float, float]] = {}
    lines: tuple[tuple[str, str, str, tuple[str, ...]], ...] = ()
    verdict = refused or NOTHING_WHEEL
    if timing is not None:
        if known != "stale":
            needle, psi = _needle(engine, day, with_timing(day, timing))
        lines = tuple(_cam_line(f, known) for f in timing.findings)
        verdict = {
            "good": "The cams are timed as told.",
            "undecided": "Whether the cams are timed right cannot be told yet.",
            "out": "The cams are not timed as told.",
        }[worst_cam(timing)]
        if known == "stale":
            verdict = "Work was done since; the cams must be read again."
        if timing.overlap_deg is not None and timing.separation_deg is not None:
            both = (
                f"overlap {timing.overlap_deg:.1f} crank degrees",
                f"lobe separation {timing.separation_deg:.1f} cam degrees",
            )
            lines = (*lines, ("both", "", "", both))
    return TimingPage(
        head, "Cam timing by degree wheel", verdict, timing, lines, needle, psi, TIMING_HOW,
        TIMING_CAUTIONS, () if timing is None else _timing_whys(engine, timing),
    )  # fmt: skip


def _cam_line(f: CamFinding, known: StateWord | None) -> tuple[str, str, str, tuple[str, ...]]:
    side = "after" if f.kind == "inlet" else "before"
    facts = [
        f"lobe centre {f.centre_deg:.1f} degrees {side} the top",
        f"open for {f.measured.duration_deg:.1f} crank degrees",
    ]
    return f.kind, known or cam_state(f), f.sentence, tuple(facts)


def _timing_whys(engine: EngineFile, timing: CamTiming) -> tuple[Why, ...]:
    return (
        Why(
            "Lobe centre and error",
            tuple(
                f"{f.kind} opens {f.measured.opens_deg:.1f}, closes {f.measured.closes_deg:.1f} "
                "degrees of the cycle, wheel put right"
                for f in timing.findings
            ),
            "centre halfway between the two events; error = centre - the engine file's; one tooth "
            "of the cam sprocket is 720 / teeth crank degrees",
            "geometry; errors of lift open early and close late, and cancel in the centre",
            "1 degree for each event, one standard deviation, our choice; good within 4, out from "
            "8 degrees on: our judgement",
        ),
    )


def timing_of_readings(
    engine: EngineFile, readings: Iterable[Reading], teeth: int | None = None
) -> TimingPage:
    """The page of readings from a file or from options.

    Raises
    ------
    InputError
        If they make no timing.
    """
    by_kind = {body.what: body for body in readings}
    return timing_page(engine, timing_finding(engine, by_kind, teeth))


def timing_of_book(
    engine: EngineFile, state: State, head: Head | None = None, known: StateWord | None = None
) -> TimingPage:
    """The page as the book has it; `known` where it is stale or accepted."""
    wheel = wheel_readings(state)
    if not wheel:
        return timing_page(engine, None, head)
    try:
        return timing_page(engine, timing_finding(engine, wheel), head, known=known)
    except InputError as error:
        return timing_page(engine, None, head, str(error))


def timing_json(page: TimingPage) -> dict[str, Any]:
    """The page as JSON.

    Returns
    -------
    dict
        `verdict`, `cams`, `overlap_deg`, `lobe_separation_deg`, `late_deg`, `expected_psi`.
    """
    timing = page.timing
    return {
        "verdict": page.verdict,
        "cams": [] if timing is None else [_cam_json(f) for f in timing.findings],
        "overlap_deg": None if timing is None else timing.overlap_deg,
        "lobe_separation_deg": None if timing is None else timing.separation_deg,
        "late_deg": None if timing is None else timing.late_deg,
        "late_sd_deg": None if timing is None else timing.late_sd_deg,
        "expected_psi": _rounded(page.needle_psi),
    }


def _cam_json(f: CamFinding) -> dict[str, Any]:
    error = f.error
    return {
        "kind": f.kind,
        "opens_deg": f.measured.opens_deg,
        "closes_deg": f.measured.closes_deg,
        "duration_deg": f.measured.duration_deg,
        "centre_deg": f.centre_deg,
        "late_deg": None if error is None else error.late_deg,
        "late_sd_deg": None if error is None else round(error.uncertainty_deg, 3),
        "teeth": None if error is None else error.teeth,
        "rest_deg": None if error is None else error.rest_deg,
        "duration_error_deg": None if error is None else error.duration_error_deg,
        "verdict": cam_state(f),
        "sentence": f.sentence,
    }
