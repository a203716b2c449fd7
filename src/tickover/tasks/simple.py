"""Checks that ask for a yes or for one value: what the latest reading says of them."""

from __future__ import annotations

import math
import re

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.decide.intervals import judge, probability_inside
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import (
    kind_of,
    parse,
    parse_range,
    places_read,
    show,
    show_range,
    show_reading,
    shown_unit,
    to_unit,
)
from tickover.tasks.finding import Check, Finding, StateWord

_YES = {"yes": 1.0, "y": 1.0, "good": 1.0, "done": 1.0, "no": 0.0, "n": 0.0, "bad": 0.0}
_NO_PATH = ("open", "ol", "o.l", "o.l.", "no path", "infinite")
_NO_PATH_ABOVE_OHM = 2000.0  # the least range on which a meter shows no path: our assumption
_BESIDE = re.compile(r"(?:^|\s)(?:at|in|@)\s*(?=[-+]?[\d.,]*\d)", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*(?:,\s|\band\b|\bat\b|\bin\b|@)\s*", re.IGNORECASE)
_CONDITIONS = (("temperature", "temperature_k"), ("speed", "speed_hz"), ("time", "duration_s"))
_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}

DONE_RIGHT = "done and found right"
"""What is found where a yes is asked for and given."""


def simple_reading(engine: EngineFile, check: Check, typed: str, instrument: str = "") -> Reading:
    """The reading somebody typed for a check that wants a yes or a value.

    Parameters
    ----------
    engine : EngineFile
    check : Check
    typed : str
        'yes', 'no', or a value or range in any unit of the kind; a bare number is taken in the
        unit the build shows. What was noted beside it may follow: 'at 35 C', 'at 3000 rpm',
        'in 10 s'. For ohms also 'open': the meter shows no path.
    instrument : str

    Raises
    ------
    InputError
        Empty, not a yes or no, not a number, a foreign unit, or a yes where a value is wanted.
    """
    wanted = check.wanted
    if wanted.form == "yes":
        answer = _YES.get(typed.strip().casefold())
        if answer is None:
            raise InputError(
                f"'{check.title}' is answered with yes or no", given=typed,
                allowed="yes (done and found right) or no (found wrong)",
            )  # fmt: skip
        return Reading(check.name, check.place, answer, answer, "yes", typed.strip(), instrument)
    if wanted.form == "page":
        raise InputError(f"'{check.title}' has a page of its own", allowed=wanted.page)
    if typed.strip().casefold() in _YES:
        raise InputError(
            f"'{check.title}' is good only by its reading", given=typed,
            allowed=limit_words(engine, check), instead=kind_of(wanted.quantity).write,
        )  # fmt: skip
    unit = engine.show.unit(wanted.quantity)
    value, conditions = beside(typed)
    low: float | None
    high: float | None
    if wanted.quantity == "resistance" and value.casefold() in _NO_PATH:
        # The range picked for these limits reaches at least to twice the upper one.
        low, high = max(_NO_PATH_ABOVE_OHM, 2.0 * (wanted.high or 0.0)), None
    elif any(sign in value for sign in ("..", "-", "to", "±")) and not value.startswith("-"):
        span = parse_range(value, wanted.quantity, unit, check.title)
        low, high = span.low_si, span.high_si
    else:
        low = high = parse(value, wanted.quantity, unit, check.title).value_si
    return Reading(
        check.name, check.place, low, high, kind_of(wanted.quantity).si, typed.strip(), instrument,
        conditions,
    )  # fmt: skip


def beside(typed: str) -> tuple[str, dict[str, float]]:
    """A value, and what was noted beside it: temperature, speed, time.

    Parameters
    ----------
    typed : str
        '4.4 ohm at 35 C', '3.4 bar at 3000 rpm at 80 C', '70 ml in 8 s'.

    Returns
    -------
    (str, dict)
        The value as typed, and 'temperature_k' [K], 'speed_hz' [1/s], 'duration_s' [s].

    Raises
    ------
    InputError
        If what stands beside is none of these.

    Examples
    --------
    >>> beside("70 ml in 8 s")
    ('70 ml', {'duration_s': 8.0})
    >>> beside("2.4 in")
    ('2.4 in', {})
    """
    text = " ".join(typed.split())
    split = _BESIDE.search(text)
    if split is None:
        return text, {}
    found: dict[str, float] = {}
    for piece in _BETWEEN.split(text[split.end() :]):
        if not piece.strip():
            continue
        name, value = _condition(piece.strip())
        found[name] = value
    return text[: split.start()].strip(), found


