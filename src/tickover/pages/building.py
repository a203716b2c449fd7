"""From a build in the book to its pages: the one way every face takes."""

from __future__ import annotations

from functools import lru_cache

from tickover.book.chain import BuildRow
from tickover.book.state import State
from tickover.engine import EngineFile, parse_engine_file
from tickover.errors import InputError
from tickover.pages.book import BookPage, book_page
from tickover.pages.build import BuildPage, build_page
from tickover.pages.drawer import DrawerPage, drawer_page
from tickover.pages.head import Head, head_of
from tickover.pages.valves import ValvesPage, valves_page
from tickover.plan.checks import check_states, stale_places
from tickover.plan.fit import fitness
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
from tickover.tasks.valves.in_book import CLEARANCE, valve_book, valve_drifts

_PAGES_KEPT = 64


@lru_cache(maxsize=_PAGES_KEPT)
def engine_of_text(text: str, name: str) -> EngineFile:
    """The engine file from its text; read once for each text."""
    return parse_engine_file(text, name)


def engine_of(state: State) -> EngineFile:
    """The engine file of a build as it stands now.

    Raises
    ------
    InputError
        If the build has none, or it can no longer be read.
    """
    kept = state.engine_file
    if kept is None:
        raise InputError("This build has no engine file yet", instead="one on its engine file page")
    return engine_of_text(kept.body.text, kept.body.name)


def head_for(build: BuildRow, state: State) -> Head:
    """The head of every page of a build."""
    return head_of(build.id, build.name, state, _stage(state))


def _stage(state: State) -> str:
    if any(entry.body.outcome == "ran" for entry in state.start_attempts()):
        return "first start"
    return "on the stand"


@lru_cache(maxsize=_PAGES_KEPT)
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


@lru_cache(maxsize=_PAGES_KEPT)
def valves_page_of(build: BuildRow, state: State, assume: Assumptions = USUAL) -> ValvesPage:
    """The valve page of a build; computed once for each state of the book."""
    engine = engine_of(state)
    stale = stale_places(check_states(engine, state), CLEARANCE)
    known = valve_book(engine, state, stale)
    kept = state.engine_file
    assert kept is not None  # engine_of has asked
    assessment = _assessed(
        (kept.body.text, kept.body.name),
        tuple(known.readings.values()),
        tuple(known.shims.values()),
        known.drawer,
        known.circumstances,
        stale,
        assume,
    )
    return valves_page(
        engine, assessment, head_for(build, state), valve_drifts(engine, state, assume), assume
    )


@lru_cache(maxsize=_PAGES_KEPT)
def build_page_of(build: BuildRow, state: State) -> BuildPage:
    """The build's own page: where are we, what next, what stops us."""
    engine = engine_of(state)
    return build_page(engine, fitness(engine, state), head_for(build, state))


def drawer_page_of(build: BuildRow, state: State) -> DrawerPage:
    """Shims in the engine and in the drawer."""
    engine = engine_of(state)
    return drawer_page(engine, valve_book(engine, state), head_for(build, state))


def book_page_of(build: BuildRow, state: State, search: str = "") -> BookPage:
    """The entries, newest first, those that hold the words searched for."""
    return book_page(state, head_for(build, state), search)
