"""What turns the engine and what forbids it: battery, earths, stop switch, interlocks."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.starting import Battery, Interlocks
from tickover.physics.charging import charge_left
from tickover.quantities import show
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.simple import simple_finding

AT_REST = "battery at rest"
CRANKING = "cranking voltage"
EARTHS = "earths"
STOP = "stop switch"
INTERLOCKS = "interlocks"
NAMES = (AT_REST, EARTHS, STOP, CRANKING, INTERLOCKS)

THREE_QUARTERS_V = 12.4
"""Six cells at rest with three quarters of charge: US Army TM 5-3805-262-20 [V]."""
CRANKING_V = 9.6
"""Least voltage of six cells while the starter turns: common practice, no source [V]."""
_METER_V = 0.02  # a hand-held meter on its 20 V range: our assumption


@dataclass(frozen=True, slots=True)
class InterlockState:
    """One row of the truth table: the state, in words, and whether the starter may turn."""

    place: str
    starts: bool


def interlock_states(engine: EngineFile) -> tuple[InterlockState, ...]:
    """Every state of neutral, clutch and side stand, with what must happen.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    tuple of InterlockState
        Only switches that are fitted, or that the rule names, make states; empty without any.
        The usual rule, neutral or else clutch in and stand up, is common practice, no source.
    """
    table = engine.interlocks
    if table is None:
        return ()
    rule = table.rule or ""
    asked = {
        "neutral": table.neutral or "neutral" in rule,
        "clutch": table.clutch or "clutch" in rule,
        "stand": table.side_stand or "stand" in rule,
    }
    choices = (
        (True, False) if asked["neutral"] else (False,),
        (True, False) if asked["clutch"] else (False,),
        (True, False) if asked["stand"] else (False,),
    )
    if not any(asked.values()):
        return ()
    return tuple(
        InterlockState(
            _state_words(asked, neutral, clutch, stand), table.allows(neutral, clutch, stand)
        )
        for neutral, clutch, stand in product(*choices)
    )


def _state_words(asked: dict[str, bool], neutral: bool, clutch_in: bool, stand_up: bool) -> str:
    words = []
    if asked["neutral"]:
        words.append("neutral" if neutral else "in gear")
    if asked["clutch"]:
        words.append("clutch in" if clutch_in else "clutch out")
    if asked["stand"]:
        words.append("stand up" if stand_up else "stand down")
    return ", ".join(words)


def least_at_rest_v(battery: Battery) -> float:
    """Least voltage at rest [V]."""
    if battery.at_rest_v is not None:
        return battery.at_rest_v
    return THREE_QUARTERS_V * battery.volts_v / 12.0


def least_cranking_v(battery: Battery) -> float:
    """Least voltage while the starter turns [V]."""
    if battery.cranking_v is not None:
        return battery.cranking_v
    return CRANKING_V * battery.volts_v / 12.0


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The checks of battery, earths, stop switch and interlocks."""
    if not proving.described(engine):
        return ()
    made = []
    electric = engine.starter is None or engine.starter.electric
    if engine.battery is not None or electric:
        made.append(_at_rest(engine.battery))
    made.append(_earths(engine.battery, electric))
    if engine.interlocks is None or engine.interlocks.stop_switch:
        made += _stop(engine.interlocks)
    if engine.battery is not None and electric:
        made.append(_cranking(engine.battery))
    turns = "starter" if electric else "spark"
    made += [_interlock(row, turns) for row in interlock_states(engine)]
    return tuple(made)


def _at_rest(battery: Battery | None) -> Check:
    wanted = Wanted("yes", prompt="rested, and at its voltage")
    if battery is not None:
        wanted = Wanted("value", "voltage", least_at_rest_v(battery), None, _METER_V / 1.65)
    return Check(
        AT_REST, "", "Battery at rest", "that it holds a charge",
        "Some hours after charging, or lights on for 15 seconds and three minutes of rest; meter "
        "on the posts, nothing switched on.",
        proving.START, cautions=(proving.GAS,), minutes=5.0, group="electrics", wanted=wanted,
    )  # fmt: skip


