"""The page of the valve clearances: verdicts, order of work, reasons, plan; and its JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import (
    count_words,
    listed,
    money,
    percent,
    place_words,
    sentence,
    with_places,
)
from tickover.quantities import show, show_range
from tickover.tasks.valves import (
    USUAL,
    Assumptions,
    Change,
    CrankStop,
    Drift,
    Explanation,
    NextCheck,
    ValveAssessment,
    ValveFinding,
    assumptions_for,
)
from tickover.tasks.valves.in_book import words

CAUTIONS = (
    "Turn the crank by hand with the plugs out, in its running direction only.",
    "Keep fingers clear of cams, chain and sprockets while it turns.",
    "Limits are those of your engine file; the engine's service manual comes first.",
)
TELL_TOPS_APART = (
    "At firing top dead centre both valves of that cylinder are closed and both lobes point away; "
    "at overlap top dead centre both are about to move. If a rocker or bucket is pressed, turn "
    "one full turn on."
)


_WORTH_SAYING_BITS = 0.01


@dataclass(frozen=True, slots=True)
class ValveLine:
    """One valve as shown. `reading` is empty when nothing is read; `was` holds a void reading."""

    place: str
    name: str
    state: str
    reading: str
    was: str
    limits: str
    pick_up: str
    shim: str
    shim_known_by: str
    note: str
    chance: str
    finding: ValveFinding


@dataclass(frozen=True, slots=True)
class StopLine:
    """One stop of the crank in words, with the figures its dial needs."""

    number: int
    of: int
    crank_deg: float
    turn_deg: float
    headline: str
    text: str
    places: tuple[str, ...]
    done: bool


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """One explanation in words."""

    text: str
    chance: str
    after: str
    predicts: str
    remedy: str
    explanation: Explanation


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One change of the plan in words."""

    place: str
    name: str
    out: str
    fit: str
    source: str
    then_reads: str
    chance: str
    change: Change


@dataclass(frozen=True, slots=True)
class DriftLine:
    """How one valve drifts."""

    place: str
    name: str
    text: str
    drift: Drift


