"""From what somebody typed for a check to the entries to keep: the one way every face takes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from tickover.book.bodies import Body, Reading
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError
from tickover.physics.ignition import dwell_from_percent
from tickover.quantities import kind_of, parse
from tickover.tasks import (
    charging,
    controls,
    exhaust,
    fuel,
    ignition,
    oil,
    own,
    speed,
    starting,
)
from tickover.tasks.finding import Check
from tickover.tasks.scratch import scratch_state
from tickover.tasks.simple import beside, simple_reading
from tickover.tasks.wiring import in_book as wiring

TASKS = (controls, wiring, starting, ignition, oil, exhaust, fuel, speed, charging, own)
"""The tasks whose checks are answered by a yes or a reading, in the order of the work."""

_PER_TIME = re.compile(r"(?<![a-z])(?:ml|cc|cm3|l|litres?)\s+in\b", re.IGNORECASE)


def proving_checks(engine: EngineFile) -> tuple[Check, ...]:
    """Every check of the tasks above, as the engine file alone gives them."""
    return tuple(check for task in TASKS for check in task.checks(engine, State()))


def check_reading(engine: EngineFile, check: Check, typed: str, instrument: str = "") -> Reading:
    """The reading somebody typed for a check.

    Parameters
    ----------
    engine : EngineFile
    check : Check
    typed : str
        As `simple_reading`; for the lead order also '1-3-4-2', for static timing '1.8 mm drop'
        or '10 mm arc', for dwell '51 %', for flows '70 ml in 8 s'.
    instrument : str

    Raises
    ------
    InputError
        As `simple_reading`; says what to write.
    """
    if check.name == ignition.LEADS and ignition.lead_numbers(engine, typed) is not None:
        return ignition.lead_reading(engine, typed, instrument)
    wants = check.wanted
    if check.name in (*charging.NAMES, *charging.BATTERY):
        return charging.charging_reading(engine, check, typed, instrument)
    if wants.form != "value":
        return simple_reading(engine, check, typed, instrument)
    if check.name == ignition.STATIC and not _is_range(typed):
        return _angle(
            engine, check, typed, instrument, ignition.timing_degrees(engine, typed, check.title)
        )
    if check.name == ignition.DWELL and "%" in typed and engine.ignition is not None:
        share = parse(typed, "percent", "%", check.title).value_si
        lobes = engine.ignition.breaker_lobes
        return _angle(engine, check, typed, instrument, dwell_from_percent(100.0 * share, lobes))
    if wants.quantity == "flow" and _PER_TIME.search(typed):
        return _caught(engine, check, typed, instrument)
    reading = simple_reading(engine, check, typed, instrument)
    if check.name == oil.FLOW:
        return _scaled(reading, oil.COUNTED_S)
    return reading


def check_entries(
    engine: EngineFile, state: State, check: Check, typed: str, instrument: str = ""
) -> tuple[Body, ...]:
    """The entries to keep for an answer: the reading, and the loose end it opens by itself.

    Watching the oil flow takes a line off: that opens a loose end, unless one of these words is
    open already.
    """
    reading = check_reading(engine, check, typed, instrument)
    if check.name != oil.FLOW:
        return (reading,)
    end = oil.line_off(engine)
    already = any(each.opened.body.label == end.label for each in state.open_loose_ends)
    return (reading,) if already else (reading, end)


def answers_state(engine: EngineFile, lines: Iterable[str]) -> State:
    """The state that answers alone make, for a machine without a book.

    Parameters
    ----------
    engine : EngineFile
    lines : iterable of str
        'spark plug1 yes', 'oil flow 70 ml in 8 s at 320 rpm'.

    Returns
    -------
    State
        Its entries bear no time: nothing of it is ever kept.

    Raises
    ------
    InputError
        As `find_check` and `check_reading`.
    """
    every = proving_checks(engine)
    return scratch_state(check_reading(engine, *find_check(every, line)) for line in lines)


def find_check(checks: Iterable[Check], text: str) -> tuple[Check, str]:
    """The check somebody means, and what he answers.

    Parameters
    ----------
    checks : iterable of Check
    text : str
        Name, place where there are several, answer: 'spark plug1 yes', 'coil primary 1 4.2 ohm'.
        For the place its number does, where that is enough.

    Returns
    -------
    (Check, str)
        The answer may be empty.

    Raises
    ------
    InputError
        No such check or place; says which there are.
    """
    every = tuple(checks)
    squeezed = " ".join(text.replace('"', "").replace("'", "").split())
    names = sorted({check.name for check in every}, key=len, reverse=True)
    name = next((n for n in names if _begins(squeezed, n)), None)
    if name is None:
        near = nearest_word(squeezed.casefold(), names) if squeezed else None
        raise InputError("There is no such check", given=text, allowed=", ".join(sorted(names)),
                         instead=near or "")  # fmt: skip
    there = [check for check in every if check.name == name]
    rest = squeezed[len(name) :].strip(" :=,")
    places = sorted((check.place for check in there), key=len, reverse=True)
    if places == [""]:
        return there[0], rest
    for check in sorted(there, key=lambda each: -len(each.place)):
        if check.place and _begins(_plain(rest), _plain(check.place)):
            return check, _after(rest, check.place)
    number = re.match(r"(\d+)\b(?!\s*rpm)", rest)
    numbered = [
        c for c in there if number and re.fullmatch(rf"[a-z]+{number[1]}|{number[1]} rpm", c.place)
    ]
    if number and len(numbered) == 1:
        return numbered[0], rest[number.end() :].strip(" :=,")
    whole = [check for check in there if not check.place]
    if whole:
        return whole[0], rest
    raise InputError(
        f"'{name}' stands at several places: say which", given=rest or text,
        allowed="; ".join(check.place for check in there),
        instead=f"'{name} {there[0].place} ...'",
    )  # fmt: skip


def example_of(check: Check) -> str:
    """What somebody could write for a check: 'coil primary coil1 4.2 ohm at 20 C'."""
    if check.wanted.form == "yes":
        answer = "yes"
    elif check.name in (ignition.COIL_PRIMARY, ignition.COIL_SECONDARY):
        answer = "4.2 ohm at 20 C"
    else:
        answer = kind_of(check.wanted.quantity).write.split("'")[1] if check.wanted.quantity else ""
    return " ".join(part for part in (check.name, check.place, answer) if part)


def _begins(text: str, words: str) -> bool:
    folded, start = text.casefold(), words.casefold()
    return folded == start or folded.startswith((f"{start} ", f"{start}:", f"{start},"))


def _plain(text: str) -> str:
    return " ".join(text.replace(",", " ").split())


def _after(rest: str, place: str) -> str:
    """What follows a place, whose commas may have been left out."""
    pattern = r"[,\s]+".join(re.escape(word) for word in _plain(place).split())
    return re.sub(rf"^{pattern}[\s:=,]*", "", rest, flags=re.IGNORECASE)


def _is_range(typed: str) -> bool:
    return any(sign in typed for sign in ("..", " to ", "±")) or bool(
        re.search(r"\d\s*-\s*\d", typed)
    )


def _angle(
    engine: EngineFile, check: Check, typed: str, instrument: str, degrees: float
) -> Reading:
    return Reading(check.name, check.place, degrees, degrees, "deg", typed.strip(), instrument)


def _caught(engine: EngineFile, check: Check, typed: str, instrument: str) -> Reading:
    """A volume caught in a time, as a flow."""
    value, conditions = beside(typed)
    seconds = conditions.pop("duration_s", 0.0)
    if seconds <= 0.0:
        raise InputError("A flow needs the time it was caught in", given=typed,
                         instead="'240 ml in 1 min', or '240 ml/min'")  # fmt: skip
    caught = parse(value, "volume", engine.show.unit("volume"), check.title).value_si
    flow = caught / seconds
    return Reading(
        check.name, check.place, flow, flow, "m3/s", typed.strip(), instrument, conditions
    )


def _scaled(reading: Reading, seconds: float) -> Reading:
    """A volume caught in another time, brought to this one."""
    took = reading.conditions.get("duration_s")
    if took is None or reading.unit != "m3":
        return reading
    if not isinstance(took, (int, float)) or took <= 0.0:
        raise InputError("The time must be more than nothing", given=reading.typed,
                         instead="'70 ml in 8 s'")  # fmt: skip
    share = seconds / float(took)
    low = None if reading.low is None else reading.low * share
    high = None if reading.high is None else reading.high * share
    return replace(reading, low=low, high=high)


def names_of(checks: Sequence[Check]) -> tuple[str, ...]:
    """The names of checks, each once, in their order."""
    return tuple(dict.fromkeys(check.name for check in checks))