def _cranking(battery: Battery) -> Check:
    return Check(
        CRANKING, "", "Cranking voltage", "that battery, cables and starter can do their work",
        "Meter on the posts themselves, plugs in, leads earthed, tap off; crank three seconds and "
        "read the lowest.",
        proving.START, needs=(AT_REST, EARTHS, "oil primed"),
        cautions=(proving.GAS, proving.LEADS, proving.TURNING),
        minutes=5.0, group="electrics",
        wanted=Wanted("value", "voltage", least_cranking_v(battery), None, _METER_V / 1.65),
    )  # fmt: skip


def _earths(battery: Battery | None, electric: bool) -> Check:
    wanted = Wanted("yes", prompt="bright, tight, no drop")
    how = "Bright metal, tight, greased: battery to frame, engine to frame, headstock."
    if battery is not None and electric:
        wanted = Wanted("value", "voltage", None, battery.earth_drop_v,
                        prompt="volts from crankcase to battery minus, cranking")  # fmt: skip
        how += " Meter from bare crankcase to the battery's minus post while cranking."
    return Check(
        EARTHS, "", "Earths", "that the current gets back", how,
        proving.START, needs=(AT_REST,), cautions=(proving.GAS, proving.DRY),
        minutes=6.0, group="electrics", wanted=wanted,
    )  # fmt: skip


def _stop(table: Interlocks | None) -> list[Check]:
    rows = (("run", "there is spark"), ("off", "there is none, and nothing starts"))
    return [
        Check(
            STOP, place, f"Stop switch at {place}: {must}",
            "that the engine can be stopped, and is not stopped by accident",
            f"Switch to {place}, key on, plug on its lead held to bare metal, crank: {must}.",
            proving.START, cautions=(proving.DRY, proving.LEADS), minutes=2.0,
            risk=3 if place == "off" else 1, group="electrics",
            wanted=Wanted("yes", prompt=must),
        )
        for place, must in rows
    ]  # fmt: skip


def _interlock(row: InterlockState, turns: str) -> Check:
    does = {
        ("starter", True): "starter turns", ("starter", False): "starter stays still",
        ("spark", True): "there is spark", ("spark", False): "there is no spark",
    }[(turns, row.starts)]  # fmt: skip
    return Check(
        INTERLOCKS, row.place, f"{row.place.capitalize()}: {does}",
        "that it starts when it may and only then",
        f"Rear wheel off the ground, front wheel held: {row.place}; press the button for a moment: "
        f"{does}.",
        proving.START, needs=(AT_REST,),
        cautions=("In gear the rear wheel turns: off the ground, nobody behind, brake at hand.",
                  proving.DRY),
        minutes=1.5, risk=2, group="electrics", wanted=Wanted("yes", prompt=does),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of battery, earths, switches."""
    made = []
    for check in checks(engine, state):
        entry = state.latest(check.name, check.place)
        simple = simple_finding(engine, check, state)
        if entry is None or simple is None:
            continue
        if check.name == AT_REST and engine.battery is not None:
            text = f"{simple.text}{_charge_words(engine.battery, entry)}"
            simple = proving.finding_from(check, entry, simple.state, text)
        made.append(simple)
    return tuple(made)


def _charge_words(battery: Battery, entry: Entry[Reading]) -> str:
    low, high = proving.reading_ends(entry.body)
    cells = round(battery.volts_v / 2.0)
    if not 0.0 <= low <= high <= 2.6 * cells:
        return f"; no lead-acid battery of {show(battery.volts_v, 'V', 'voltage')} rests there"
    warm = proving.condition(entry.body, "temperature_k")
    if warm is not None and not 233.15 <= warm <= 353.15:
        warm = None
    share = charge_left(low, cells, _METER_V, warm).hull(charge_left(high, cells, _METER_V, warm))
    return f"; {100 * share.low:.0f} to {100 * share.high:.0f} % charged by the tables"
