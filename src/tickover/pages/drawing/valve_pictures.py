"""The pictures of the valve page: the engine with every valve's state, a dial for every stop."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tickover.pages.drawing.dial import crank_dial
from tickover.pages.drawing.parts import PartMark
from tickover.pages.drawing.plan_view import plan_view
from tickover.pages.drawing.rows import NARROW
from tickover.quantities import show_range

if TYPE_CHECKING:
    from tickover.engine import EngineFile
    from tickover.pages.valves import ValvesPage
    from tickover.pages.valves_words import StopLine, ValveLine


def _label(line: ValveLine, unit: str) -> str:
    """What stands beside the valve: the figures without their unit, or 'no gap'."""
    reading = line.finding.reading
    if reading is None:
        return ""
    if reading.go_m is None:
        return "no gap"
    return show_range(reading.go_m, reading.no_go_m, unit, "clearance", with_unit=False)


def valve_marks(
    page: ValvesPage, href: Callable[[str], str] = lambda place: ""
) -> dict[str, PartMark]:
    """What is known of each valve, for the drawing of the engine.

    Parameters
    ----------
    page : ValvesPage
    href : callable
        Where a touch on a place leads; empty: nowhere (paper).

    Returns
    -------
    dict of place to PartMark
    """
    return {
        line.place: PartMark(
            line.state, _label(line, page.unit), href(line.place), f"limits {line.limits}"
        )
        for line in page.valves
    }


def valves_picture(
    engine: EngineFile,
    page: ValvesPage,
    href: Callable[[str], str] = lambda place: "",
    *,
    width: float = NARROW,
    embedded: bool = False,
) -> str:
    """The engine from above with the state and the reading of every valve."""
    return plan_view(
        engine,
        valve_marks(page, href),
        note=f"All in {page.unit}.",
        width=width,
        embedded=embedded,
    )


def marks_of(engine: EngineFile) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Angles [degrees] and labels of the TDC marks on this engine's rotor."""
    crank = engine.engine.crank
    if crank is None:
        return (), ()
    cylinders = engine.marked_cylinders()
    return (
        tuple(crank.tdc_deg[cylinder - 1] for cylinder in cylinders),
        tuple(f"T{cylinder}" for cylinder in cylinders),
    )


def stop_dial(
    engine: EngineFile, stops: tuple[StopLine, ...], number: int, *, embedded: bool = False
) -> str:
    """The dial for one stop: from where the crank stood at the stop before.

    Parameters
    ----------
    engine : EngineFile
    stops : tuple of StopLine
        In working order.
    number : int
        Which of them, as `StopLine.number` counts: from 1.
    embedded : bool
        Colours in the picture itself (paper).
    """
    stop = stops[number - 1]
    if number > 1:
        start: float | None = stops[number - 2].crank_deg
    else:
        # nobody knows where the crank stands before the first, unless it is told from a mark
        start = None if stop.turn_deg == 0 else 0.0
    end = stop.crank_deg if start is None else start + stop.turn_deg
    return crank_dial(*marks_of(engine), start, end, embedded=embedded)
