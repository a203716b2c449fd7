"""Oil: in, filtered, primed, flowing while cranking, under pressure, and a switch that says so."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tickover.book.bodies import LooseEndOpened, Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.oil import Oil
from tickover.physics import oilpump
from tickover.physics.bands import Band, as_band
from tickover.physics.lubricant import grade, viscosity_of_grade, viscosity_ratio_of_grade
from tickover.physics.viscosity import kinematic_viscosity, walther_line
from tickover.quantities import show
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, StateWord, Wanted
from tickover.tasks.simple import answers, simple_finding

QUANTITY = "oil quantity"
FILTER = "oil filter"
PRIMED = "oil primed"
FLOW = "oil flow"
PRESSURE = "oil pressure"
SWITCH = "oil switch"
NAMES = (FILTER, QUANTITY, PRIMED, FLOW, PRESSURE, SWITCH)

COUNTED_S = 10.0
"""The time an oil flow is told for [s]."""
EARTHED_BELOW_OHM = 5.0
OPEN_ABOVE_OHM = 1000.0
"""Between these a switch is neither earthed nor open: our choice; a lamp of 3 W on 12 V glows
through a few tens of ohms."""

_ZERO_K = 273.15
_NEAR_K = 10.0  # the book's oil temperature is met within this: our choice
_NEAR_SPEED = 0.1  # and its speed within this share


@dataclass(frozen=True, slots=True)
class ExpectedFlow:
    """Oil to be expected at an open line while cranking, and what it rests on.

    Parameters
    ----------
    volume : Band
        In `COUNTED_S` from a pump in order [m^3]
    most : float
        What the pump can move at all in that time [m^3]
    displacement : Band
        For each turn of the pump [m^3]
    drive_ratio : float
    speed : Band
        Of the crank [1/s]
    viscosity : Band or None
        Of the oil at the temperature told [m^2/s]
    too_cold : bool
        Below the temperature to which the grade promises that oil reaches the pump.
    """

    volume: Band
    most: float
    displacement: Band
    drive_ratio: float
    speed: Band
    viscosity: Band | None
    too_cold: bool


def pump_turn(oil: Oil) -> Band | None:
    """Oil moved for each turn of the pump [m^3]; None where the file does not say."""
    if oil.pump_turn_m3 is not None:
        return as_band(oil.pump_turn_m3)
    pump = oil.pump
    if pump is None or pump.missing():
        return None
    if pump.kind == "gears":
        assert pump.tip_diameter_m
        assert pump.centre_distance_m
        assert pump.width_m
        assert pump.teeth
        return as_band(
            oilpump.gear_pump_displacement(
                pump.tip_diameter_m, pump.centre_distance_m, pump.width_m, pump.teeth,
                math.radians(pump.pressure_angle_deg),
            )
        )  # fmt: skip
    if pump.kind == "rotors":
        assert pump.tip_diameter_m
        assert pump.root_diameter_m
        assert pump.width_m
        assert pump.lobes
        return oilpump.trochoid_pump_displacement(
            pump.tip_diameter_m, pump.root_diameter_m, pump.width_m, pump.lobes
        )
    assert pump.bore_m
    assert pump.stroke_m
    return as_band(oilpump.plunger_pump_displacement(pump.bore_m, pump.stroke_m, pump.plungers))


def viscosity_at(oil: Oil, temperature_k: float) -> Band | None:
    """Kinematic viscosity of the oil at a temperature, by data sheet or grade.

    Parameters
    ----------
    oil : Oil
    temperature_k : float
        [K]

    Returns
    -------
    Band or None
        None without grade and data sheet, and outside 0 to 150 C [m^2/s]
    """
    if not _ZERO_K <= temperature_k <= _ZERO_K + 150.0:
        return None
    at_40, at_100 = oil.viscosity_40_m2_s, oil.viscosity_100_m2_s
    if at_40 is not None and at_100 is not None:
        line = walther_line(_ZERO_K + 40.0, at_40, _ZERO_K + 100.0, at_100)
        return as_band(kinematic_viscosity(temperature_k, line))
    return viscosity_of_grade(grade(oil.grade), temperature_k) if oil.grade else None


def expected_flow(
    engine: EngineFile, speed_hz: Band | float | None = None, temperature_k: float | None = None
) -> ExpectedFlow | None:
    """Oil to be expected in ten seconds of cranking with a line off.

    Parameters
    ----------
    engine : EngineFile
    speed_hz : Band or float or None
        Crank speed; the one of [starter] when left out [1/s]
    temperature_k : float or None
        Of the oil, for its viscosity and for the warning when it is too cold [K]

    Returns
    -------
    ExpectedFlow or None
        None without a pump, its drive ratio or a speed.

    Notes
    -----
    `oilpump.pump_flow`, displacement times pump speed times the share a pump in order delivers.
    """
    oil = engine.oil
    speed = speed_hz if speed_hz is not None else _cranking(engine)
    turn = pump_turn(oil) if oil is not None else None
    if oil is None or turn is None or oil.drive_ratio is None or speed is None:
        return None
    flow = oilpump.pump_flow(turn, oil.drive_ratio, speed)
    most = turn.high * oil.drive_ratio * as_band(speed).high * COUNTED_S
    thick = viscosity_at(oil, temperature_k) if temperature_k is not None else None
    cold = False
    if temperature_k is not None and oil.grade:
        reaches = grade(oil.grade).pumping_temperature
        cold = reaches is not None and temperature_k < reaches
    return ExpectedFlow(flow * COUNTED_S, most, turn, oil.drive_ratio, as_band(speed), thick, cold)


def priming_s(engine: EngineFile) -> Band | None:
    """Cranking time until oil arrives, passages empty [s]; None where it cannot be worked out."""
    expected = expected_flow(engine)
    if engine.oil is None or engine.oil.prime_volume_m3 is None or expected is None:
        return None
    return oilpump.priming_time(
        Band(*engine.oil.prime_volume_m3), expected.volume * (1.0 / COUNTED_S)
    )


def _cranking(engine: EngineFile) -> Band | None:
    starter = engine.starter
    return None if starter is None or starter.cranking_hz is None else Band(*starter.cranking_hz)


def expected_pressure(
    engine: EngineFile, speed_hz: float | None, temperature_k: float | None
) -> Band | None:
    """Oil pressure to be expected at a speed and oil temperature, from the book's figure.

    Parameters
    ----------
    engine : EngineFile
    speed_hz : float or None
        Crank speed [1/s]
    temperature_k : float or None
        Of the oil [K]

    Returns
    -------
    Band or None
        None where the book's figure cannot be carried there: no grade, a figure told with the
        relief valve open, a condition not noted [Pa]

    Notes
    -----
    `oilpump.expected_pressure` with the ratio of viscosities of the same oil at both
    temperatures. At the book's own speed and temperature, within a tenth and 10 K, the book's
    figure itself.
    """
    oil = engine.oil
    if oil is None or oil.pressure_pa is None:
        return None
    book = Band(*oil.pressure_pa)
    at_hz, at_k = oil.pressure_at_hz, oil.pressure_at_k
    if (at_hz is not None and speed_hz is None) or (at_k is not None and temperature_k is None):
        return None
    speed = speed_hz if at_hz is not None and speed_hz is not None else 1.0
    told = at_hz if at_hz is not None else 1.0
    same_oil = at_k is None or temperature_k is None or abs(temperature_k - at_k) <= _NEAR_K
    if same_oil and abs(speed / told - 1.0) <= _NEAR_SPEED:
        return book
    relief = Band(*oil.relief_pa) if oil.relief_pa is not None else None
    thicker: Band | None = Band(1.0, 1.0)
    if at_k is not None and temperature_k is not None:
        thicker = _thicker(oil, temperature_k, at_k)
    if thicker is None or speed <= 0.0 or (relief is not None and book.high >= relief.low):
        return None
    seen = oilpump.PressureReading(book, told, Band(1.0, 1.0))
    return oilpump.expected_pressure(seen, speed, thicker, relief)


def _thicker(oil: Oil, now_k: float, then_k: float) -> Band | None:
    """Viscosity now over then, the same oil at both temperatures; None where not known."""
    now, then = viscosity_at(oil, now_k), viscosity_at(oil, then_k)
    if now is None or then is None:
        return None
    if oil.viscosity_40_m2_s is not None and oil.viscosity_100_m2_s is not None:
        return now / then
    assert oil.grade is not None
    return viscosity_ratio_of_grade(grade(oil.grade), now_k, then_k)


def line_off(engine: EngineFile) -> LooseEndOpened:
    """The loose end that watching the oil flow opens: the line that was taken off.

    To be kept together with the reading; `tickover.tasks.answers.check_entries` does.
    """
    line = engine.oil.flow_line if engine.oil is not None and engine.oil.flow_line else "oil line"
    return LooseEndOpened(f"{line} off for the oil flow check")


def switch_states(engine: EngineFile) -> tuple[tuple[str, bool], ...]:
    """The truth table of the oil switch: ('low', earthed?) and ('full', earthed?).

    An oil level switch that is earthed when low and open when full is usual (common practice, no
    source); a pressure switch likewise, 'full' being pressure. Empty without a switch.
    """
    oil = engine.oil
    if oil is None or oil.switch in (None, "none"):
        return ()
    return ("low", oil.switch_earthed == "low"), ("full", oil.switch_earthed == "full")


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The oil checks of a machine."""
    if not proving.described(engine):
        return ()
    oil = engine.oil
    made = []
    if oil is None or oil.filter:
        made.append(
            Check(
                FILTER, "", "Oil filter new or clean", "that no swarf of the rebuild gets round",
                "New or washed filter, seal oiled, fitted the right way round; turned on by hand "
                "as its maker says.",
                proving.START, minutes=10.0, risk=2, group="oil",
            )
        )  # fmt: skip
    made.append(_quantity(engine))
    made.append(_primed(engine))
    made.append(_flow(engine))
    if oil is not None and oil.pressure_pa is not None:
        made.append(_pressure(engine, oil))
    made += [_switch(engine, place, earthed) for place, earthed in switch_states(engine)]
    return tuple(made)


