"""Places, states and lists in words."""

from __future__ import annotations

import re
from collections.abc import Sequence

_KINDS = {"in": "inlet", "ex": "exhaust", "cyl": "cylinder", "plug": "plug", "carb": "carburettor"}
_NUMBERED = re.compile(r"(in|ex|cyl|plug|carb)(\d+[a-c]?)")

STATE_WORDS = {
    "open": "not done",
    "good": "good",
    "out": "out",
    "undecided": "cannot be told yet",
    "stale": "stale",
    "accepted": "accepted",
}
_NUMBERS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve")  # fmt: skip


def place_words(place: str) -> str:
    """A place in words.

    >>> place_words("ex2"), place_words("in1a"), place_words(""), place_words("inlet studs")
    ('exhaust 2', 'inlet 1a', 'the engine', 'inlet studs')
    """
    if not place:
        return "the engine"
    known = _NUMBERED.fullmatch(place)
    return f"{_KINDS[known[1]]} {known[2]}" if known else place


def check_words(name: str, place: str) -> str:
    """A check at a place in words; a name that ends with the kind of place says it once.

    >>> check_words("spark", "plug2"), check_words("bore: cylinder", "cyl1")
    ('spark, plug 2', 'bore: cylinder 1')
    """
    at = place_words(place)
    kind, _, number = at.rpartition(" ")
    once = kind and name.endswith(f" {kind}")
    return f"{name} {number}" if once else f"{name}, {at}"


def with_places(text: str) -> str:
    """Place names inside a sentence, written out.

    >>> with_places("ex2 had no gap; measure in1a.")
    'Exhaust 2 had no gap; measure inlet 1a.'
    """
    spelled = re.sub(r"\b(?:in|ex)\d+[a-c]?\b", lambda found: place_words(found.group()), text)
    return spelled[:1].upper() + spelled[1:]


def listed(words: Sequence[str], last: str = "and") -> str:
    """A list in words.

    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def count_words(count: int) -> str:
    """A small count in words.

    >>> count_words(2), count_words(40)
    ('two', '40')
    """
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def percent(probability: float) -> str:
    """A probability in words that never claim certainty.

    >>> percent(0.813), percent(0.9999), percent(0.0001)
    ('81 %', 'over 99 %', 'under 1 %')
    """
    if probability > 0.99:
        return "over 99 %"
    if probability < 0.01:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def sentence(text: str) -> str:
    """The text with a capital first and one full stop last.

    >>> sentence("two are out")
    'Two are out.'
    """
    stripped = text.strip().rstrip(".")
    return stripped[:1].upper() + stripped[1:] + "."


def money(amount: float) -> str:
    """An amount without a currency, since a workshop knows its own.

    >>> money(9.5)
    '9.50'
    """
    return f"{amount:.2f}"


def minutes_words(minutes: float) -> str:
    """How long something takes, in words that claim no more than is known.

    >>> minutes_words(0.5), minutes_words(1), minutes_words(12), minutes_words(150)
    ('half a minute', 'a minute', '12 minutes', '2 h 30 min')
    """
    if minutes < 0.75:
        return "half a minute" if minutes >= 0.3 else "a few seconds"
    whole = round(minutes)
    if whole < 100:
        return "a minute" if whole == 1 else f"{whole} minutes"
    hours, rest = divmod(5 * round(minutes / 5), 60)
    return f"{hours} h" + (f" {rest} min" if rest else "")


def seconds_words(seconds: float) -> str:
    """A time on the start card.

    >>> seconds_words(5), seconds_words(180), seconds_words(90)
    ('5 seconds', '3 minutes', '90 seconds')
    """
    if seconds >= 120 and seconds % 60 == 0:
        return f"{seconds / 60:.0f} minutes"
    return "1 second" if seconds == 1 else f"{seconds:g} seconds"


def dial_speed(rpm: float) -> str:
    """An engine speed to be met with the throttle, as finely as a rev counter is read.

    >>> dial_speed(6563.2)
    '6550'
    """
    return f"{50 * round(rpm / 50)}"