@dataclass(frozen=True, slots=True)
class ValvesPage:
    """Everything the valve page, sheet, screen and JSON show."""

    head: Head | None
    title: str
    unit: str
    shim_unit: str
    verdict: str
    valves: tuple[ValveLine, ...]
    stops: tuple[StopLine, ...]
    one_by_one: tuple[StopLine, ...]
    order_note: str
    next_stop: int | None
    reasons: tuple[ReasonLine, ...]
    reason_sentence: str
    next_check: str
    rests_on: tuple[str, ...]
    plan: tuple[PlanLine, ...]
    plan_sentence: str
    plan_missing: str
    buy: tuple[str, ...]
    notes: tuple[str, ...]
    drifts: tuple[DriftLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    fallen_away: tuple[str, ...]
    assessment: ValveAssessment

    def line(self, place: str) -> ValveLine:
        """The line of one valve."""
        return next(line for line in self.valves if line.place == place)

    @property
    def all_good(self) -> bool:
        """Whether every valve was read and is good."""
        return self.assessment.all_good


def valves_page(
    engine: EngineFile,
    assessment: ValveAssessment,
    head: Head | None = None,
    drifts: dict[str, Drift] | None = None,
    assume: Assumptions = USUAL,
    accepted: Mapping[str, str] = MappingProxyType({}),
) -> ValvesPage:
    """The page for an assessment, in the units the engine file asks for.

    `accepted` holds, by place, the reason a person gave for leaving a valve as it is.
    """
    assume = assumptions_for(engine, assume)
    unit = engine.show.unit("clearance")
    shim_unit = engine.show.unit("shim")
    lines = tuple(
        _valve_line(engine, finding, unit, shim_unit, accepted.get(finding.place.name))
        for finding in assessment.valves
    )
    stops = _stop_lines(assessment.order.stops if assessment.order else (), lines)
    undone = next((stop.number for stop in stops if not stop.done), None)
    plan = assessment.plan
    return ValvesPage(
        head=head,
        title="Valve clearances",
        unit=unit,
        shim_unit=shim_unit,
        verdict=_verdict_sentence(lines),
        valves=lines,
        stops=stops,
        one_by_one=_stop_lines(assessment.order.one_by_one if assessment.order else (), lines),
        order_note=_order_note(assessment),
        next_stop=undone,
        reasons=tuple(_reason_line(item) for item in assessment.explanations),
        reason_sentence=_reason_sentence(lines, assessment),
        next_check=_check_sentence(assessment.next_check, lines, unit),
        rests_on=tuple(with_places(words) for words in assessment.rests_on),
        plan=tuple(_plan_line(c, unit, shim_unit) for c in plan.changes) if plan else (),
        plan_sentence=_plan_sentence(assessment, lines),
        plan_missing=assessment.plan_missing,
        buy=tuple(
            f"{item.count} x {show(item.size_m, shim_unit, 'shim')}"
            + (f", {money(item.price)}" if item.price else ", price not known")
            for item in plan.buy
        )
        if plan
        else (),
        notes=tuple(with_places(note) for note in plan.notes) if plan else (),
        drifts=tuple(_drift_line(place, item, engine) for place, item in (drifts or {}).items()),
        whys=_whys(assessment, unit, assume),
        cautions=CAUTIONS,
        fallen_away=tuple(str(item) for item in engine.fallen_away()),
        assessment=assessment,
    )


def _valve_line(
    engine: EngineFile,
    finding: ValveFinding,
    unit: str,
    shim_unit: str,
    accepted: str | None,
) -> ValveLine:
    def length(value: float) -> str:
        return show(value, unit, "clearance", with_unit=False)

    limits = finding.limits_m
    pair = finding.blades
    pick_up = ""
    if limits is None:
        pick_up = "no limits in the engine file"
    elif pair is not None and pair.complete and pair.go_m and pair.no_go_m:
        pick_up = f"Pick up {length(pair.go_m)} and {show(pair.no_go_m, unit, 'clearance')}"
    else:
        pick_up = "Your set has no pair of blades that can prove these limits"
    reading = words(finding.reading, unit) if finding.reading else ""
    judged = finding.verdict
    state = "stale" if finding.stale else judged.state
    note = ""
    if state == "out":
        note = "too tight" if judged.which == "tight" else "too wide"
    elif state == "undecided" and judged.deciding_m:
        note = f"the {show(judged.deciding_m, unit, 'clearance')} blade would decide"
    elif state == "undecided":
        note = "no blade of your set would decide"
    if finding.reading is not None and finding.reading.warm and not finding.stale:
        note = f"{note}, read warm" if note else "read warm; limits hold cold"
    if accepted is not None and state != "good":
        state, note = "accepted", accepted
    shim = finding.shim
    return ValveLine(
        place=finding.place.name,
        name=place_words(finding.place.name).capitalize(),
        state=state,
        reading="" if finding.stale else reading,
        was=reading if finding.stale else "",
        limits=show_range(*limits, unit, "clearance") if limits else "none given",
        pick_up=pick_up,
        shim=show(shim.size_m, shim_unit, "shim") if shim else "",
        shim_known_by=shim.known_by if shim else "",
        note=note,
        chance=percent(judged.probability_in) if judged.probability_in is not None else "",
        finding=finding,
    )


def _stop_lines(stops: tuple[CrankStop, ...], lines: tuple[ValveLine, ...]) -> tuple[StopLine, ...]:
    states = {line.place: line.state for line in lines}
    shown = []
    for number, stop in enumerate(stops, 1):
        names = listed([place_words(place) for place in stop.places])
        if stop.cylinder is None:
            where = f"Turn forward to {stop.crank_deg:.0f} degrees after cylinder 1 firing"
        elif number == 1 and stop.turn_deg == 0:
            where = f"Mark T{stop.cylinder}, cylinder {stop.cylinder} at firing top dead centre"
        else:
            where = (
                f"Forward {stop.turn_deg:.0f} degrees to mark T{stop.cylinder}, "
                f"cylinder {stop.cylinder} firing"
            )
        if stop.tight:
            where += "; close to the ramp, so watch that the lobe is clear"
        shown.append(
            StopLine(
                number=number,
                of=len(stops),
                crank_deg=stop.crank_deg,
                turn_deg=stop.turn_deg,
                headline=f"Stop {number} of {len(stops)}",
                text=f"{where}. Measure {names}.",
                places=stop.places,
                done=all(states.get(place) in ("good", "out", "undecided", "accepted")
                         for place in stop.places),
            )
        )  # fmt: skip
    return tuple(shown)


def _order_note(assessment: ValveAssessment) -> str:
    order = assessment.order
    if order is None:
        return (
            "The engine file gives no cam timing, so measure each valve with its own lobe pointing "
            "away from the follower."
        )
    if order.unreached:
        names = listed([place_words(place) for place in order.unreached])
        return f"No mark serves {names}: turn until that lobe points away. {TELL_TOPS_APART}"
    return TELL_TOPS_APART


def _verdict_sentence(lines: tuple[ValveLine, ...]) -> str:
    limited = [line for line in lines if line.finding.limits_m is not None]
    if not limited:
        return "The engine file gives no limits, so nothing can be judged."
    counts = {
        state: sum(line.state == state for line in limited)
        for state in ("out", "undecided", "accepted", "stale", "open", "good")
    }
    if counts["good"] == len(limited):
        return f"All {count_words(len(limited))} are in their limits."
    if counts["open"] == len(limited):
        return "Nothing is measured yet."
    parts = []
    for state, one, many in (
        ("out", "is out", "are out"),
        ("undecided", "cannot be told yet", "cannot be told yet"),
        ("accepted", "is accepted as it is", "are accepted as they are"),
        ("stale", "must be read again after work", "must be read again after work"),
        ("open", "is not measured", "are not measured"),
    ):
        if counts[state]:
            parts.append(f"{count_words(counts[state])} {one if counts[state] == 1 else many}")
    return sentence(", ".join(parts))


_REASONS: dict[str, Callable[[str], str]] = {
    "transposed": lambda p: f"the shims of {p} are exchanged",
    "wrong shim": lambda p: f"a wrong shim is in {p}",
    "sits deeper": lambda p: f"the valve of {p} sits deeper than before",
    "not seating": lambda p: f"{p} does not close on its seat",
    "not on base circle": lambda p: f"{p} was read with its lobe not pointing away",
    "not cold": lambda p: "the engine was not cold all through",
    "whole camshaft": lambda p: f"the whole camshaft is off ({p})",
    "something else": lambda p: f"something else is wrong at {p}",
    "nothing wrong": lambda p: "nothing is wrong but wear",
}


def _reason_line(item: Explanation) -> ReasonLine:
    names = listed([place_words(place) for place in item.places])
    text = sentence(_REASONS[item.what](names))
    return ReasonLine(
        text=text,
        chance=percent(item.probability),
        after=percent(item.probability_in_after),
        predicts=sentence(item.predicts),
        remedy=item.remedy,
        explanation=item,
    )


def _reason_sentence(lines: tuple[ValveLine, ...], assessment: ValveAssessment) -> str:
    odd = [line for line in lines if line.state in ("out", "undecided")]
    top = assessment.explanations[0] if assessment.explanations else None
    if not odd or top is None:
        return ""
    said = listed(
        [
            f"{place_words(line.place)} "
            + (
                "has no gap"
                if line.finding.reading and line.finding.reading.go_m is None
                else f"reads {line.reading}"
            )
            for line in odd[:4]
        ]
    )
    more = f" (and {count_words(len(odd) - 4)} more)" if len(odd) > 4 else ""
    names = listed([place_words(place) for place in top.places])
    why = _REASONS[top.what](names)
    return f"{sentence(said + more)} Most likely ({percent(top.probability)}): {why}."


def _check_sentence(check: NextCheck | None, lines: tuple[ValveLine, ...], unit: str) -> str:
    if check is None or check.bits < _WORTH_SAYING_BITS:
        return ""
    everyone = len(check.places) == len(lines)
    names = "all valves" if everyone else listed([place_words(p) for p in check.places])
    what = check.what
    if what == "try the deciding blade":
        line = next(line for line in lines if line.place == check.places[0])
        blade = line.finding.verdict.deciding_m
        if blade:
            what = f"try the {show(blade, unit, 'clearance')} blade"
    minutes = "under a minute" if check.minutes < 1 else f"about {check.minutes:.0f} min"
    return f"Next best check, {names}: {what} ({minutes}, {check.bits:.2f} bits)."


def _plan_line(change: Change, unit: str, shim_unit: str) -> PlanLine:
    if change.source == "stock":
        source = "from the drawer"
    elif change.source == "buy":
        source = "buy one"
    else:
        source = f"out of {place_words(change.source.removeprefix('fitted at '))}"
    low, high = change.predicted_m
    then = show_range(low if low > 0 else None, high, unit, "clearance")
    if change.read_again_first:
        then = f"read again ({then})"
    return PlanLine(
        place=change.place,
        name=place_words(change.place).capitalize(),
        out=show(change.from_m, shim_unit, "shim"),
        fit=show(change.to_m, shim_unit, "shim"),
        source=source,
        then_reads=then,
        chance=percent(change.probability_in),
        change=change,
    )


def _plan_sentence(assessment: ValveAssessment, lines: tuple[ValveLine, ...]) -> str:
    plan = assessment.plan
    if plan is None:
        return ""
    if not plan.changes:
        return (
            "No shim needs to change. "
            f"All that were read in limits: {percent(plan.probability_all_in)}."
        )
    parts = [
        f"{count_words(plan.valves_disturbed)} "
        + ("valve disturbed" if plan.valves_disturbed == 1 else "valves disturbed")
    ]
    if plan.camshafts_opened:
        parts.append(f"{listed(plan.camshafts_opened)} out")
    if plan.buy:
        count = sum(item.count for item in plan.buy)
        cost = f" ({money(plan.price)})" if plan.price_known and plan.price else ""
        word = "shim" if count == 1 else "shims"
        parts.append(f"{count_words(count)} {word} to buy{cost}")
    else:
        parts.append("nothing to buy")
    bound = [place_words(c.place) for c in plan.changes if c.rests_on == "bound"]
    because = f", because {listed(bound)} was only a bound" if bound else ""
    return (
        f"{sentence(', '.join(parts))} All that were read in limits after this: "
        f"{percent(plan.probability_all_in)}{because}."
    )


def _drift_line(place: str, item: Drift, engine: EngineFile) -> DriftLine:
    unit = engine.show.unit("distance")
    per = 1e6 if unit == "km" else 1e3 * 1609.344
    rate = item.rate * 1e6 * per
    spread = item.rate_uncertainty * 1e6 * per
    due = (
        f"due at {show(item.due_m, unit, 'distance', decimals=0)}"
        if item.due_m is not None
        else "not due within 200 000 km"
    )
    return DriftLine(
        place,
        place_words(place).capitalize(),
        f"{rate:+.1f} µm per 1000 {unit}, give or take {spread:.1f}; {due} "
        "(risk of being out passes 10 %)",
        item,
    )


def _whys(assessment: ValveAssessment, unit: str, assume: Assumptions) -> tuple[Why, ...]:
    micrometre = 1e6
    return (
        Why(
            "In limits, out, or cannot be told",
            (
                "the blade that goes, the blade that does not, the limits",
                f"feel of the hand {assume.feel_m * micrometre:.0f} µm (our assumption)",
                f"guard band {assume.guard_m * micrometre:.0f} µm",
            ),
            "in if the whole reading lies inside the limits; out if all of it lies beyond one; "
            "P = mean of the normal distribution over the interval between the blades",
            "decision with guard band after ISO 14253-1; rectangular distribution GUM 4.3.7",
            "the probability beside each verdict",
        ),
        Why(
            "Which explanation",
            (
                "all readings together, the shims and how they are known, work in the book",
                f"usual spread about mid-limits {assume.usual_spread_m * micrometre:.0f} µm, "
                f"after head work {assume.head_work_spread_m * micrometre:.0f} µm "
                "(our assumptions)",
            ),
            "Bayes' rule over every cause and pair of causes",
            "any text on Bayesian inference; the prior odds are our own",
            "other priors shift close calls; a clear answer stays",
        ),
        Why(
            "Which shim where",
            (
                "new clearance = clearance + shim out - shim in",
                f"shim measured {assume.micrometer_m * micrometre:.0f} µm, by mark "
                f"{assume.mark_m * micrometre:.0f} µm",
                f"wanted probability {assume.wanted_probability:.0%}",
            ),
            "least shortfall of probability, then price, then camshafts, then valves disturbed, "
            "then nearest to the preferred point; exact optimum of the assignment",
            "assignment problem (Kuhn 1955); probability by Monte Carlo after JCGM 101",
            "the probability beside each change and for all together",
        ),
    )


def valves_json(page: ValvesPage) -> dict[str, Any]:
    """The page as JSON: lengths in mm, angles in crank degrees, 0 = cylinder 1 at firing TDC."""

    def mm(value: float | None) -> float | None:
        return None if value is None else round(value * 1e3, 6)

    def chance(value: float | None) -> float | None:
        return None if value is None else round(value, 4)

    assessment = page.assessment
    plan = assessment.plan
    check = assessment.next_check
    order = assessment.order
    return {
        "stops": [
            {
                "crank_deg": round(stop.crank_deg, 3),
                "cylinder": stop.cylinder,
                "places": list(stop.places),
            }
            for stop in (order.stops if order else ())
        ],
        "valves": [
            {
                "place": line.place,
                "limits_mm": [mm(end) for end in line.finding.limits_m]
                if line.finding.limits_m
                else None,
                "go_mm": mm(line.finding.reading.go_m) if line.finding.reading else None,
                "no_go_mm": mm(line.finding.reading.no_go_m) if line.finding.reading else None,
                "verdict": line.state,
                "probability_in": chance(line.finding.verdict.probability_in),
            }
            for line in page.valves
        ],
        "explanations": [
            {
                "what": item.what,
                "places": list(item.places),
                "probability": chance(item.probability),
                "probability_in_after": chance(item.probability_in_after),
            }
            for item in assessment.explanations
        ],
        "next_check": None
        if check is None
        else {
            "what": check.what,
            "places": list(check.places),
            "bits": round(check.bits, 4),
            "minutes": check.minutes,
        },
        "plan": None
        if plan is None
        else {
            "changes": [
                {
                    "place": item.place,
                    "from_mm": mm(item.from_m),
                    "to_mm": mm(item.to_m),
                    "source": item.source,
                    "predicted_mm": [mm(end) for end in item.predicted_m],
                    "probability_in": chance(item.probability_in),
                    "rests_on": item.rests_on,
                    "read_again": item.read_again_first,
                }
                for item in plan.changes
            ],
            "buy": [
                {"size_mm": mm(item.size_m), "count": item.count, "price": item.price}
                for item in plan.buy
            ],
            "price": plan.price,
            "valves_disturbed": plan.valves_disturbed,
            "camshafts_opened": list(plan.camshafts_opened),
            "probability_all_in": chance(plan.probability_all_in),
            "optimal": plan.optimal,
            "unplanned": list(plan.unplanned),
            "notes": list(plan.notes),
        },
    }