def _quantity(engine: EngineFile) -> Check:
    limits = engine.oil.quantity_m3 if engine.oil is not None else None
    kind = f" ({engine.oil.grade})" if engine.oil is not None and engine.oil.grade else ""
    wanted = Wanted("yes", prompt="level between the marks, upright, after priming")
    if limits is not None:
        wanted = Wanted("value", "volume", *limits, prompt="oil poured in, all of it")
    return Check(
        QUANTITY, "", f"Oil in{kind}", "that there is oil to pump",
        "Machine upright; pour, wait, read the level; again after priming, as filter and "
        "passages drink.",
        proving.START, needs=(FILTER,), minutes=10.0, risk=3, group="oil", wanted=wanted,
    )  # fmt: skip


def _primed(engine: EngineFile) -> Check:
    wait = priming_s(engine)
    time = "until it does" if wait is None else f"about {wait.low:.0f} to {wait.high:.0f} s in all"
    return Check(
        PRIMED, "", "Oil primed", "that bearings do not start dry",
        "Oil into pump, filter and over the camshafts; plugs out, then crank in short goes, with "
        f"the rests of the start card, until oil arrives at the top end: {time}.",
        proving.START, needs=(QUANTITY,), cautions=(proving.DRY, proving.TURNING),
        minutes=15.0, risk=3, group="oil",
    )  # fmt: skip


