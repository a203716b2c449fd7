"""The ignition page: timing in three forms, lead order, coils at 20 C."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.ignition import Ignition
from tickover.pages.head import Head
from tickover.pages.proving import (
    ProvingLine,
    cautions_of,
    lines_of,
    states_for,
    verdict_words,
)
from tickover.pages.why import Why
from tickover.quantities import show
from tickover.tasks import ignition as task


@dataclass(frozen=True, slots=True)
class TimingLine:
    """One timing in three forms; '' where the file lacks what a form needs."""

    title: str
    degrees: str
    drop: str
    arc: str
    words: str


@dataclass(frozen=True, slots=True)
class IgnitionPage:
    """Everything the ignition page shows."""

    title: str
    verdict: str
    timings: tuple[TimingLine, ...]
    firing_order: str
    coils: tuple[str, ...]
    leads: str
    whys: tuple[Why, ...]
    checks: tuple[ProvingLine, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    head: Head | None = None


def ignition_page(
    engine: EngineFile,
    state: State | None = None,
    head: Head | None = None,
    degrees: float | None = None,
    leads: str = "",
) -> IgnitionPage:
    """The ignition page of a machine.

    Parameters
    ----------
    engine : EngineFile
    state : State or None
    head : Head or None
    degrees : float or None
        One more timing to be shown in its three forms [deg before TDC]
    leads : str
        '1-3-4-2': leads to be compared with the firing order; else the book's.

    Raises
    ------
    InputError
        If the leads do not name every cylinder once.
    """
    states = states_for(engine, state)
    lines = lines_of(engine, states, task.NAMES)
    table = engine.ignition
    timings = []
    if table is not None and table.static_timing_deg is not None:
        limit = table.static_tolerance_deg
        for title, angle in (
            ("static", table.static_timing_deg),
            ("earliest allowed", table.static_timing_deg + limit),
            ("latest allowed", table.static_timing_deg - limit),
        ):
            timings.append(timing_line(engine, title, angle))
    if degrees is not None:
        timings.append(timing_line(engine, "asked", degrees))
    if table is not None:
        timings += [
            timing_line(engine, f"at {60 * speed:.0f} rpm", angle) for speed, angle in table.advance
        ]
    fallen = table.fallen_away(engine) if table is not None else ()
    return IgnitionPage(
        title="Ignition",
        verdict=verdict_words(states, task.NAMES),
        timings=tuple(timings),
        firing_order="-".join(map(str, engine.engine.firing_order)),
        coils=_coils(engine),
        leads=_leads(engine, lines, leads),
        whys=(_timing_why(engine),) if timings else (),
        checks=lines,
        cautions=cautions_of(lines),
        missing=tuple(str(item) for item in fallen)
        or (() if table is not None else tuple(f"{c}: [ignition]" for c in Ignition.FALLS_AWAY)),
        head=head,
    )


def timing_line(engine: EngineFile, title: str, degrees: float) -> TimingLine:
    """One timing in its three forms."""
    forms = task.timing_forms(engine, degrees)
    side = "before" if degrees >= 0.0 else "after"
    return TimingLine(
        title,
        f"{abs(degrees):.3g}° {side} TDC",
        "" if forms.drop_m is None else task.length_words(engine, forms.drop_m),
        "" if forms.arc_m is None else task.length_words(engine, abs(forms.arc_m)),
        task.timing_words(engine, degrees),
    )


def _coils(engine: EngineFile) -> tuple[str, ...]:
    if engine.ignition is None or not engine.ignition.coils:
        return ()
    return tuple(
        f"coil {n}: cylinder{'s' if len(group) > 1 else ''} {' and '.join(map(str, group))}"
        for n, group in enumerate(engine.ignition.coils, start=1)
    )


def _leads(engine: EngineFile, lines: tuple[ProvingLine, ...], typed: str) -> str:
    if typed:
        reading = task.lead_reading(engine, typed)
        found = reading.conditions["found"]
        return task.lead_words(task.lead_check(engine, [int(n) for n in found]))
    return next((line.text for line in lines if line.name == task.LEADS), "")


def _timing_why(engine: EngineFile) -> Why:
    machine, table = engine.engine, engine.ignition
    unit = engine.show.unit("length")
    inputs = []
    if machine.stroke_m is not None:
        inputs.append(f"stroke {show(machine.stroke_m, unit, 'length')}")
    if machine.rod_m is not None:
        inputs.append(f"rod {show(machine.rod_m, unit, 'length')}")
    if table is not None and table.rotor_diameter_m is not None:
        inputs.append(f"rotor {show(table.rotor_diameter_m, unit, 'length')} across")
    return Why(
        title="Timing in three forms",
        inputs=tuple(inputs),
        formula="drop = r + l - r cos a - sqrt(l² - r² sin² a); arc = diameter / 2 x a",
        source="plain geometry; Heywood, Internal Combustion Engine Fundamentals, 1988, "
        "section 2.2",
        uncertainty="as good as stroke, rod and rotor were measured; the gudgeon pin is taken to "
        "sit on the centre line",
    )
