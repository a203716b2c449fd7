"""The fuel page: how much vanishes before it is a leak, and how much must flow."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fuel import Fuel
from tickover.pages.head import Head
from tickover.pages.proving import (
    ProvingLine,
    cautions_of,
    lines_of,
    states_for,
    verdict_words,
)
from tickover.pages.why import Why
from tickover.quantities import show, show_range
from tickover.tasks import exhaust
from tickover.tasks import fuel as task


@dataclass(frozen=True, slots=True)
class FuelPage:
    """Everything the fuel page shows. Words are '' where nothing can be worked out."""

    title: str
    verdict: str
    fill: str
    fill_parts: tuple[str, ...]
    fill_note: str
    needed: str
    water: str
    exhaust: str
    whys: tuple[Why, ...]
    checks: tuple[ProvingLine, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    head: Head | None = None


def fuel_page(engine: EngineFile, state: State | None = None, head: Head | None = None) -> FuelPage:
    """The fuel page of a machine; intake and exhaust stand on it too."""
    states = states_for(engine, state)
    names = (*task.NAMES, *exhaust.NAMES)
    lines = lines_of(engine, states, names)
    fill = task.fuel_to_fill(engine)
    need = task.flow_needed(engine)
    water = task.water_column_m(engine)
    whys = []
    if fill is not None:
        whys.append(_fill_why(engine, fill))
    if need is not None:
        whys.append(_need_why(engine))
    fallen = engine.fuel.fallen_away(engine) if engine.fuel is not None else ()
    condition = exhaust.exhaust_condition(engine, state if state is not None else State())
    return FuelPage(
        title="Fuel",
        verdict=verdict_words(states, names),
        fill="" if fill is None else show_range(fill.total.low, fill.total.high, "l", "volume"),
        fill_parts=_parts(engine, fill),
        fill_note=_note(fill),
        needed=""
        if need is None
        else show_range(need.low, need.high, engine.show.unit("flow"), "flow"),
        water="" if water is None else task.column_words(engine, water),
        exhaust=condition,
        whys=tuple(whys),
        checks=lines,
        cautions=cautions_of(lines),
        missing=tuple(str(item) for item in fallen)
        or (() if engine.fuel is not None else tuple(f"{c}: [fuel]" for c in Fuel.FALLS_AWAY)),
        head=head,
    )


def _parts(engine: EngineFile, fill: task.Fill | None) -> tuple[str, ...]:
    if fill is None:
        return ()
    unit = engine.show.unit("volume")
    one = show_range(fill.bowl.low, fill.bowl.high, unit, "volume")
    made = [f"{fill.bowls} bowl{'s' if fill.bowls > 1 else ''} of {one}"]
    if fill.lines_m3 > 0.0:
        made.append(f"lines {show(fill.lines_m3, unit, 'volume')}")
    if fill.filter.high > 0.0:
        inside = show_range(fill.filter.low, fill.filter.high, unit, "volume")
        made.append(f"filter and tap {inside}")
    return tuple(made)


def _note(fill: task.Fill | None) -> str:
    if fill is None:
        return ""
    words = "It goes into bowls, filter and lines: expected, not a leak. More than that is one."
    if fill.bowls == 4:
        usual = show(task.FOUR_FROM_DRY_M3, "l", "volume")
        words += f" About {usual} is usual for four carburettors from dry (common practice)."
    return words


def _fill_why(engine: EngineFile, fill: task.Fill) -> Why:
    return Why(
        title="Fuel to fill",
        inputs=_parts(engine, fill),
        formula="bowls x one bowl + filter and tap + pi/4 bore² x length of each line",
        source="added up from the engine file",
        uncertainty="both ends of every volume at once",
    )


def _need_why(engine: EngineFile) -> Why:
    fuel = engine.fuel
    assert fuel is not None
    if fuel.flow_m3_s is not None:
        return Why("Fuel flow", ("flow of the engine file",), "as given", "engine file", "none")
    assert fuel.full_load_hz is not None
    filling, ratio = task.FULL_LOAD_FILLING, task.FULL_LOAD_RATIO
    return Why(
        title="Fuel flow",
        inputs=(
            f"full load at {show(fuel.full_load_hz, 'rpm', 'speed')}",
            f"filling {100 * filling.low:.0f} to {100 * filling.high:.0f} %",
            f"{ratio.low:g} to {ratio.high:g} parts of air to one of fuel, by mass",
        ),
        formula="swept volume x speed / 2 x filling x air density / ratio / fuel density",
        source="definition of the quantities; EN 228 for the density of petrol; filling and "
        "ratio: common practice, no source",
        uncertainty="both ends of every input at once",
    )
