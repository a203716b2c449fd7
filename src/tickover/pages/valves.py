"""The page of the valve clearances: verdicts, order of work, reasons, plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.valves_words import (
    DriftLine,
    PlanLine,
    ReasonLine,
    StopLine,
    ValveLine,
    check_sentence,
    drift_line,
    order_note,
    plan_line,
    plan_sentence,
    reason_line,
    reason_sentence,
    stop_lines,
    valve_line,
    verdict_sentence,
)
from tickover.pages.why import Why
from tickover.pages.wording import money, with_places
from tickover.quantities import show
from tickover.tasks.valves import USUAL, Assumptions, Drift, ValveAssessment, assumptions_for

CAUTIONS = (
    "Turn the crank by hand with the plugs out, in its running direction only.",
    "Keep fingers clear of cams, chain and sprockets while it turns.",
    "Limits are those of your engine file; the engine's service manual comes first.",
)


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
        valve_line(engine, finding, unit, shim_unit, accepted.get(finding.place.name))
        for finding in assessment.valves
    )
    stops = stop_lines(assessment.order.stops if assessment.order else (), lines)
    undone = next((stop.number for stop in stops if not stop.done), None)
    plan = assessment.plan
    return ValvesPage(
        head=head,
        title="Valve clearances",
        unit=unit,
        shim_unit=shim_unit,
        verdict=verdict_sentence(lines),
        valves=lines,
        stops=stops,
        one_by_one=stop_lines(assessment.order.one_by_one if assessment.order else (), lines),
        order_note=order_note(assessment),
        next_stop=undone,
        reasons=tuple(reason_line(item) for item in assessment.explanations),
        reason_sentence=reason_sentence(lines, assessment),
        next_check=check_sentence(assessment.next_check, lines, unit),
        rests_on=tuple(with_places(words) for words in assessment.rests_on),
        plan=tuple(plan_line(c, unit, shim_unit) for c in plan.changes) if plan else (),
        plan_sentence=plan_sentence(assessment, lines),
        plan_missing=assessment.plan_missing,
        buy=tuple(
            f"{item.count} x {show(item.size_m, shim_unit, 'shim')}"
            + (f", {money(item.price)}" if item.price else ", price not known")
            for item in plan.buy
        )
        if plan
        else (),
        notes=tuple(with_places(note) for note in plan.notes) if plan else (),
        drifts=tuple(drift_line(place, item, engine) for place, item in (drifts or {}).items()),
        whys=_whys(assessment, unit, assume),
        cautions=CAUTIONS,
        fallen_away=tuple(str(item) for item in engine.fallen_away()),
        assessment=assessment,
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
