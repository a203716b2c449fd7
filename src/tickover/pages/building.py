"""From a build in the book to its pages: the one way every face takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from tickover.book.bodies import Answer
from tickover.book.chain import BuildRow
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.runningin import Use
from tickover.physics.track import Ride, Stretch
from tickover.plan.answer import answer_body
from tickover.plan.checks import CheckState, check_states
from tickover.plan.faultfinding import changed_weights, fault_advice, knowledge
from tickover.plan.fit import Fitness, fitness
from tickover.plan.runin import RunInPlan, run_in_plan
from tickover.plan.shopping import ShoppingList, shopping_list
from tickover.plan.stage import stage_reached
from tickover.plan.valve_plan import engine_of_text, valve_assessment
from tickover.tasks.balance_book import balance_book
from tickover.tasks.compression import assess, measured_book, spec_from_file
from tickover.tasks.compression.in_book import CHECK as COMPRESSION
from tickover.tasks.compression.in_book import compression_book
from tickover.tasks.finding import Stage, StateWord
from tickover.tasks.mixture.in_book import mixture_book
from tickover.tasks.mixture.trim import state_of_words
from tickover.tasks.regearing import Regeared
from tickover.tasks.valves import USUAL, Assumptions
from tickover.tasks.valves.in_book import CLEARANCE, valve_book, valve_drifts

if TYPE_CHECKING:
    from tickover.pages.balance import BalancePage
    from tickover.pages.book import BookPage
    from tickover.pages.build import BuildPage
    from tickover.pages.charging import ChargingPage
    from tickover.pages.checks import CheckPage, ChecksPage
    from tickover.pages.compression import CompressionPage
    from tickover.pages.controls import ControlsPage
    from tickover.pages.drawer import DrawerPage
    from tickover.pages.fasteners import FastenersPage
    from tickover.pages.faults import FaultPage
    from tickover.pages.fitness import FitPage
    from tickover.pages.fits import FitsPage
    from tickover.pages.head import Head
    from tickover.pages.loose import LoosePage
    from tickover.pages.measured import RatioPage, TimingPage
    from tickover.pages.mixture import MixturePage
    from tickover.pages.noise import NoisePage
    from tickover.pages.pictures import PicturesPage
    from tickover.pages.runin import RunInPage
    from tickover.pages.sheet_list import SheetsPage
    from tickover.pages.shopping import ShoppingPage
    from tickover.pages.speed import SpeedPage
    from tickover.pages.start import StartCard
    from tickover.pages.stopwatch import StopwatchPage
    from tickover.pages.strobe import StrobePage
    from tickover.pages.valves import ValvesPage

_PAGES_KEPT = 64


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
    from tickover.pages.head import head_of

    return head_of(build.id, build.name, state, _stage(state))


@lru_cache(maxsize=_PAGES_KEPT)
def states_of(state: State) -> tuple[CheckState, ...]:
    """Every check of a build as it stands; worked out once for each state of the book."""
    return check_states(engine_of(state), state)


@lru_cache(maxsize=_PAGES_KEPT)
def fitness_of(state: State, stage: Stage = "first start") -> Fitness:
    """The answer of a stage; worked out once for each state of the book."""
    return fitness(engine_of(state), state, stage, states_of(state))


@lru_cache(maxsize=_PAGES_KEPT)
def _stage(state: State) -> str:
    try:
        return stage_reached(engine_of(state), state, states_of(state))
    except InputError:  # no engine file, or one that cannot be read any more: nothing is proved
        return "on the stand"


@lru_cache(maxsize=_PAGES_KEPT)
def valves_page_of(build: BuildRow, state: State, assume: Assumptions = USUAL) -> ValvesPage:
    """The valve page of a build; computed once for each state of the book."""
    return replace(valves_of(state, assume), head=head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def valves_of(state: State, assume: Assumptions = USUAL) -> ValvesPage:
    """The valve page without a head, for what is told of a state alone."""
    from tickover.pages.valves import valves_page

    engine = engine_of(state)
    assessment = valve_assessment(engine, state, assume, states_of(state))
    accepted = {
        item.check.place: item.acceptance.body.reason
        for item in states_of(state)
        if item.check.name == CLEARANCE and item.acceptance is not None
    }
    return valves_page(
        engine,
        assessment,
        None,
        valve_drifts(engine, state, assume),
        assume,
        accepted,
    )


@lru_cache(maxsize=_PAGES_KEPT)
def build_page_of(build: BuildRow, state: State) -> BuildPage:
    """The build's own page: where are we, what next, what stops us."""
    from tickover.pages.build import build_page

    return build_page(engine_of(state), fitness_of(state), checks_page_of(build, state))


