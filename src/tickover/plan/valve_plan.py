"""The valve assessment of a build, worked out once for whatever it rests on."""

from __future__ import annotations

from functools import lru_cache

from tickover.book.state import State
from tickover.cache.remembered import remembered
from tickover.engine import EngineFile, parse_engine_file
from tickover.plan.checks import CheckState, check_states, stale_places
from tickover.tasks.valves import (
    USUAL,
    Assumptions,
    Circumstances,
    ClearanceReading,
    DrawerShim,
    FittedShim,
    ValveAssessment,
    assess_valves,
)
from tickover.tasks.valves.in_book import CLEARANCE, valve_book

_KEPT = 64


@lru_cache(maxsize=_KEPT)
def engine_of_text(text: str, name: str) -> EngineFile:
    """The engine file from its text; read once for each text."""
    return parse_engine_file(text, name)


@remembered
def _assessed(
    engine_key: tuple[str, str],
    readings: tuple[ClearanceReading, ...],
    shims: tuple[FittedShim, ...],
    drawer: tuple[DrawerShim, ...],
    circumstances: Circumstances,
    stale: frozenset[str],
    assume: Assumptions,
) -> ValveAssessment:
    # Kept by what goes in: most entries of a book have nothing to do with the valves.
    return assess_valves(
        engine_of_text(*engine_key),
        {reading.place: reading for reading in readings},
        {shim.place: shim for shim in shims},
        drawer,
        circumstances,
        stale,
        assume,
    )


def valve_assessment(
    engine: EngineFile,
    state: State,
    assume: Assumptions = USUAL,
    states: tuple[CheckState, ...] | None = None,
) -> ValveAssessment:
    """Verdicts, reasons and shim plan of a build as its book stands.

    Parameters
    ----------
    engine : EngineFile
        The one of this build.
    state : State
        Of a build that has its engine file.
    assume : Assumptions
    states : tuple of CheckState, optional
        The checks as they stand, if the caller has them already.
    """
    every = check_states(engine, state) if states is None else states
    stale = stale_places(every, CLEARANCE)
    known = valve_book(engine, state, stale)
    kept = state.engine_file
    key = (kept.body.text, kept.body.name) if kept is not None else ("", "")
    return _assessed(
        key,
        tuple(known.readings.values()),
        tuple(known.shims.values()),
        known.drawer,
        known.circumstances,
        stale,
        assume,
    )
