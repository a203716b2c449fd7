"""Compression ratio and cam timing out of what was measured: verdicts, checks, what they feed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.camtiming import ValveKind, wheel_offset_deg
from tickover.tasks.compression.described import Conditions
from tickover.tasks.compression.measured import (
    CamFinding,
    CamTiming,
    MeasuredRatio,
    cam_timing,
    measured_ratio,
)
from tickover.tasks.compression.measured_entries import EVENTS, STOPS, VOLUMES, WHEEL
from tickover.tasks.finding import Check, Finding, Scope, StateWord, Wanted

RATIO, TIMING = "compression ratio", "cam timing"

#: Between ratios told and measured [1]: makers' chambers differ so much (judgement).
AS_TOLD = 0.3
#: Crank degrees late or early that chain and wheel explain, and that a chain may (judgement).
IN_TIME, STRETCHED = 4.0, 8.0

#: Work after which a figure no longer stands, how far it reaches, and why.
REMADE_BY: Mapping[str, tuple[tuple[str, Scope, str], ...]] = {
    RATIO: (
        ("valve or seat work", "same cylinder", "the valves sit elsewhere now"),
        ("pistons changed", "same cylinder", "another piston is in"),
        ("rebored or honed", "same cylinder", "the bore is another"),
        ("barrel changed", "same cylinder", "another barrel"),
    ),
    TIMING: (
        ("camshaft out", "everywhere", "the camshafts were out"),
        ("head off", "everywhere", "the head was off"),
        ("engine opened", "everywhere", "the engine was opened"),
    ),
}

RATIO_HOW = (
    "Head face up and level, plug and valves in, the edge greased, a clear plate over it: fill by "
    "burette through the plate's hole until no bubble is left. Gasket as it is when crushed; deck "
    "at the top of the stroke, minus where the piston stands above the barrel; dome by the same "
    "burette, minus for a dish or pockets."
)
RATIO_CAUTIONS = (
    "Thin oil or spirit in the burette burns: no flame, wipe up, dry the chamber afterwards.",
)
TIMING_HOW = (
    "Degree wheel on the crank, plugs out. Touch a piston stop from both sides and write both "
    "readings: the top lies halfway. Then turn in the engine's own direction only, and read each "
    "event at the lift the book tells its timing at, clearance set."
)
TIMING_CAUTIONS = (
    "By hand only, never with the starter: a piston stop goes through a piston.",
    "Where it stops hard, stop: a valve may stand on a piston. Do not force it.",
    "Take the piston stop out before anything else turns the engine.",
)


@dataclass(frozen=True, slots=True)
class RatioFinding:
    """The ratio of one cylinder, measured and told.

    Parameters
    ----------
    place : str
    measured : MeasuredRatio
    told : float, optional
        By the engine file [1]
    state : "good" or "out"
    sentence : str
    proof : int
        Number of the latest entry behind it, 0 without a book
    """

    place: str
    measured: MeasuredRatio
    told: float | None
    state: StateWord
    sentence: str
    proof: int = 0


def ratio_finding(engine: EngineFile, readings: Mapping[str, Reading], place: str) -> RatioFinding:
    """Ratio of one cylinder from its readings by name, against the engine file.

    Raises
    ------
    InputError
        If bore, stroke or the chamber is missing, or no room is left above the piston.
    """
    bore, stroke = engine.engine.bore_m, engine.engine.stroke_m
    if bore is None or stroke is None:
        raise InputError(
            "The ratio needs bore and stroke",
            instead='bore = "61 mm" and stroke = "49 mm" (yours) under [engine]',
            where=engine.engine.name,
        )
    parts, spread = {}, {}
    for part, what, *_ in VOLUMES.values():
        body = readings.get(what)
        if body is None or body.low is None or body.high is None:
            continue
        parts[part] = 0.5 * (body.low + body.high)
        if body.high > body.low:
            spread[part] = 0.5 * (body.high - body.low)
    if "gasket_thickness" in parts and "gasket_bore" not in parts:
        parts["gasket_bore"], spread["gasket_bore"] = 1.02 * bore, 0.01 * bore
    if "gasket_bore" in parts and "gasket_thickness" not in parts:
        del parts["gasket_bore"]
        spread.pop("gasket_bore", None)
    made = measured_ratio(bore, stroke, parts, spread)
    if not 4.0 <= made.ratio <= 20.0:
        raise InputError(
            "These volumes make no petrol engine's ratio",
            given=f"{made.ratio:.1f} to 1 from {1e6 * made.clearance:.1f} cc above the piston",
            allowed="4 to 20",
            instead="volumes in cc, a dish and a piston above the barrel with a minus sign",
        )
    told = engine.engine.compression_ratio
    shown = f"{made.ratio:.2f} to 1, give or take {made.sd:.2f}"
    if told is None:
        return RatioFinding(place, made, None, "good", f"{shown}; the engine file tells none.")
    apart = made.ratio - told
    if abs(apart) <= max(AS_TOLD, 2.0 * made.sd):
        return RatioFinding(place, made, told, "good", f"{shown}, as the file's {told:g}.")
    side = "higher" if apart > 0 else "lower"
    return RatioFinding(
        place, made, told, "out",
        f"{shown}: {abs(apart):.2f} {side} than the file's {told:g}. Measure the largest share "
        "again; if it stays, write it into the engine file.",
    )  # fmt: skip


def timing_finding(
    engine: EngineFile, readings: Mapping[str, Reading], teeth: int | None = None
) -> CamTiming:
    """Cam timing from readings of the wheel by kind.

    Raises
    ------
    InputError
        If an event stands alone, or a valve never closes.
    """
    angle = {kind: body.low for kind, body in readings.items() if body.low is not None}
    stops = [angle.get(kind) for kind in STOPS]
    offset = 0.0
    if stops[0] is not None and stops[1] is not None:
        before = stops[0] if stops[0] > 180.0 else -abs(stops[0])
        offset = wheel_offset_deg(before, stops[1])
    elif stops != [None, None]:
        raise InputError("The piston stop is touched from both sides",
                         allowed="'piston stop before' and 'piston stop after'")  # fmt: skip
    events: dict[ValveKind, tuple[float, float]] = {}
    kinds: tuple[ValveKind, ...] = ("inlet", "exhaust")
    for kind in kinds:
        pair = angle.get(f"{kind} opens"), angle.get(f"{kind} closes")
        if pair[0] is not None and pair[1] is not None:
            events[kind] = pair[0], pair[1]
        elif pair != (None, None):
            missing = "opens" if pair[0] is None else "closes"
            raise InputError(f"One event tells no timing: '{kind} {missing}' is missing",
                             allowed="both events of a valve")  # fmt: skip
    return cam_timing(engine, events, wheel_offset_deg=offset, teeth=teeth)


def cam_state(found: CamFinding) -> StateWord:
    """Good within what chain and wheel explain, out from a tooth or eight degrees on."""
    if found.error is None:
        return "undecided"
    late = abs(found.error.late_deg)
    if late <= max(IN_TIME, 2.0 * found.error.uncertainty_deg):
        return "good"
    return "undecided" if late <= STRETCHED else "out"


def worst_cam(timing: CamTiming) -> StateWord:
    """The word for both cams together."""
    states = [cam_state(f) for f in timing.findings if f.error is not None]
    words: tuple[StateWord, ...] = ("out", "undecided")
    return next((word for word in words if word in states), "good" if states else "undecided")


# -- the book -------------------------------------------------------------------------------


def _volumes(state: State, place: str) -> dict[str, tuple[Reading, int]]:
    found = {}
    for _, what, *_ in VOLUMES.values():
        own, all_ = state.latest(what, place), state.latest(what, "")
        entry = own or all_
        if entry is not None:
            found[what] = entry.body, entry.number
    return found


def wheel_readings(state: State) -> dict[str, Reading]:
    """Latest readings of the wheel by kind."""
    found = {kind: state.latest(kind, "") for kind in WHEEL}
    return {kind: entry.body for kind, entry in found.items() if entry is not None}


def _wheel_proof(state: State) -> int:
    entries = (state.latest(kind, "") for kind in WHEEL)
    return max((e.number for e in entries if e is not None), default=0)


def ratio_places(engine: EngineFile, state: State) -> tuple[str, ...]:
    """Cylinders with a chamber volume in the book."""
    places = (f"cyl{n}" for n in range(1, engine.engine.cylinders + 1))
    return tuple(place for place in places if "chamber volume" in _volumes(state, place))


def book_ratio(engine: EngineFile, state: State, place: str) -> RatioFinding:
    """Ratio of one cylinder as the book has it.

    Raises
    ------
    InputError
        As `ratio_finding`.
    """
    volumes = _volumes(state, place)
    found = ratio_finding(engine, {what: body for what, (body, _) in volumes.items()}, place)
    return replace(found, proof=max(number for _, number in volumes.values()))


def _timing_can_be_judged(engine: EngineFile, state: State) -> bool:
    """An event was read of a valve whose timing the engine file tells."""
    cams, wheel = engine.cams, wheel_readings(state)
    told = {"inlet": cams is not None and cams.inlet is not None,
            "exhaust": cams is not None and cams.exhaust is not None}  # fmt: skip
    return any(told[kind.partition(" ")[0]] for kind in wheel if kind in EVENTS)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """What was begun to be measured is a check; nobody is asked to begin."""
    made = [
        Check(
            RATIO, place, f"Compression ratio {place}", "that the ratio is the one reckoned with",
            RATIO_HOW, frozenset({"hand-over"}), cautions=RATIO_CAUTIONS, minutes=20.0,
            group="compression", wanted=Wanted("page", page="ratio"),
        )
        for place in ratio_places(engine, state)
    ]  # fmt: skip
    if _timing_can_be_judged(engine, state):
        made.append(
            Check(
                TIMING, "", "Cam timing", "that the valves move when they should", TIMING_HOW,
                frozenset({"first start", "hand-over"}), cautions=TIMING_CAUTIONS, minutes=40.0,
                risk=3, group="compression", wanted=Wanted("page", page="cam-timing"),
            )
        )  # fmt: skip
    return tuple(made)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the measurements say, whether or not they still hold."""
    made = []
    for place in ratio_places(engine, state):
        try:
            ratio = book_ratio(engine, state, place)
            made.append(Finding(RATIO, place, ratio.state, ratio.sentence, ratio.proof))
        except InputError as error:
            number = max(n for _, n in _volumes(state, place).values())
            made.append(Finding(RATIO, place, "undecided", str(error), number))
    wheel = wheel_readings(state)
    if _timing_can_be_judged(engine, state):
        proof = _wheel_proof(state)
        try:
            timing = timing_finding(engine, wheel)
        except InputError as error:
            made.append(Finding(TIMING, "", "undecided", str(error), proof))
        else:
            words = " ".join(f"{f.kind.capitalize()}: {f.sentence}" for f in timing.findings)
            made.append(Finding(TIMING, "", worst_cam(timing), words, proof))
    return tuple(made)


