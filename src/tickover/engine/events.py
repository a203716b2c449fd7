"""Top dead centres of the whole engine over one cycle, in the order the crank meets them."""

from __future__ import annotations

from typing import Literal, NamedTuple

from tickover.engine.crank import CYCLE, TURN, same_angle, turned
from tickover.engine.model import EngineFile


class TdcEvent(NamedTuple):
    """One cylinder at the top: crank_deg 0..720, the cylinder, and which of its two tops."""

    crank_deg: float
    cylinder: int
    top: Literal["firing", "overlap"]


def tdc_events(engine: EngineFile) -> tuple[TdcEvent, ...]:
    """Both top dead centres of every cylinder, by rising crank angle.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    tuple of TdcEvent
        (crank_deg [0..720, 0 = cylinder 1 firing], cylinder, 'firing' or 'overlap'); firing
        stands before overlap where they meet. Empty where the firing angles are not known.
    """
    crank = engine.engine.crank
    if crank is None:
        return ()
    events = []
    for cylinder, firing in enumerate(crank.firing_deg, 1):
        events.append(TdcEvent(turned(firing, CYCLE), cylinder, "firing"))
        events.append(TdcEvent(turned(firing + TURN, CYCLE), cylinder, "overlap"))
    return tuple(sorted(events, key=lambda e: (e.crank_deg, e.top != "firing", e.cylinder)))


def marked_tdc_events(engine: EngineFile) -> tuple[TdcEvent, ...]:
    """The top dead centres that can be found on the rotor's marks.

    A mark belongs to a crank position, so it also serves the other cylinders that are at the top
    there: with cylinders 1 and 4 rising together, the mark of 1 finds both.
    """
    crank = engine.engine.crank
    if crank is None:
        return ()
    marks = [crank.tdc_deg[cylinder - 1] for cylinder in engine.marked_cylinders()]
    return tuple(
        event for event in tdc_events(engine) if any(same_angle(event.crank_deg, m) for m in marks)
    )


def firing_intervals(engine: EngineFile) -> tuple[float, ...]:
    """Crank degrees from each firing to the next, along the firing order, round to the start.

    Returns
    -------
    tuple of float
        One for each cylinder, 720 in all; empty where the firing angles are not known.
    """
    angles = engine.engine.firing_angles_deg
    if not angles:
        return ()
    return tuple(
        turned(later - earlier, CYCLE) or CYCLE
        for earlier, later in zip(angles, (*angles[1:], angles[0] + CYCLE), strict=True)
    )