def _condition(piece: str) -> tuple[str, float]:
    for kind, name in _CONDITIONS:
        try:
            return name, parse(piece, kind).value_si
        except InputError:
            continue  # another kind, or none of them: said below
    raise InputError("This is no condition of a reading", given=piece,
                     allowed="a temperature, a speed or a time, with its unit",
                     instead="'at 35 C', 'at 3000 rpm' or 'in 10 s'")  # fmt: skip


def answers(check: Check, body: Reading) -> bool:
    """Whether a reading was taken for what this check asks now.

    A yes kept before the engine file gave limits is no voltage, and the other way round.
    """
    if check.wanted.form == "yes":
        return body.unit == "yes"
    return check.wanted.form != "value" or body.unit == kind_of(check.wanted.quantity).si


def simple_finding(engine: EngineFile, check: Check, state: State) -> Finding | None:
    """What the latest reading says of a check that wants a yes or a value; None without one."""
    entry = state.latest(check.name, check.place)
    if entry is None or not answers(check, entry.body):
        return None
    body = entry.body
    wanted = check.wanted
    if wanted.form == "yes":
        right = body.low == 1.0 and body.high == 1.0
        word: StateWord = "good" if right else "out"
        text = DONE_RIGHT if right else "found wrong"
        return Finding(check.name, check.place, word, text, entry.number)
    low = float("-inf") if wanted.low is None else wanted.low
    high = float("inf") if wanted.high is None else wanted.high
    seen_low = low_or(body.low, float("-inf"))
    seen_high = low_or(body.high, float("inf"))
    half = 1.65 * wanted.spread
    judged = judge(seen_low - half, seen_high + half, low, high)
    unit = engine.show.unit(wanted.quantity)
    text = show_reading(body.low, body.high, body.typed, unit, wanted.quantity)
    as_typed = places_read(body.typed, unit, wanted.quantity) is not None
    if body.low is not None and body.low == body.high and not as_typed:
        text = _fine(body.low, unit, wanted.quantity)
    limits = limit_words(engine, check)
    chance = None
    if seen_low > float("-inf") and seen_high < float("inf"):
        chance = float(probability_inside(low, high, seen_low, seen_high, wanted.spread))
    return Finding(
        check.name, check.place, _STATES[judged],
        f"{text} ({limits})" if limits else text, entry.number, chance,
    )  # fmt: skip


def low_or(value: float | None, otherwise: float) -> float:
    """The value, or what stands for an open end."""
    return otherwise if value is None else value


def limit_words(engine: EngineFile, check: Check) -> str:
    """The limits of a value check in words: '4.0 to 4.6 Ω', 'at least 9.6 V'."""
    wanted = check.wanted
    if wanted.form != "value" or (wanted.low is None and wanted.high is None):
        return ""
    unit = engine.show.unit(wanted.quantity)
    if wanted.low is None and wanted.high is not None:
        return f"at most {_fine(wanted.high, unit, wanted.quantity)}"
    if wanted.high is None and wanted.low is not None:
        return f"at least {_fine(wanted.low, unit, wanted.quantity)}"
    return show_range(wanted.low, wanted.high, unit, wanted.quantity)


def _fine(value_si: float, unit: str, kind: str) -> str:
    """A value with the unit's usual decimals, or more where they would hide most of it."""
    unit = shown_unit(unit, value_si)
    number = abs(to_unit(value_si, unit, kind))
    if number == 0.0 or number >= 1.0:
        return show(value_si, unit, kind)
    usual = show(value_si, unit, kind, with_unit=False)
    if abs(float(usual) - to_unit(value_si, unit, kind)) <= 0.02 * number:
        return show(value_si, unit, kind)
    return show(value_si, unit, kind, decimals=1 - math.floor(math.log10(number)))
