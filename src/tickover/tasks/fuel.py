"""Fuel: clean, flowing, held back by its needles, and no drip anywhere."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fuel import Fuel
from tickover.physics import fuelsystem
from tickover.physics.bands import Band
from tickover.physics.swept import displacement
from tickover.quantities import show
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, StateWord, Wanted
from tickover.tasks.simple import answers, simple_finding

FRESH = "fresh fuel"
TANK = "fuel tank"
TAP = "fuel tap"
FILTER = "fuel filter"
LINES = "fuel lines"
FLOAT = "float height"
NEEDLE = "needle and seat"
FLOW = "fuel flow"
DRIPS = "fuel drips"
NAMES = (TANK, TAP, FILTER, LINES, FLOAT, NEEDLE, FRESH, FLOW, DRIPS)

FULL_LOAD_FILLING = Band(0.75, 0.95)
FULL_LOAD_RATIO = Band(12.0, 13.5)
"""Filling and air to fuel by mass at full load (common practice, no source)."""
FOUR_FROM_DRY_M3 = 0.5e-3
"""About half a litre to fill a four-carburettor system from dry: common practice, no source."""

_SLIDE_GAUGE_M = 2.5e-4  # a depth gauge on a float that gives way: our assumption


@dataclass(frozen=True, slots=True)
class Fill:
    """Fuel that vanishes from the tank before anything is full: expected, not a leak.

    Parameters
    ----------
    total : Band
        [m^3]
    bowls : int
    bowl : Band
        One of them [m^3]
    lines_m3 : float
        All lines together [m^3]
    filter : Band
        Filter and tap [m^3]
    """

    total: Band
    bowls: int
    bowl: Band
    lines_m3: float
    filter: Band


def bowl_fuel(fuel: Fuel) -> Band | None:
    """Fuel in one bowl at its level [m^3]; None where the file does not say."""
    if fuel.bowl_volume_m3 is not None:
        return Band(*fuel.bowl_volume_m3)
    if fuel.bowl is None:
        return None
    inside = Band(*fuel.bowl.displaced_m3) if fuel.bowl.displaced_m3 else 0.0
    return fuelsystem.bowl_volume(fuel.bowl.length_m, fuel.bowl.width_m, fuel.bowl.depth_m, inside)


def fuel_to_fill(engine: EngineFile) -> Fill | None:
    """Fuel needed to fill bowls, filter and lines from dry.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    Fill or None
        None without [fuel] or the volume of a bowl.

    Notes
    -----
    `fuelsystem.fill_volume`: added up, nothing else.
    """
    fuel = engine.fuel
    bowl = bowl_fuel(fuel) if fuel is not None else None
    if fuel is None or bowl is None:
        return None
    count = fuel.carburettor_count(engine.engine.cylinders)
    lines = [(line.bore_m, line.length_m) for line in fuel.lines]
    inside = Band(*fuel.filter_volume_m3) if fuel.filter_volume_m3 else Band(0.0, 0.0)
    pipes = fuelsystem.fill_volume(0, 0.0, lines).low
    return Fill(fuelsystem.fill_volume(count, bowl, lines, inside), count, bowl, pipes, inside)


def flow_needed(engine: EngineFile) -> Band | None:
    """Fuel that must run through tap, filter and line [m^3/s]; None where not known."""
    fuel, machine = engine.fuel, engine.engine
    if fuel is None:
        return None
    if fuel.flow_m3_s is not None:
        return Band(fuel.flow_m3_s, fuel.flow_m3_s)
    if fuel.full_load_hz is None or machine.bore_m is None or machine.stroke_m is None:
        return None
    swept = displacement(machine.bore_m, machine.stroke_m, machine.cylinders)
    return fuelsystem.full_load_demand(swept, fuel.full_load_hz, FULL_LOAD_FILLING, FULL_LOAD_RATIO)


def water_column_m(engine: EngineFile) -> float | None:
    """Height of water that presses on a needle like a full tank [m]; None without the head."""
    if engine.fuel is None or engine.fuel.head_m is None:
        return None
    heaviest = fuelsystem.PETROL_DENSITY.high
    return fuelsystem.height_of_test_column(engine.fuel.head_m, heaviest)


def column_words(engine: EngineFile, height_m: float) -> str:
    """A height of liquid, to the millimetre or the twentieth of an inch."""
    unit = engine.show.unit("length")
    return show(height_m, unit, "length", decimals={"mm": 0, "cm": 1, "in": 1}.get(unit))


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The fuel checks of a machine; without [fuel] only that tap and lines are tight."""
    if not proving.described(engine):
        return ()
    fuel = engine.fuel
    made = [_tank(), _tap(fuel)] if fuel is not None else []
    if fuel is not None and fuel.filter:
        made.append(
            Check(
                FILTER, "", "Fuel filter", "that dirt of the tank stays out of the jets",
                "New or clean, arrow with the flow, away from hot parts.",
                proving.START, cautions=(proving.FUEL,), minutes=4.0, group="fuel",
            )
        )  # fmt: skip
    made.append(
        Check(
            LINES, "", "Tap and lines tight", "that no fuel gets out",
            "Dry first: every line pushed home, clips on, no cracks, no rubbing, away from pipes. "
            "Bend each where it leaves its spigot and look.",
            proving.START, cautions=(proving.FUEL,), minutes=6.0, risk=3, group="fuel",
        )
    )  # fmt: skip
    if fuel is not None:
        for n in range(1, fuel.carburettor_count(engine.engine.cylinders) + 1):
            made += [_float(engine, fuel, n), _needle(engine, fuel, n)]
        made += [_fresh(), _flow(engine)]
    made.append(_drips(engine))
    return tuple(made)