def with_ratios(day: Conditions, ratios: Iterable[MeasuredRatio]) -> Conditions:
    """The test's conditions with the ratio measured: mean, and its scatter with the uncertainty."""
    known = list(ratios)
    if not known:
        return day
    mean = sum(r.ratio for r in known) / len(known)
    scatter = sum((r.ratio - mean) ** 2 for r in known) / len(known)
    own = sum(r.sd**2 for r in known) / len(known)
    return replace(day, ratio=mean, ratio_sd=math.sqrt(scatter + own))


def with_timing(day: Conditions, timing: CamTiming) -> Conditions:
    """The test's conditions with how late the cams were found."""
    if timing.late_deg is None or timing.late_sd_deg is None:
        return day
    return replace(day, cam_late_deg=timing.late_deg, cam_late_sd_deg=timing.late_sd_deg)


def with_measured(engine: EngineFile, state: State, day: Conditions) -> Conditions:
    """What the book holds of ratio and timing, put into the conditions; void or odd ones not."""
    ratios = []
    for place in ratio_places(engine, state):
        try:
            found = book_ratio(engine, state, place)
        except InputError:
            continue
        if not _void(state, RATIO, place, found.proof):
            ratios.append(found.measured)
    day = with_ratios(day, ratios)
    if _void(state, TIMING, "", _wheel_proof(state)):
        return day
    try:
        return with_timing(day, timing_finding(engine, wheel_readings(state)))
    except InputError:
        return day


def _void(state: State, name: str, place: str, proof: int) -> bool:
    """Whether work after the entry touched the cylinder."""
    digits = place.removeprefix("cyl")
    for work, scope, _ in REMADE_BY[name]:
        for entry in state.works(work):
            if entry.number <= proof:
                continue
            touched = {"".join(c for c in p if c.isdigit()) for p in entry.body.places}
            if scope == "everywhere" or not touched or digits in touched:
                return True
    return False
