"""What the readings of charging say, one by one: windows, temperature, leads taken off."""

from __future__ import annotations

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.decide.intervals import judge
from tickover.engine import EngineFile
from tickover.engine.tables.charging import Charging
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.charging import standing_time
from tickover.physics.winding import resistance_at_20
from tickover.quantities import show
from tickover.tasks.charging import names
from tickover.tasks.charging.checks import checks
from tickover.tasks.charging.contacts import CONTACTS, switch_findings
from tickover.tasks.charging.senders import RESISTANCE, sender_findings
from tickover.tasks.charging.symmetry import Evenness, evenness
from tickover.tasks.finding import Check, Finding, StateWord
from tickover.tasks.proving import condition, reading_ends
from tickover.tasks.simple import answers, simple_finding

_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}
_OPEN_OHM = 1e3  # a winding of an alternator has a hundredth of this
_WINDING_METER_OHM = 0.02
_AC_METER_V = 0.3


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of charging, switches and senders."""
    made: list[Finding] = []
    table = engine.charging
    for check in checks(engine, state):
        entry = state.latest(check.name, check.place)
        if entry is None or not answers(check, entry.body):
            continue
        if check.name in (CONTACTS, RESISTANCE) or table is None:
            continue
        found = _one(engine, table, check, entry, state)
        if found is not None:
            made.append(found)
    return (*made, *switch_findings(engine, state), *sender_findings(engine, state))


def _one(
    engine: EngineFile, table: Charging, check: Check, entry: Entry[Reading], state: State
) -> Finding | None:
    if check.name == names.CHARGE:
        return _charge(engine, check, entry)
    if check.name in (names.WINDING, names.FIELD):
        return _winding(table, check, entry, state)
    if check.name == names.VOLTS:
        return _volts(table, check, entry, state)
    found = simple_finding(engine, check, state)
    if check.name == names.DRAIN and found is not None:
        return Finding(found.name, found.place, found.state,
                       f"{_drain_words(entry.body)} ({_most_drain(engine)})"
                       f"{_stands(engine, entry.body)}", found.proof)  # fmt: skip
    return found


def _charge(engine: EngineFile, check: Check, entry: Entry[Reading]) -> Finding:
    table = engine.charging or Charging()
    body = entry.body
    warm = condition(body, "temperature_k")
    inner, outer = names.regulator_window(engine, warm)
    low, high = reading_ends(body)
    low, high = low - names.METER_V, high + names.METER_V
    charges = (names.place_speed(check.place) or 0.0) >= table.charges_from_hz
    floor = -1e9 if not charges else 0.0
    strict = judge(low, high, inner.low + floor, inner.high)
    loose = judge(low, high, outer.low + floor, outer.high)
    word = strict if strict == "in" else loose if loose == "out" else "undecided"
    text = show(body.low or 0.0, "V", "voltage")
    if body.low != body.high:
        text = f"{show(body.low or 0.0, 'V', 'voltage', with_unit=False)} to " \
               f"{show(body.high or 0.0, 'V', 'voltage')}"  # fmt: skip
    limits = f"{outer.low:.2f} to {outer.high:.2f} V" if charges else f"at most {outer.high:.2f} V"
    if warm is not None:
        limits += f" at {show(warm, 'C', 'temperature')}"
    if not table.regulator_v:
        limits += ", common practice"
    if inner != outer and word == "undecided":
        limits += "; whether the regulator follows temperature is not said"
    return Finding(check.name, check.place, _STATES[word], f"{text} ({limits})", entry.number)


def lead_resistance(state: State) -> Band | None:
    """What the meter reads by itself, by the latest reading of its leads [ohm]; None unread."""
    entry = state.latest(names.LEADS, "")
    if entry is None or entry.body.unit != "ohm":
        return None
    low, high = reading_ends(entry.body)
    return Band(low, high)


def winding_at_20(body: Reading, leads: Band | None) -> Band:
    """A reading of a winding, leads taken off, at 20 C.

    Parameters
    ----------
    body : Reading
        [ohm]
    leads : Band or None
        What the meter reads by itself; None: anything from nothing to 0.5 ohm

    Returns
    -------
    Band
        [ohm]
    """
    off = leads if leads is not None else Band(0.0, names.LEADS_OHM)
    low, high = reading_ends(body)
    warm = condition(body, "temperature_k")
    low, high = max(0.0, low - off.high), max(0.0, high - off.low)
    if warm is not None and high < _OPEN_OHM:
        return Band(resistance_at_20(low, warm), resistance_at_20(high, warm))
    # Without a temperature the winding may be anywhere from a cold shed to a warm engine.
    if warm is None and high < _OPEN_OHM:
        return Band(resistance_at_20(low, 313.15), resistance_at_20(high, 278.15))
    return Band(low, high)


def _winding(table: Charging, check: Check, entry: Entry[Reading], state: State) -> Finding:
    leads = lead_resistance(state)
    at_20 = winding_at_20(entry.body, leads)
    if at_20.low >= _OPEN_OHM:
        return Finding(check.name, check.place, "out", "open: no path", entry.number)
    limits = table.winding_ohm if check.name == names.WINDING else table.field_ohm
    ends_at_20 = (f"{at_20.low:.2f}", f"{at_20.high:.2f}")
    span = f"{' to '.join(dict.fromkeys(ends_at_20))} ohm at 20 C"
    words = [span, "leads taken off" if leads is not None else "leads not read: 0 to 0.5 ohm of it"]
    if condition(entry.body, "temperature_k") is None:
        words.append("winding anywhere from 5 to 40 C")
    word: StateWord = "undecided"
    if limits is not None:
        word = _STATES[judge(at_20.low - _WINDING_METER_OHM, at_20.high + _WINDING_METER_OHM,
                             *limits)]  # fmt: skip
        words.append(f"{limits[0]:g} to {limits[1]:g} ohm wanted")
    else:
        words.append("no limit in the engine file")
    even = evenness_of(table, state, names.WINDING)
    if even is not None and even.state == "out" and word != "out":
        word = "undecided"
        words.append(even.words)
    elif limits is None and even is not None and even.state == "good":
        word = "good"
        words.append("the three alike")
    return Finding(check.name, check.place, word, "; ".join(words), entry.number)


def _volts(table: Charging, check: Check, entry: Entry[Reading], state: State) -> Finding:
    body = entry.body
    low, high = reading_ends(body)
    speed = condition(body, "speed_hz")
    words = [f"{low:.1f} V" if low == high else f"{low:.1f} to {high:.1f} V"]
    word: StateWord = "undecided"
    if table.ac_volts_v is not None and table.ac_speed_hz is not None:
        if speed is None:
            words.append("speed not noted: the voltage goes with it")
        else:
            share = speed / table.ac_speed_hz
            wanted = Band(*table.ac_volts_v) * share
            word = _STATES[judge(low - _AC_METER_V, high + _AC_METER_V, wanted.low, wanted.high)]
            words.append(f"{wanted.low:.0f} to {wanted.high:.0f} V wanted at {60 * speed:.0f} rpm")
    else:
        words.append("no limit in the engine file")
    even = evenness_of(table, state, names.VOLTS)
    if even is not None:
        if even.state == "out" and word != "out":
            word = "undecided" if _sound(check.place, table, state) else "out"
        elif even.state == "good" and table.ac_volts_v is None:
            word = "good"
        words.append(even.words)
    return Finding(check.name, check.place, word, "; ".join(words), entry.number)


def _sound(place: str, table: Charging, state: State) -> bool:
    """Whether this pair is the highest of the three: the others are the low ones."""
    values = phase_values(table, state, names.VOLTS)
    if values is None:
        return True
    return values[names.winding_pairs(table).index(place)] == max(values)


def phase_values(table: Charging, state: State, name: str) -> tuple[float, float, float] | None:
    """The middles of the three pairs, brought to one speed or to 20 C; None until all are read.

    An open pair counts as 1 Mohm.
    """
    if table.phases != 3:
        return None
    made = []
    leads = lead_resistance(state)
    for place in names.winding_pairs(table):
        entry = state.latest(name, place)
        if entry is None or entry.body.low is None:
            return None
        body = entry.body
        if name == names.WINDING:
            at_20 = winding_at_20(body, leads)
            made.append(1e6 if at_20.low >= _OPEN_OHM or at_20.high == float("inf")
                        else at_20.middle)  # fmt: skip
        else:
            low, high = reading_ends(body)
            speed = condition(body, "speed_hz")
            made.append(0.5 * (low + high) * (50.0 / speed if speed else 1.0))
    if name == names.VOLTS:
        noted = [condition(e.body, "speed_hz") is not None
                 for p in names.winding_pairs(table) if (e := state.latest(name, p))]  # fmt: skip
        if any(noted) and not all(noted):
            return None
    return made[0], made[1], made[2]


def open_wire(table: Charging, state: State) -> str:
    """Which wire of a star is open by its two open pairs; '' where none is."""
    values = phase_values(table, state, names.WINDING)
    if values is None or table.connection != "star":
        return ""
    opened = [value >= _OPEN_OHM for value in values]
    if sum(opened) == 3:
        return "all three open: the plug or the probes first, then the star point"
    if sum(opened) != 2:
        return ""
    # The wire that both open pairs share stands opposite the sound one.
    wire = {0: 3, 1: 1, 2: 2}[opened.index(False)]
    return f"wire {wire} is open: both its pairs are, the third is not"


def evenness_of(table: Charging, state: State, name: str) -> Evenness | None:
    """How even the three pairs are; None until all three are read."""
    values = phase_values(table, state, name)
    if values is None or max(values) <= 0.0 or (name == names.WINDING and max(values) >= _OPEN_OHM):
        return None
    meter = _WINDING_METER_OHM if name == names.WINDING else _AC_METER_V
    try:
        return evenness(values, table, meter, "ohm" if name == names.WINDING else "volts")
    except InputError:  # all nothing: no pair can be the odd one
        return None


def _drain_words(body: Reading) -> str:
    low, high = reading_ends(body)
    unit = "mA" if high < 1.0 else "A"
    if low == high:
        return show(low, unit, "current")
    return f"{show(low, unit, 'current', with_unit=False)} to {show(high, unit, 'current')}"


def _most_drain(engine: EngineFile) -> str:
    most = f"at most {show(names.drain_limit_a(engine), 'mA', 'current')}"
    table = engine.charging
    if table is not None and table.drain_a is None:
        most += f", half the charge in {names.STANDS_DAYS:.0f} days"
    return most


def _stands(engine: EngineFile, body: Reading) -> str:
    low, high = reading_ends(body)
    if high <= 0.0:
        return ""
    capacity = names.capacity_ah(engine) * 3600.0
    days = standing_time(capacity, Band(low, high))
    said = f"{days.low / 86400.0:.0f}"
    if days.high != days.low and days.high != float("inf"):
        said += f" to {days.high / 86400.0:.0f}"
    assumed = "" if engine.battery and engine.battery.capacity_ah else ", 10 Ah assumed"
    return f"; full to half in {said} days{assumed}, its own discharge on top"