def drawer_page_of(build: BuildRow, state: State) -> DrawerPage:
    """Shims in the engine and in the drawer."""
    from tickover.pages.drawer import drawer_page

    engine = engine_of(state)
    return drawer_page(engine, valve_book(engine, state), head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def compression_page_of(build: BuildRow, state: State) -> CompressionPage:
    """The compression test; worked out once for each state of the book."""
    return replace(compression_of(state), head=head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def compression_of(state: State) -> CompressionPage:
    """The compression test without a head, for what is told of a state alone."""
    from tickover.pages.compression import compression_page

    engine = engine_of(state)
    known = {
        item.check.place: item.state
        for item in states_of(state)
        if item.check.name == COMPRESSION and item.state in ("stale", "accepted")
    }
    stale = frozenset(place for place, word in known.items() if word == "stale")
    book = compression_book(engine, state, stale)
    found = assess(spec_from_file(engine), book.readings, book.day, book.other)
    return compression_page(engine, found, None, known, book.was)


def measured_of(state: State) -> tuple[RatioPage, TimingPage]:
    """Ratio and cam timing without a head, for what is told of a state alone."""
    from tickover.pages.measured import ratio_of_book, timing_of_book

    engine = engine_of(state)
    known = _overruled(state, measured_book.TIMING).get("")
    return (
        ratio_of_book(engine, state, None, _overruled(state, measured_book.RATIO)),
        timing_of_book(engine, state, None, known),
    )


@lru_cache(maxsize=_PAGES_KEPT)
def ratio_page_of(build: BuildRow, state: State) -> RatioPage:
    """Compression ratio by burette; worked out once for each state of the book."""
    from tickover.pages.measured import ratio_of_book

    return ratio_of_book(
        engine_of(state), state, head_for(build, state), _overruled(state, measured_book.RATIO)
    )


@lru_cache(maxsize=_PAGES_KEPT)
def timing_page_of(build: BuildRow, state: State) -> TimingPage:
    """Cam timing by degree wheel; worked out once for each state of the book."""
    from tickover.pages.measured import timing_of_book

    known = _overruled(state, measured_book.TIMING).get("")
    return timing_of_book(engine_of(state), state, head_for(build, state), known)


def _overruled(state: State, name: str) -> dict[str, StateWord]:
    """Places of a check that are stale or accepted, whatever was found there."""
    return {
        item.check.place: item.state
        for item in states_of(state)
        if item.check.name == name and item.state in ("stale", "accepted")
    }


@lru_cache(maxsize=_PAGES_KEPT)
def charging_page_of(build: BuildRow, state: State) -> ChargingPage:
    """Charging, switches and senders; worked out once for each state of the book."""
    from tickover.pages.charging import charging_page

    return charging_page(engine_of(state), state, head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def mixture_page_of(build: BuildRow, state: State, ready: tuple[str, ...] = ()) -> MixturePage:
    """The mixture; worked out once for each state of the book.

    `ready` holds the states to have jets ready for, in words.
    """
    return replace(mixture_of(state, ready), head=head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def mixture_of(state: State, ready: tuple[str, ...] = ()) -> MixturePage:
    """The mixture without a head, for what is told of a state alone."""
    from tickover.pages.mixture import mixture_page

    engine = engine_of(state)
    book = mixture_book(engine, state)
    return mixture_page(engine, book, None, tuple(state_of_words(w, book.trim) for w in ready))


def balance_page_of(build: BuildRow, state: State) -> BalancePage:
    """The balance of the carburettors."""
    from tickover.pages.balance import balance_page

    engine = engine_of(state)
    return balance_page(engine, balance_book(engine, state), head_for(build, state))


def strobe_page_of(
    state: State, plate_turns_with: str = "camshaft", plate_radius_m: float | None = None
) -> StrobePage:
    """The timing under the strobe, as the book has it."""
    from tickover.pages.strobe import readings_in_book, strobe_page

    engine = engine_of(state)
    return strobe_page(engine, readings_in_book(engine, state), plate_turns_with, plate_radius_m)


def fits_page_of(build: BuildRow, state: State) -> FitsPage:
    """The build measurements."""
    from tickover.pages.fits import fits_page

    return fits_page(engine_of(state), state, head_for(build, state))


def fasteners_page_of(build: BuildRow, state: State) -> FastenersPage:
    """The fasteners: torque, order, what was tightened when."""
    from tickover.pages.fasteners import fasteners_page

    return fasteners_page(engine_of(state), state, head_for(build, state))


def controls_page_of(build: BuildRow, state: State) -> ControlsPage:
    """Grip, levers and cables."""
    from tickover.pages.controls import controls_page

    return controls_page(engine_of(state), state, head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def noise_page_of(build: BuildRow, state: State) -> NoisePage:
    """The stationary noise test."""
    from tickover.pages.noise import noise_page

    return noise_page(engine_of(state), state, head_for(build, state))


def speed_page_of(
    build: BuildRow,
    state: State,
    *,
    ride: Ride | None = None,
    odometer_m: float | None = None,
    change: Regeared | None = None,
    stretches: tuple[Stretch, ...] = (),
) -> SpeedPage:
    """Gears and speedometer, with a track just read or other tyres to compare."""
    from tickover.pages.speed import speed_page

    return speed_page(
        engine_of(state), state, ride, (), odometer_m, head_for(build, state), (), change, stretches
    )


def book_page_of(build: BuildRow, state: State, search: str = "") -> BookPage:
    """The entries, newest first, those that hold the words searched for."""
    from tickover.pages.book import book_page

    return book_page(state, head_for(build, state), search)


@lru_cache(maxsize=_PAGES_KEPT)
def checks_page_of(build: BuildRow, state: State, stage: Stage = "first start") -> ChecksPage:
    """All checks of a build, and what to do next on the way to a stage."""
    from tickover.pages.checks import checks_page

    return checks_page(engine_of(state), fitness_of(state), state, head_for(build, state), stage)


def check_page_of(build: BuildRow, state: State, name: str, place: str = "") -> CheckPage:
    """One check of a build.

    Raises
    ------
    InputError
        There is no such check.
    """
    from tickover.pages.checks import check_page

    return check_page(
        engine_of(state), states_of(state), state, head_for(build, state), name, place
    )


@lru_cache(maxsize=_PAGES_KEPT)
def fit_page_of(build: BuildRow, state: State, stage: Stage = "first start") -> FitPage:
    """The answer of a stage, and the one that was recorded."""
    from tickover.pages.fitness import fit_page

    return fit_page(engine_of(state), fitness_of(state, stage), state, head_for(build, state))


def answer_of(state: State, stage: Stage = "first start") -> Answer:
    """The entry that records the answer of a stage as it is now."""
    return answer_body(fitness_of(state, stage), state)


@lru_cache(maxsize=_PAGES_KEPT)
def start_card_of(build: BuildRow, state: State) -> StartCard:
    """The start card of a build."""
    from tickover.pages.start import start_card

    return start_card(engine_of(state), fitness_of(state), state, head_for(build, state))


def stopwatch_page_of(build: BuildRow, state: State) -> StopwatchPage:
    """The stopwatch of a build's first minutes."""
    from tickover.pages.stopwatch import stopwatch_page

    return stopwatch_page(start_card_of(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def fault_page_of(build: BuildRow, state: State, symptom: str = "will not start") -> FaultPage:
    """What to look at next about a symptom.

    Weights of the engine file that cannot be used are told on the page and left out.

    Raises
    ------
    InputError
        Nothing is known about this symptom.
    """
    from tickover.pages.faults import fault_page

    engine, known = engine_of(state), knowledge(symptom)
    weights: tuple[tuple[str, float], ...] = ()
    problem = ""
    try:
        weights = changed_weights(engine, known)
    except InputError as error:
        problem = f"{error} No weight of the file counts until it is put right."
    advice = fault_advice(engine, state, known, weights, states_of(state))
    return fault_page(engine, advice, head_for(build, state), weights, problem)


@lru_cache(maxsize=_PAGES_KEPT)
def shopping_of(state: State) -> ShoppingList:
    """Everything wanted by all tasks of a build, less what arrived."""
    return shopping_list(engine_of(state), state)


def shopping_page_of(build: BuildRow, state: State) -> ShoppingPage:
    """The shopping list of a build."""
    from tickover.pages.shopping import shopping_page

    return shopping_page(engine_of(state), shopping_of(state), head_for(build, state))


def sheets_page_of(build: BuildRow, state: State) -> SheetsPage:
    """The sheets to print for this machine."""
    from tickover.pages.sheet_list import sheets_page

    return sheets_page(engine_of(state), head_for(build, state))


@lru_cache(maxsize=_PAGES_KEPT)
def run_in_of(state: State, today: date, use: Use | None = None) -> RunInPlan:
    """The running-in plan of a build as seen on a day."""
    return run_in_plan(engine_of(state), state, today, use)


def runin_page_of(build: BuildRow, state: State, today: date, use: Use | None = None) -> RunInPage:
    """What to do after the first start, and when."""
    from tickover.pages.runin import run_in_page

    return run_in_page(engine_of(state), run_in_of(state, today, use), head_for(build, state))


def pictures_page_of(build: BuildRow, state: State) -> PicturesPage:
    """Every photograph of a build."""
    from tickover.pages.pictures import pictures_page

    return pictures_page(state, head_for(build, state))


def loose_page_of(build: BuildRow, state: State) -> LoosePage:
    """Loose ends, open and closed."""
    from tickover.pages.loose import loose_page

    return loose_page(state, head_for(build, state))