def _tank() -> Check:
    return Check(
        TANK, "", "Tank clean and breathing", "that nothing loose is in it and air gets in",
        "Torch through the filler, battery torch only; no rust, no old sealer lifting; blow "
        "through the vent of the cap.",
        proving.START, cautions=(proving.FUEL,), minutes=5.0, group="fuel",
    )  # fmt: skip


def _tap(fuel: Fuel) -> Check:
    how = {
        "manual": "Off holds, on runs, reserve runs: each into a bottle.",
        "vacuum": "No vacuum: nothing runs. Suck at the vacuum hose by hand pump: it runs. "
        "Prime runs without.",
        "electric": "Without current nothing runs; with current it does.",
        "none": "No tap: a clamp for fuel hose at hand, and where to set it known.",
    }[fuel.tap]
    return Check(
        TAP, "", "Fuel tap in every position", "that it opens, and above all that it closes", how,
        proving.START, cautions=(proving.FUEL, proving.RAG), minutes=6.0, risk=2, group="fuel",
    )  # fmt: skip


def _float(engine: EngineFile, fuel: Fuel, n: int) -> Check:
    wanted = Wanted("yes", prompt="alike on all, as the book measures it")
    if fuel.float_height_m is not None:
        wanted = Wanted("value", "length", *fuel.float_height_m, _SLIDE_GAUGE_M / 1.65)
    return Check(
        FLOAT, f"carb{n}", f"Float height {n}", "that the level in the bowl is right",
        "Bowl off, carburettor tipped until the tang just touches the needle, spring of the "
        "needle not pressed in; measured as the book draws it, gasket on or off.",
        proving.START, cautions=(proving.FUEL,), minutes=8.0, group="fuel", wanted=wanted,
    )  # fmt: skip


def _needle(engine: EngineFile, fuel: Fuel, n: int) -> Check:
    wanted = Wanted("yes", prompt="no drop in ten minutes")
    asked = "no drop in ten minutes"
    if fuel.leak_limit_m3_s is not None:
        most = show(fuel.leak_limit_m3_s, "ml/min", "flow", decimals=2)
        wanted = Wanted("value", "flow", None, fuel.leak_limit_m3_s,
                        prompt="leak, such as '0.3 ml in 10 min'")  # fmt: skip
        asked = f"ten minutes, what comes is caught and measured, at most {most}"
    water = water_column_m(engine)
    column = (
        ""
        if water is None
        else f" Water in place of fuel: {column_words(engine, water)} above "
        "the needle presses as hard; dry it afterwards."
    )
    return Check(
        NEEDLE, f"carb{n}", f"Needle and seat {n}", "that the float stops the fuel",
        f"Float up by hand, fuel on from a bottle as high as the tank: {asked}.{column}",
        proving.START, needs=(FLOAT,), cautions=(proving.FUEL, proving.RAG),
        minutes=12.0, risk=2, group="fuel", wanted=wanted,
    )  # fmt: skip


def _fresh() -> Check:
    return Check(
        FRESH, "", "Fresh fuel", "that it will light at all",
        "From a new can, this season's; old fuel goes to the collection point, not back.",
        proving.START, cautions=(proving.FUEL,), minutes=3.0, group="fuel",
    )  # fmt: skip


def _flow(engine: EngineFile) -> Check:
    need = flow_needed(engine)
    wanted = Wanted("yes", prompt="a steady stream that goes on for a minute")
    least = ""
    if need is not None:
        wanted = Wanted("value", "flow", need.high, None, prompt="such as '240 ml in 1 min'")
        least = f" Full load needs {proving.band_words(engine, need, 'flow')}."
    return Check(
        FLOW, "", "Fuel flow", "that tap, filter and lines pass enough",
        f"Line off at the carburettors, into a measuring bottle, cap shut as ridden, tank nearly "
        f"empty: time it.{least}",
        proving.START, needs=(TAP, FILTER, LINES, "oil flow", "compression"),
        cautions=(proving.FUEL, proving.RAG), minutes=8.0, risk=2, group="fuel", wanted=wanted,
    )  # fmt: skip


def _drips(engine: EngineFile) -> Check:
    fill = fuel_to_fill(engine)
    vanishes = "Bowls, filter and lines drink first."
    if fill is not None:
        unit = "l" if engine.show.unit("volume") == "ml" else engine.show.unit("volume")
        vanishes = (
            f"{proving.band_words(engine, fill.total, 'volume', unit)} vanishes into bowls, "
            "filter and lines: expected, not a leak. More is a leak."
        )
    return Check(
        DRIPS, "", "Rag and drip check", "that nothing drips once everything is full",
        f"Dry rag or paper under every joint and bowl, tap on, ten minutes. {vanishes} Overflow "
        "pipes stay dry too.",
        proving.START, needs=("spark", "oil flow", "compression", LINES, NEEDLE, FLOW),
        cautions=(proving.FUEL, proving.RAG, "A drip found: tap off, air the place, then mend."),
        minutes=15.0, risk=3, group="fuel",
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the fuel system."""
    made = []
    for check in checks(engine, state):
        entry = state.latest(check.name, check.place)
        if entry is None or not answers(check, entry.body):
            continue
        if check.name == FLOW and check.wanted.form == "value":
            made.append(_flow_found(engine, check, entry))
        else:
            simple = simple_finding(engine, check, state)
            made += [simple] if simple is not None else []
    return tuple(made)


def _flow_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    need = flow_needed(engine)
    assert need is not None
    low, high = proving.reading_ends(entry.body)
    state: StateWord = "undecided"
    if low >= need.high:
        state = "good"
    elif high < need.low:
        state = "out"
    text = f"{proving.reading_words(engine, entry.body, 'flow')}; full load needs "
    return proving.finding_from(
        check, entry, state, text + proving.band_words(engine, need, "flow")
    )
