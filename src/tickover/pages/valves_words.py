"""Valve clearances in words: each valve, stop, reason, change and drift as one line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.wording import (
    count_words,
    listed,
    money,
    percent,
    place_words,
    sentence,
)
from tickover.quantities import show, show_range
from tickover.tasks.valves import (
    Change,
    CrankStop,
    Drift,
    Explanation,
    NextCheck,
    ValveAssessment,
    ValveFinding,
)
from tickover.tasks.valves.in_book import clearance_words

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


def valve_line(
    engine: EngineFile,
    finding: ValveFinding,
    unit: str,
    shim_unit: str,
    accepted: str | None,
) -> ValveLine:
    """One valve: what was read, what stands by it, which blades to pick up."""

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
    reading = clearance_words(finding.reading, unit) if finding.reading else ""
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


def stop_lines(stops: tuple[CrankStop, ...], lines: tuple[ValveLine, ...]) -> tuple[StopLine, ...]:
    """The stops of the crank in words, with what is measured at each."""
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


def order_note(assessment: ValveAssessment) -> str:
    """What to know of the order: marks that serve nothing, and which top dead centre it is."""
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


def verdict_sentence(lines: tuple[ValveLine, ...]) -> str:
    """How many are out, cannot be told, accepted, stale or not measured."""
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


def reason_line(item: Explanation) -> ReasonLine:
    """One explanation, its chance, and what it would predict."""
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


def reason_sentence(lines: tuple[ValveLine, ...], assessment: ValveAssessment) -> str:
    """What is odd, and what most likely made it so; empty where nothing is."""
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


def check_sentence(check: NextCheck | None, lines: tuple[ValveLine, ...], unit: str) -> str:
    """The check that tells most next; empty where none is worth saying."""
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
    return f"Next best check, {names}: {what} ({minutes})."


def plan_line(change: Change, unit: str, shim_unit: str) -> PlanLine:
    """One change of the plan: which shim out, which in, from where."""
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


def plan_sentence(assessment: ValveAssessment, lines: tuple[ValveLine, ...]) -> str:
    """What the plan costs and how sure it is; empty without a plan."""
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


def drift_line(place: str, item: Drift, engine: EngineFile) -> DriftLine:
    """How fast one valve closes up or opens, and when it is due."""
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
