"""What the valve sums assume where nobody measured: all in one place, all changeable.

None of these has a published source. They are stated on the page behind 'Show the sums'.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from tickover.engine import EngineFile

UM = 1e-6


@dataclass(frozen=True, slots=True)
class Assumptions:
    """Spreads, odds and minutes behind verdicts, explanations and plan (lengths in m)."""

    feel_m: float = 5 * UM
    """Standard deviation of the hand: what 'goes' and 'does not go' mean."""
    guard_m: float = 0.0
    """Guard band inside both limits; 1.65 feel is the strict mode after ISO 14253-1."""
    no_gap_depth_m: float = 250 * UM
    """How far below the thinnest blade an unmeasured clearance may lie."""
    half_step_m: float = 10 * UM
    """Half width given to a single typed value in mm when the blades are not described."""
    micrometer_m: float = 3 * UM
    """Standard deviation of a shim measured with a micrometer (DIN 863 allows 4 um)."""
    mark_m: float = 15 * UM
    """Standard deviation of a shim known by its mark only."""
    fresh_shim_m: float = 5 * UM
    """Standard deviation of a drawer or new shim, measured before it goes in."""
    shim_population_m: float = 120 * UM
    """Spread of the shims found in engines of one kind."""

    usual_spread_m: float = 20 * UM
    """Spread of a clearance about mid-limits when nothing happened but wear."""
    head_work_spread_m: float = 40 * UM
    """The same where the seat or the valve was worked on; sitting deeper is counted apart."""
    deeper_mean_m: float = 100 * UM
    """Mean by which seat or valve work lets a valve sit deeper."""
    not_seating_mean_m: float = 200 * UM
    """Mean gap that carbon, a burr or a bent stem adds."""
    off_base_reach_m: float = 1000 * UM
    """Largest lift mistaken for a closed valve."""
    warm_spread_m: float = 40 * UM
    """Common shift of an engine that is not cold."""
    camshaft_spread_m: float = 150 * UM
    """Common shift of all valves of one camshaft."""
    else_reach_m: float = 600 * UM
    """Reach of what nobody thought of."""

    odds_swap_same_cylinder: float = 0.03
    odds_swap_neighbour: float = 0.006
    odds_swap_far: float = 0.001
    odds_wrong_shim: float = 0.01
    odds_deeper: float = 0.005
    odds_deeper_after_work: float = 3.0
    odds_not_seating: float = 0.005
    odds_off_base: float = 0.03
    odds_warm: float = 0.05
    odds_warm_said_cold: float = 0.02
    odds_warm_said_warm: float = 2.0
    odds_camshaft: float = 0.003
    odds_else: float = 0.002

    harmless_swap_m: float = 5 * UM
    """Two shims closer than this may change places without anybody noticing."""
    wanted_probability: float = 0.95
    """A valve predicted in limits with this probability needs nothing more."""
    wanted_gap: float = 0.8
    """A shim fitted only to make a gap should make a readable one with this probability."""
    preferred: float = 0.65
    """Where between the limits to aim: clearances mostly close as seats wear. The engine file's
    own preferred point takes its place."""

    minutes_reread: float = 1.0
    minutes_blade: float = 0.5
    minutes_measure_shim: float = 8.0
    minutes_camshaft: float = 25.0
    minutes_cool: float = 60.0
    minutes_snap: float = 3.0

    drift_rate_m_per_m: float = -1e-6 / 1e6
    """Expected drift of clearance at constant shim: -1 um per 1000 km."""
    drift_rate_spread: float = 1.5e-6 / 1e6
    drift_blade_m: float = 5 * UM
    """Extra scatter between two occasions, beside the feel."""

    def shim_spread_m(self, known_by: str) -> float:
        """Standard deviation of a shim size by how it is known."""
        return {"micrometer": self.micrometer_m, "mark": self.mark_m}.get(
            known_by, self.shim_population_m
        )


USUAL = Assumptions()


def assumptions_for(engine: EngineFile, assume: Assumptions = USUAL) -> Assumptions:
    """The assumptions with what the engine file settles: where to aim, how strict to be."""
    if engine.valves is None:
        return assume
    guard_m = max(assume.guard_m, engine.valves.guard * assume.feel_m)
    return replace(assume, preferred=engine.valves.preferred_fraction, guard_m=guard_m)
