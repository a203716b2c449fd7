"""Parts of the speed page that need more than a line: pictures, settings, other tyres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing.speed_pictures import (
    ErrorMark,
    GearCurve,
    error_picture,
    gear_picture,
)
from tickover.physics.bands import Band
from tickover.quantities import to_unit
from tickover.tasks import speed as task
from tickover.tasks.regearing import Regeared

_ROOM = 1.1
_USUAL_MOST_KMH = 140.0


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """What other tyres or sprockets would do to one thing: now and then."""

    what: str
    now: str
    then: str


def gears_drawn(
    engine: EngineFile, state: State | None, *, width: float = 328.0, embedded: bool = False
) -> str:
    """Road speed over crank speed, drawn; '' where the gears are not known."""
    gears = task.gear_speeds(engine, state)
    if not gears:
        return ""
    unit = engine.show.unit("road speed")
    red = engine.gearing.red_line_hz if engine.gearing else None
    most = 60.0 * red if red else 6000.0
    curves = [
        GearCurve(str(g.gear), *(to_unit(v * most / 1000.0, unit, "road speed") for v in
                                 (g.per_1000.low, g.per_1000.high)))
        for g in gears
    ]  # fmt: skip
    return gear_picture(curves, most, unit, width=width, embedded=embedded)


def errors_drawn(
    engine: EngineFile,
    rows: Sequence[task.SpeedError],
    *,
    width: float = 328.0,
    embedded: bool = False,
) -> str:
    """Every reading against the band that decides; '' without one."""
    if not rows:
        return ""
    unit = engine.show.unit("road speed")

    def shown(value: float) -> float:
        return to_unit(value, unit, "road speed")

    most = max(_USUAL_MOST_KMH * task.KMH, *(_ROOM * r.true.high for r in rows))
    marks = [
        ErrorMark(task.speed_words(engine, Band(r.shown.speed, r.shown.speed)), r.state,
                  shown(r.true.middle), shown(r.error.low), shown(r.error.high))
        for r in rows
    ]  # fmt: skip
    ends = (shown(task.R39.band(0.0)[1]), shown(task.R39.band(most)[1] - most))
    return error_picture(marks, ends, shown(most), unit, width=width, embedded=embedded)


def setting_words(engine: EngineFile, factor: Band) -> tuple[str, ...]:
    """What to set or fit so that the needle is right, from what it shows over what is true."""
    pair = f"{factor.low:.3f} to {factor.high:.3f}"
    words = [f"The needle shows {pair} times what is true."]
    table = engine.speedometer
    if table is not None and table.kind == "sensor" and table.per_km is not None:
        words.append(
            f"Set it to {table.per_km * factor.low:.0f} to {table.per_km * factor.high:.0f} "
            f"pulses per km in place of {table.per_km:g}, and it is right."
        )
    elif table is not None and table.turns_each is not None:
        words.append(
            f"A drive of {table.turns_each / factor.high:.3f} to "
            f"{table.turns_each / factor.low:.3f} cable turns for each turn of the "
            f"{table.driven_by} in place of {table.turns_each:g} would make it right."
        )
    else:
        words.append("Turns or pulses on each km would have to be divided by it.")
    words.append("True is right for the road; the rule wants never less, so a shade above.")
    return tuple(words)


def change_lines(
    engine: EngineFile, state: State | None, change: Regeared, factor: Band | None
) -> tuple[ChangeLine, ...]:
    """What other tyres or sprockets would do, line by line.

    Parameters
    ----------
    engine : EngineFile
    state : State
    change : Regeared
    factor : Band
        Shown over true now, measured or by the drive; None where not known.
    """
    lines = [ChangeLine("road speed at one crank speed", "1", _pair(change.road))]
    for gear in task.gear_speeds(engine, state):
        lines.append(
            ChangeLine(
                f"gear {gear.gear} at 1000 rpm", task.speed_words(engine, gear.per_1000),
                task.speed_words(engine, gear.per_1000 * change.road),
            )
        )  # fmt: skip
    lines.append(ChangeLine("what the needle shows", "1", _pair(change.needle)))
    if factor is not None:
        lines.append(ChangeLine("shown over true", _pair(factor), _pair(factor * change.needle)))
    return tuple(lines)


def _pair(band: Band) -> str:
    low, high = f"{band.low:.3f}", f"{band.high:.3f}"
    return low if low == high else f"{low} to {high}"