def _flow(engine: EngineFile) -> Check:
    oil = engine.oil
    line = oil.flow_line if oil is not None and oil.flow_line else "an oil line at its far end"
    how = (
        f"Plugs out. Take off {line}, hold the end in a measuring glass, crank ten seconds, read. "
        "This opens a loose end: the line is off until you close it."
    )
    wanted = Wanted("yes", prompt="oil comes, in pulses, without air")
    if oil is not None and oil.has_pump:
        expected = expected_flow(engine)
        wanted = Wanted(
            "value", "volume", expected.volume.low if expected else 0.0,
            expected.most if expected else None,
            prompt="oil in ten seconds, such as '85 ml', '70 ml in 8 s at 320 rpm'",
        )  # fmt: skip
    return Check(
        FLOW, "", "Oil flow while cranking", "that the pump draws and delivers", how,
        proving.START, needs=("spark", QUANTITY, PRIMED),
        cautions=(proving.DRY, proving.TURNING, "Oil on the floor is wiped up before the next go."),
        minutes=15.0, risk=3, group="oil", wanted=wanted,
    )  # fmt: skip


def _pressure(engine: EngineFile, oil: Oil) -> Check:
    assert oil.pressure_pa is not None
    told = []
    if oil.pressure_at_hz is not None:
        told.append(show(oil.pressure_at_hz, "rpm", "speed"))
    if oil.pressure_at_k is not None:
        told.append(
            f"oil at {show(oil.pressure_at_k, engine.show.unit('temperature'), 'temperature')}"
        )
    where = f", best at {', '.join(told)}" if told else ""
    return Check(
        PRESSURE, "", "Oil pressure", "that bearings are tight and the relief valve closes",
        f"Gauge at the gallery, engine running{where}; note speed and oil temperature with it: "
        "'3.4 bar at 3000 rpm at 80 C'.",
        proving.RIDING, needs=(FLOW,), cautions=(proving.MONOXIDE, proving.HOT, proving.TURNING),
        minutes=15.0, risk=3, group="oil",
        wanted=Wanted("value", "pressure", *oil.pressure_pa,
                      prompt="pressure, with speed and oil temperature"),
    )  # fmt: skip


