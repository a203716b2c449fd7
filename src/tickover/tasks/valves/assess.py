"""The whole valve task on plain inputs: order, blades, verdicts, reasons, plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tickover.engine import EngineFile, Place
from tickover.errors import InputError
from tickover.tasks.valves.assumptions import USUAL, Assumptions, assumptions_for
from tickover.tasks.valves.blades import BladePair, owned_blades, pick_blades
from tickover.tasks.valves.explanations import Explanation, NextCheck, understand
from tickover.tasks.valves.faults import Circumstances
from tickover.tasks.valves.order import WorkOrder, work_order
from tickover.tasks.valves.plan import ShimPlan, shim_plan
from tickover.tasks.valves.readings import ClearanceReading, DrawerShim, FittedShim
from tickover.tasks.valves.verdict import Verdict, verdict

SEED = 539
"""Fixed, so that the same inputs always show the same figures."""


@dataclass(frozen=True, slots=True)
class ValveFinding:
    """One valve: limits, reading, shim, verdict and the blades to pick up."""

    place: Place
    limits_m: tuple[float, float] | None
    reading: ClearanceReading | None
    shim: FittedShim | None
    verdict: Verdict
    blades: BladePair | None
    stale: bool = False


@dataclass(frozen=True, slots=True)
class ValveAssessment:
    """Everything the valve task concludes."""

    order: WorkOrder | None
    valves: tuple[ValveFinding, ...]
    explanations: tuple[Explanation, ...]
    checks: tuple[NextCheck, ...]
    rests_on: tuple[str, ...]
    plan: ShimPlan | None
    plan_missing: str
    """Why there is no plan, in words; empty when there is one."""

    @property
    def all_good(self) -> bool:
        """Whether every valve with limits was read and found good."""
        limited = [valve for valve in self.valves if valve.limits_m is not None]
        return bool(limited) and all(valve.verdict.state == "good" for valve in limited)

    @property
    def next_check(self) -> NextCheck | None:
        """The check that tells most for its effort, or None."""
        return self.checks[0] if self.checks else None


def assess_valves(
    engine: EngineFile,
    readings: Mapping[str, ClearanceReading],
    shims: Mapping[str, FittedShim],
    drawer: Sequence[DrawerShim] = (),
    circumstances: Circumstances | None = None,
    stale: frozenset[str] = frozenset(),
    assume: Assumptions = USUAL,
    seed: int = SEED,
) -> ValveAssessment:
    """Order of work, verdicts, explanations, next check and shim plan.

    Parameters
    ----------
    engine : EngineFile
        With a [valves] table; without cam timing there is no order of work.
    readings : mapping
        Place to reading; valves without one are open.
    shims : mapping
        Place to the shim fitted there, where known.
    drawer : sequence of DrawerShim
    circumstances : Circumstances, optional
    stale : frozenset of str
        Places whose reading was made void by later work; shown, but counting for nothing.
    assume : Assumptions
    seed : int

    Returns
    -------
    ValveAssessment

    Raises
    ------
    InputError
        If the engine file has no valves, or a reading names a place it does not have.
    """
    if engine.valves is None:
        raise InputError(
            "This engine file describes no valves", instead="a [valves] table in the engine file"
        )
    assume = assumptions_for(engine, assume)
    known = {place.name: place for place in engine.places()}
    for name in [*readings, *shims]:
        if name not in known:
            raise InputError("No such valve in this engine", given=name, allowed=", ".join(known))
    if circumstances is None:
        said = {reading.warm for reading in readings.values()}
        warm = True if True in said else (False if said == {False} else None)
        circumstances = Circumstances(warm=warm)
    blades = owned_blades(engine)
    valves = []
    for name, place in known.items():
        limits = engine.limits_m(place)
        reading = readings.get(name)
        counted = None if name in stale else reading
        found = verdict(counted, limits, blades, assume)
        pair = pick_blades(*limits, blades) if limits else None
        valves.append(
            ValveFinding(place, limits, reading, shims.get(name), found, pair, name in stale)
        )
    read = [
        valve.place
        for valve in valves
        if valve.limits_m is not None and valve.reading is not None and not valve.stale
    ]
    explanations: tuple[Explanation, ...] = ()
    checks: tuple[NextCheck, ...] = ()
    rests_on: tuple[str, ...] = ()
    plan = None
    verdicts = {valve.place.name: valve.verdict for valve in valves}
    if read:
        understood = understand(engine, read, readings, verdicts, shims, circumstances, assume)
        explanations, checks = understood.explanations, understood.checks
        rests_on = understood.rests_on
        plan = shim_plan(engine, read, readings, shims, drawer, understood.posterior, assume, seed)
    return ValveAssessment(
        order=work_order(engine),
        valves=tuple(valves),
        explanations=explanations,
        checks=checks,
        rests_on=rests_on,
        plan=plan,
        plan_missing=_why_no_plan(engine, plan, valves, shims),
    )


def _why_no_plan(
    engine: EngineFile,
    plan: ShimPlan | None,
    valves: Sequence[ValveFinding],
    shims: Mapping[str, FittedShim],
) -> str:
    if plan is not None:
        return ""
    judged = [valve for valve in valves if valve.limits_m is not None]
    if judged and all(v.verdict.state == "good" for v in judged):
        return "All are in their limits: nothing needs fitting."
    adjustment = engine.valves.adjustment if engine.valves else "none"
    if adjustment == "screw and locknut":
        return "Set by screw and locknut: set it, tighten, and read again, for tightening moves it."
    if adjustment == "none":
        return "These clearances cannot be adjusted."
    if engine.shims is None:
        return "The engine file names no shim sizes, so no plan can be made."
    if not any(valve.reading is not None and not valve.stale for valve in judged):
        return "Nothing is read yet."
    if not shims:
        return "No shim size is known yet: measure the shims of valves that may need another."
    return "No valve has both a reading and a known shim yet."
