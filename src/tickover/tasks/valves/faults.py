"""What may be wrong with valve clearances, as causes for `decide.explain`, with their remedies."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot, sqrt

from tickover.decide.explain import Cause, Shift
from tickover.engine import EngineFile, Place
from tickover.tasks.valves.assumptions import Assumptions
from tickover.tasks.valves.readings import FittedShim

TRANSPOSED = "transposed"
WRONG_SHIM = "wrong shim"
SITS_DEEPER = "sits deeper"
NOT_SEATING = "not seating"
OFF_BASE = "not on base circle"
NOT_COLD = "not cold"
CAMSHAFT = "whole camshaft"
ELSE = "something else"
NOTHING = "nothing wrong"


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the book knows beside the readings.

    `head_work` names the places whose seat or valve was worked on since they last stood right;
    `warm` is None when nobody said whether the engine was cold.
    """

    head_work: frozenset[str] = frozenset()
    warm: bool | None = None


def shims_matter(engine: EngineFile) -> bool:
    """Whether clearances of this engine are set with shims."""
    return engine.valves is not None and (engine.valves.adjustment or "").startswith("shim")


def camshafts_must_come_out(engine: EngineFile) -> bool:
    """Whether a shim can only be reached with its camshaft out."""
    return engine.valves is not None and engine.valves.adjustment == "shim under bucket"


def valve_causes(
    engine: EngineFile,
    places: Sequence[Place],
    shims: Mapping[str, FittedShim],
    circumstances: Circumstances,
    assume: Assumptions,
    suspects: Collection[str],
) -> tuple[list[Cause], Cause]:
    """Everything that may have moved these clearances, and the common warmth behind them all.

    Parameters
    ----------
    engine : EngineFile
    places : sequence of Place
        The valves with a reading, in the order of the explanation's items.
    shims : mapping
        Place to the shim fitted there, where known.
    circumstances : Circumstances
    assume : Assumptions
    suspects : collection of str
        Valves that read outside their limits or cannot be told: causes on other valves stay
        possible, but exchanges are only listed where they touch a suspect.

    Returns
    -------
    causes, background : list of Cause, Cause
        Shifts in metres; background is 'not cold'.
    """
    causes: list[Cause] = []
    if shims_matter(engine):
        causes += _exchanges(places, shims, assume, suspects)
        causes += [
            Cause(WRONG_SHIM, (i,), assume.odds_wrong_shim,
                  Shift.normal(0.0, assume.shim_population_m))
            for i in range(len(places))
        ]  # fmt: skip
    for i, place in enumerate(places):
        worked = place.name in circumstances.head_work
        causes += [
            Cause(SITS_DEEPER, (i,),
                  assume.odds_deeper_after_work if worked else assume.odds_deeper,
                  Shift.one_sided(-assume.deeper_mean_m)),
            Cause(NOT_SEATING, (i,), assume.odds_not_seating,
                  Shift.one_sided(assume.not_seating_mean_m), passing=True),
            Cause(OFF_BASE, (i,), assume.odds_off_base,
                  Shift.within(-assume.off_base_reach_m, 0.0), passing=True),
            Cause(ELSE, (i,), assume.odds_else,
                  Shift.within(-assume.else_reach_m, assume.else_reach_m)),
        ]  # fmt: skip
    for camshaft in sorted({place.camshaft for place in places if place.camshaft}):
        driven = tuple(i for i, place in enumerate(places) if place.camshaft == camshaft)
        if len(driven) > 1:
            causes.append(
                Cause(CAMSHAFT, driven, assume.odds_camshaft,
                      Shift.normal(0.0, assume.camshaft_spread_m))
            )  # fmt: skip
    warm_odds = {
        None: assume.odds_warm,
        False: assume.odds_warm_said_cold,
        True: assume.odds_warm_said_warm,
    }[circumstances.warm]
    background = Cause(
        NOT_COLD, tuple(range(len(places))), warm_odds,
        Shift.normal(0.0, assume.warm_spread_m), passing=True,
    )  # fmt: skip
    return causes, background


def _exchanges(
    places: Sequence[Place],
    shims: Mapping[str, FittedShim],
    assume: Assumptions,
    suspects: Collection[str],
) -> list[Cause]:
    causes = []
    for (i, a), (j, b) in combinations(enumerate(places), 2):
        if a.name not in suspects and b.name not in suspects:
            continue
        if a.cylinder == b.cylinder:
            odds = assume.odds_swap_same_cylinder
        elif abs(a.cylinder - b.cylinder) == 1 and a.kind == b.kind:
            odds = assume.odds_swap_neighbour
        else:
            odds = assume.odds_swap_far
        at_a, at_b = shims.get(a.name), shims.get(b.name)
        if at_a is None or at_b is None:
            shift = Shift.normal(0.0, sqrt(2.0) * assume.shim_population_m)
        else:
            # The shim now at a belongs to b: a's clearance is too large by what b's is thicker.
            moved = at_b.size_m - at_a.size_m
            if abs(moved) <= assume.harmless_swap_m:
                continue
            spread = hypot(assume.shim_spread_m(at_a.known_by), assume.shim_spread_m(at_b.known_by))
            shift = Shift.normal(moved, spread)
        causes.append(Cause(TRANSPOSED, (i, j), odds, shift, signs=(1, -1)))
    return causes


PREDICTS = {
    TRANSPOSED: "one of the two reads too wide by the difference of their shims, "
    "the other too tight by the same",
    WRONG_SHIM: "only this valve is off, by the difference to the right shim",
    SITS_DEEPER: "this valve is tight and stays so at every reading",
    NOT_SEATING: "this valve reads wide until it is snapped onto its seat or cleaned",
    OFF_BASE: "this valve reads tight now and right with its lobe pointing away",
    NOT_COLD: "all valves read off together, and right when the engine is cold",
    CAMSHAFT: "all valves of one camshaft are off alike",
    ELSE: "nothing that is listed here fits",
    NOTHING: "the spread of wear and nothing more",
}
REMEDIES = {
    TRANSPOSED: "Put the two shims back where they belong.",
    WRONG_SHIM: "Fit the shim that the sums below give.",
    SITS_DEEPER: "Fit a thinner shim; the valve itself is as it should be after seat work.",
    NOT_SEATING: "Snap the valve, blow the seat clean, and read again before any shim is changed.",
    OFF_BASE: "Turn the crank until the lobe points away from its follower and read again.",
    NOT_COLD: "Let the engine stand until it is cold all through and read again.",
    CAMSHAFT: "Look at the caps, the bearings and the shaft's own marking before any shim.",
    ELSE: "Look closer before any part is bought.",
    NOTHING: "Fit what the sums below give.",
}
REMEDY_BY_SCREW = "Set the screw, tighten the locknut, and read again: tightening moves it."
