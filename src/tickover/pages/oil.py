"""The oil page: what to expect at an open line, under pressure, and at the switch."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.oil import Oil
from tickover.pages.head import Head
from tickover.pages.proving import (
    ProvingLine,
    TruthLine,
    cautions_of,
    lines_of,
    states_for,
    truth_lines,
    verdict_words,
)
from tickover.pages.why import Why
from tickover.physics.bands import Band
from tickover.physics.oilpump import USUAL_HOLE_SHARE, USUAL_TIGHTNESS
from tickover.quantities import show, show_range
from tickover.tasks import oil as task


@dataclass(frozen=True, slots=True)
class OilPage:
    """Everything the oil page shows. Words are '' where nothing can be worked out."""

    title: str
    verdict: str
    flow: str
    flow_note: str
    priming: str
    viscosity: str
    pressure: str
    whys: tuple[Why, ...]
    switch: tuple[TruthLine, ...]
    switch_note: str
    opens: str
    checks: tuple[ProvingLine, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    head: Head | None = None


def oil_page(
    engine: EngineFile,
    state: State | None = None,
    head: Head | None = None,
    speed_hz: Band | float | None = None,
    temperature_k: float | None = None,
) -> OilPage:
    """The oil page of a machine.

    Parameters
    ----------
    engine : EngineFile
    state : State or None
        Of the book; without one every check is open.
    head : Head or None
    speed_hz : Band or float or None
        Crank speed for flow and pressure; [starter] and the book's when left out [1/s]
    temperature_k : float or None
        Of the oil [K]
    """
    states = states_for(engine, state)
    lines = lines_of(engine, states, task.NAMES)
    expected = task.expected_flow(engine, speed_hz, temperature_k)
    flow = note = ""
    whys: list[Why] = []
    if expected is not None:
        unit = engine.show.unit("volume")
        flow = f"{show_range(expected.volume.low, expected.volume.high, unit, 'volume')} in 10 s"
        note = (
            f"From a pump in order; it can move no more than "
            f"{show(expected.most, unit, 'volume')} in that time."
        )
        if expected.too_cold:
            note += " The oil is colder than its grade promises to reach the pump: warm it first."
        whys.append(_flow_why(engine, expected))
    wait = task.priming_s(engine)
    pressure, why = _pressure(engine, speed_hz, temperature_k)
    whys += [why] if why is not None else []
    table = truth_lines(states, task.SWITCH)
    fallen = engine.oil.fallen_away(engine) if engine.oil is not None else ()
    return OilPage(
        title="Oil",
        verdict=verdict_words(states, task.NAMES),
        flow=flow,
        flow_note=note,
        priming="" if wait is None else f"{wait.low:.0f} to {wait.high:.0f} s of cranking in all",
        viscosity=_viscosity(engine, temperature_k),
        pressure=pressure,
        whys=tuple(whys),
        switch=table,
        switch_note=(
            "Earthed when low and open when full is usual (common practice, no source); the "
            "engine file says how it is here."
            if table
            else ""
        ),
        opens=task.line_off(engine).label,
        checks=lines,
        cautions=cautions_of(lines),
        missing=tuple(str(item) for item in fallen)
        or (() if engine.oil is not None else tuple(f"{c}: [oil]" for c in Oil.FALLS_AWAY)),
        head=head,
    )


def _viscosity(engine: EngineFile, temperature_k: float | None) -> str:
    if engine.oil is None or temperature_k is None:
        return ""
    thick = task.viscosity_at(engine.oil, temperature_k)
    if thick is None:
        return ""
    at = show(temperature_k, engine.show.unit("temperature"), "temperature")
    return f"{show_range(thick.low, thick.high, 'mm2/s', 'viscosity')} at {at}"


def _flow_why(engine: EngineFile, expected: task.ExpectedFlow) -> Why:
    turn = show_range(expected.displacement.low, expected.displacement.high, "cc", "volume")
    speed = show_range(expected.speed.low, expected.speed.high, "rpm", "speed")
    tight = f"{100 * USUAL_TIGHTNESS.low:.0f} to {100 * USUAL_TIGHTNESS.high:.0f} %"
    return Why(
        title="Oil flow while cranking",
        inputs=(
            f"pump displacement {turn} a turn",
            f"pump turns {expected.drive_ratio:g} for each turn of the crank",
            f"crank speed {speed}",
            f"a pump in order delivers {tight} of what it displaces",
        ),
        formula="displacement x drive ratio x crank speed x share delivered x 10 s",
        source="geometry of the pump; share delivered: common practice, no source",
        uncertainty="both ends of every input at once: the truth lies between, its place unknown",
    )


def _pressure(
    engine: EngineFile, speed_hz: Band | float | None, temperature_k: float | None
) -> tuple[str, Why | None]:
    oil = engine.oil
    if oil is None or oil.pressure_pa is None:
        return "", None
    speed = oil.pressure_at_hz if speed_hz is None or isinstance(speed_hz, Band) else speed_hz
    warm = oil.pressure_at_k if temperature_k is None else temperature_k
    expected = task.expected_pressure(engine, speed, warm)
    if expected is None:
        return "the book's figure cannot be carried to that speed and temperature", None
    unit = engine.show.unit("pressure")
    words = show_range(expected.low, expected.high, unit, "pressure")
    where = []
    if speed is not None:
        where.append(show(speed, "rpm", "speed"))
    if warm is not None:
        where.append(f"oil at {show(warm, engine.show.unit('temperature'), 'temperature')}")
    words += f" at {', '.join(where)}" if where else ""
    holes = f"{100 * USUAL_HOLE_SHARE.low:.0f} to {100 * USUAL_HOLE_SHARE.high:.0f} %"
    return words, Why(
        title="Oil pressure",
        inputs=(
            f"from the book: {show_range(*oil.pressure_pa, unit, 'pressure')}",
            f"oil {oil.grade or 'of its data sheet'}",
            f"{holes} of the oil leaves through plain holes",
        ),
        formula="speed ratio = (1 - s) x / k + s sqrt(x); x pressure ratio, k viscosity ratio",
        source="laminar leakage and orifice flow (textbook); viscosity by ASTM D341 between the "
        "ends SAE J300 allows; the share of holes: common practice, no source",
        uncertainty="every corner of grade, index and share",
    )
