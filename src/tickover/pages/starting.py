"""The starting page: battery, earths, stop switch and interlocks tried in each state."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.starting import Battery, Interlocks
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
from tickover.quantities import show
from tickover.tasks import starting as task


@dataclass(frozen=True, slots=True)
class StartingPage:
    """Everything the starting page shows."""

    title: str
    verdict: str
    stop: tuple[TruthLine, ...]
    interlocks: tuple[TruthLine, ...]
    rule: str
    checks: tuple[ProvingLine, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    whys: tuple[Why, ...]
    head: Head | None = None


def starting_page(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> StartingPage:
    """The page of battery, earths, stop switch and interlocks."""
    states = states_for(engine, state)
    lines = lines_of(engine, states, task.NAMES)
    table = engine.interlocks
    missing = [
        f"{check}: [{name}]"
        for name, there, checks in (
            ("battery", engine.battery, ("Battery at rest and while cranking, in volts",)),
            ("interlocks", table, ("Interlocks tried in each state",)),
        )
        for check in checks
        if there is None
    ]
    rule = ""
    if table is not None and task.interlock_states(engine):
        rule = (
            f"The starter may turn: {table.rule}."
            if table.rule
            else "The starter may turn in neutral, or with clutch in and stand up, as far as there "
            "are switches (common practice, no source)."
        )
    return StartingPage(
        title="Battery and switches",
        verdict=verdict_words(states, task.NAMES),
        stop=truth_lines(states, task.STOP),
        interlocks=truth_lines(states, task.INTERLOCKS),
        rule=rule,
        checks=tuple(line for line in lines if line.name not in (task.STOP, task.INTERLOCKS)),
        cautions=cautions_of(lines),
        missing=tuple(missing),
        whys=_whys(engine, lines),
        head=head,
    )


def _whys(engine: EngineFile, lines: tuple[ProvingLine, ...]) -> tuple[Why, ...]:
    """The figures asked of battery and earths, and the rule of the interlocks."""
    battery, interlocks = engine.battery, engine.interlocks
    names = {line.name for line in lines}
    found = []
    if battery is not None and task.AT_REST in names:
        found.append(_rest_why(battery))
        if task.CRANKING in names:
            found.append(_cranking_why(battery))
    if interlocks is not None and task.INTERLOCKS in names:
        found.append(_rule_why(interlocks))
    return tuple(found)


def _rest_why(battery: Battery) -> Why:
    cells = round(battery.volts_v / 2.0)
    least = show(task.least_at_rest_v(battery), "V", "voltage")
    asked = "engine file" if battery.at_rest_v is not None else "three quarters of its charge"
    return Why(
        "Battery at rest",
        (f"{cells} cells, at least {least} ({asked})", "the meter's last digits, 20 mV"),
        "charge = lowest and highest of two tables of rest voltage, at either end of the meter's "
        "error",
        "US Army TM 5-3805-262-20; a motor-home table, third party",
        "the spread shown; it widens by 0.4 mV for each cell and kelvin away from 24 °C (from "
        "memory); sealed batteries rest about a tenth of a volt higher (practice)",
    )


def _cranking_why(battery: Battery) -> Why:
    least = show(task.least_cranking_v(battery), "V", "voltage")
    drop = show(battery.earth_drop_v, "V", "voltage")
    practice = "" if battery.cranking_v is not None else "; 9.6 V for six cells is common practice"
    return Why(
        "While the starter turns",
        (f"at least {least} at the posts", f"at most {drop} from crankcase to battery minus"),
        "the posts show what the battery can do; what the starter gets is that less every drop "
        "on the way there and back",
        f"engine file{practice}, no source",
        "a needle lags and a slow meter misses the lowest point: crank three seconds",
    )


def _rule_why(table: Interlocks) -> Why:
    fitted = [
        words
        for words, there in (
            ("neutral", table.neutral), ("clutch", table.clutch), ("side stand", table.side_stand),
        )
        if there
    ]  # fmt: skip
    return Why(
        "Which states start",
        (f"switches fitted: {', '.join(fitted) or 'none'}", f"rule: {table.rule or 'the usual'}"),
        table.rule or "in neutral; else clutch in and stand up",
        "engine file" if table.rule else "common practice, no source",
        "a switch that is stuck shows in one state only: try every one",
    )
