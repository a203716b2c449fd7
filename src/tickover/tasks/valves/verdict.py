"""Is this clearance in its limits? Yes, no, or this reading cannot tell."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.decide.intervals import judge, probability_inside
from tickover.tasks.valves.assumptions import Assumptions
from tickover.tasks.valves.blades import deciding_blade
from tickover.tasks.valves.readings import ClearanceReading

_STATES = {"in": "good", "out": "out", "undecided": "undecided"}


@dataclass(frozen=True, slots=True)
class Verdict:
    """One valve's state with the odds behind it.

    `state` is a state word: open, good, out, undecided. `which` says on which side it is out
    ('tight', 'wide' or ''). `deciding_m` is the blade that would settle an undecided reading.
    """

    state: str
    probability_in: float | None
    which: str = ""
    deciding_m: float | None = None


def verdict(
    reading: ClearanceReading | None,
    limits: tuple[float, float] | None,
    blades: tuple[float, ...],
    assume: Assumptions,
) -> Verdict:
    """The verdict on one reading.

    In if the reading lies inside the limits less the guard, out if it lies beyond one of them,
    otherwise undecided; the probability carries the feel of the hand. Limits [m].
    """
    if reading is None or limits is None:
        return Verdict("open", None)
    low, high = limits
    seen_low = reading.go_m if reading.go_m is not None else float("-inf")
    seen_high = reading.no_go_m if reading.no_go_m is not None else float("inf")
    state = _STATES[judge(seen_low, seen_high, low, high, assume.guard_m)]
    chance = float(
        probability_inside(low, high, seen_low, seen_high, assume.feel_m, assume.no_gap_depth_m)
    )
    which = ""
    if state == "out":
        which = "tight" if seen_high <= low + assume.guard_m + 1e-12 else "wide"
    blade = None
    if state == "undecided":
        blade = deciding_blade(reading.go_m, reading.no_go_m, limits, blades)
    return Verdict(state, chance, which, blade)