def _switch(engine: EngineFile, place: str, earthed: bool) -> Check:
    assert engine.oil is not None
    level = engine.oil.switch == "level"
    there = {
        ("low", True): "oil below the switch, or the switch in the hand hanging as fitted",
        ("full", True): "oil at its mark, or the float lifted by hand",
        ("low", False): "engine standing, no pressure",
        ("full", False): "pressure there: cranking with plugs out, or air on the switch",
    }[(place, level)]
    expect = "earthed" if earthed else "open"
    return Check(
        SWITCH, place, f"Oil switch, {place}: {expect}",
        "that the lamp speaks when it must, and only then",
        f"Wire off the switch, meter from its terminal to the engine, {there}: it must be "
        f"{expect}. Lamp and wire are tried after it, terminal to earth by hand.",
        proving.START, needs=(QUANTITY,) if place == "full" else (),
        cautions=(proving.DRY, proving.TURNING) if "cranking" in there else (),
        minutes=5.0, risk=2, group="oil",
        wanted=Wanted(
            "value", "resistance", None if earthed else OPEN_ABOVE_OHM,
            EARTHED_BELOW_OHM if earthed else None,
            prompt="ohms to the engine, or 'open' when the meter shows none",
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the oil."""
    made = []
    for check in checks(engine, state):
        entry = state.latest(check.name, check.place)
        if entry is None or not answers(check, entry.body):
            continue
        if check.name == FLOW and check.wanted.form == "value":
            made.append(_flow_found(engine, check, entry))
        elif check.name == PRESSURE:
            made.append(_pressure_found(engine, check, entry))
        else:
            simple = simple_finding(engine, check, state)
            made += [simple] if simple is not None else []
    return tuple(made)


def _flow_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    body = entry.body
    text = f"{proving.reading_words(engine, body, 'volume')} in ten seconds"
    expected = expected_flow(
        engine, proving.condition(body, "speed_hz"), proving.condition(body, "temperature_k")
    )
    if expected is None:
        return proving.finding_from(
            check, entry, "undecided", f"{text}; at which speed? '70 ml at 320 rpm'"
        )
    low, high = proving.reading_ends(body)
    told = proving.band_words(engine, expected.volume, "volume")
    if low > expected.most:
        state: StateWord = "undecided"
        text = (
            f"{text}; more than the pump can move at that speed "
            f"({show(expected.most, engine.show.unit('volume'), 'volume')}): time or speed is off"
        )
    else:
        state = proving.judged((low, min(high, max(low, expected.most))), expected.volume.low, None)
        text = f"{text}; expected {told}"
    return proving.finding_from(check, entry, state, text)


def _pressure_found(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    body = entry.body
    text = proving.reading_words(engine, body, "pressure")
    expected = expected_pressure(
        engine, proving.condition(body, "speed_hz"), proving.condition(body, "temperature_k")
    )
    if expected is None:
        return proving.finding_from(
            check, entry, "undecided",
            f"{text}; the book's figure cannot be carried there: read it at the book's speed and "
            "oil temperature, and note both",
        )  # fmt: skip
    state = proving.judged(proving.reading_ends(body), expected.low, expected.high)
    return proving.finding_from(
        check, entry, state, f"{text}; expected {proving.band_words(engine, expected, 'pressure')}"
    )
