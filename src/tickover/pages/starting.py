"""The starting page: battery, earths, stop switch and interlocks tried in each state."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
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
        head=head,
    )
