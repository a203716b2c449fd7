"""Where to turn the crank and which valves to measure there."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.decide.arcs import Stops, stab, tour
from tickover.engine import (
    EngineFile,
    base_circle_arcs,
    lobe_away_deg,
    marked_tdc_events,
    tdc_events,
)

MARGIN_DEG = 30.0
"""How far beyond the ramp a mark must lie to be trusted (common practice, no source)."""
_MARGINS_DEG = (MARGIN_DEG, 15.0, 0.0)


@dataclass(frozen=True, slots=True)
class CrankStop:
    """One place to stop the crank at.

    `crank_deg` counts from cylinder 1 at firing top dead centre over two turns; `turn_deg` is how
    far to turn forward from the stop before (from cylinder 1's firing mark for the first).
    `cylinder` stands at firing top dead centre here, or is None at a stop off the marks.
    """

    crank_deg: float
    turn_deg: float
    cylinder: int | None
    places: tuple[str, ...]
    tight: bool = False
    """Whether a valve of this stop is measured with less than the usual margin."""


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """Stops on the marks, the same with a degree wheel, and valve by valve."""

    stops: tuple[CrankStop, ...]
    by_degree_wheel: tuple[CrankStop, ...]
    one_by_one: tuple[CrankStop, ...]
    unreached: tuple[str, ...] = ()
    """Valves no mark can serve; take them with the degree wheel."""


def work_order(engine: EngineFile) -> WorkOrder | None:
    """The order of work for this engine, or None where the engine file gives no cam timing.

    Fewest stops, then least forward rotation. Stops on the marks keep a margin beyond the ramp;
    where no mark does, the margin is given up and the stop says so.
    """
    arcs = base_circle_arcs(engine)
    events = tdc_events(engine)
    if not arcs or not events:
        return None
    names = tuple(arcs)
    whole = [(arcs[name][0], arcs[name][1] - arcs[name][0]) for name in names]
    firing = {event.crank_deg: event.cylinder for event in reversed(events)
              if event.top == "firing"}  # fmt: skip
    marked = marked_tdc_events(engine)
    at_firing = sorted({event.crank_deg for event in marked if event.top == "firing"})
    at_any = sorted({event.crank_deg for event in marked})
    on_marks, unreached = _on_marks(names, whole, firing, (at_firing, at_any))
    away = lobe_away_deg(engine)
    return WorkOrder(
        stops=on_marks,
        by_degree_wheel=_as_stops(stab(whole), names, firing),
        one_by_one=_as_stops(tour([away[name] for name in names]), names, firing),
        unreached=unreached,
    )


def _on_marks(
    names: tuple[str, ...],
    whole: list[tuple[float, float]],
    firing: dict[float, int],
    marks: tuple[list[float], list[float]],
) -> tuple[tuple[CrankStop, ...], tuple[str, ...]]:
    """Stops on the marks with the widest margin that serves all valves, and who is left out."""
    best: tuple[tuple[CrankStop, ...], tuple[str, ...]] = ((), names)
    for margin in _MARGINS_DEG:
        arcs = [(start + margin, length - 2 * margin) for start, length in whole]
        if any(length <= 0 for _, length in arcs):
            continue
        for candidates in marks:
            if not candidates:
                continue
            found = stab(arcs, candidates=candidates)
            left = tuple(names[i] for i in found.uncovered)
            if len(left) < len(best[1]):
                best = (_as_stops(found, names, firing, tight=margin < MARGIN_DEG), left)
            if not left:
                return best
    return best


def _as_stops(
    found: Stops, names: tuple[str, ...], firing: dict[float, int], tight: bool = False
) -> tuple[CrankStop, ...]:
    stops = []
    before = 0.0
    for stop in found:
        angle = stop.angle % 720.0
        at = next((deg for deg in firing if abs(deg - angle) < 1e-6), None)
        stops.append(
            CrankStop(
                crank_deg=angle,
                turn_deg=(angle - before) % 720.0,
                cylinder=None if at is None else firing[at],
                places=tuple(names[i] for i in stop.items),
                tight=tight,
            )
        )
        before = angle
    return tuple(stops)
