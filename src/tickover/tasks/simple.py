"""Checks that ask for a yes or for one value: what the latest reading says of them."""

from __future__ import annotations

from typing import cast

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.decide.intervals import judge, probability_inside
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import kind_of, parse, parse_range, show, show_range
from tickover.tasks.finding import Check, Finding, StateWord

_YES = {"yes": 1.0, "y": 1.0, "good": 1.0, "done": 1.0, "no": 0.0, "n": 0.0, "bad": 0.0}
_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}


def simple_reading(engine: EngineFile, check: Check, typed: str, instrument: str = "") -> Reading:
    """The reading somebody typed for a check that wants a yes or a value.

    Parameters
    ----------
    engine : EngineFile
    check : Check
    typed : str
        'yes', 'no', or a value or range in any unit of the kind; a bare number is taken in the
        unit the build shows.
    instrument : str

    Raises
    ------
    InputError
        Empty, not a yes or no, not a number, a foreign unit.
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
    unit = engine.show.unit(wanted.quantity)
    if any(sign in typed for sign in ("..", "-", "to", "±")) and not typed.strip().startswith("-"):
        span = parse_range(typed, wanted.quantity, unit, check.title)
        low, high = span.low_si, span.high_si
    else:
        value = parse(typed, wanted.quantity, unit, check.title)
        low = high = value.value_si
    return Reading(
        check.name, check.place, low, high, kind_of(wanted.quantity).si, typed.strip(), instrument
    )


def simple_finding(engine: EngineFile, check: Check, state: State) -> Finding | None:
    """What the latest reading says of a check that wants a yes or a value; None without one."""
    entry = state.latest(check.name, check.place)
    if entry is None:
        return None
    body = entry.body
    wanted = check.wanted
    if wanted.form == "yes":
        right = body.low == 1.0 and body.high == 1.0
        word: StateWord = "good" if right else "out"
        text = "done and found right" if right else "found wrong"
        return Finding(check.name, check.place, word, text, entry.number)
    low = float("-inf") if wanted.low is None else wanted.low
    high = float("inf") if wanted.high is None else wanted.high
    seen_low = low_or(body.low, float("-inf"))
    seen_high = low_or(body.high, float("inf"))
    half = 1.65 * wanted.spread
    judged = judge(seen_low - half, seen_high + half, low, high)
    unit = engine.show.unit(wanted.quantity)
    text = show_range(body.low, body.high, unit, wanted.quantity)
    limits = limit_words(engine, check)
    chance = None
    if seen_low > float("-inf") and seen_high < float("inf"):
        chance = float(probability_inside(low, high, seen_low, seen_high, wanted.spread))
    return Finding(
        check.name, check.place, cast(StateWord, _STATES[judged]),
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
        return f"at most {show(wanted.high, unit, wanted.quantity)}"
    if wanted.high is None and wanted.low is not None:
        return f"at least {show(wanted.low, unit, wanted.quantity)}"
    return show_range(wanted.low, wanted.high, unit, wanted.quantity)
