"""What the tasks that prove a machine before its first start share: stages, cautions, judging."""

from __future__ import annotations

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.decide.intervals import judge
from tickover.engine import EngineFile
from tickover.physics.bands import Band
from tickover.quantities import show, show_range, show_reading
from tickover.tasks.finding import Check, Finding, Stage, StateWord

START: frozenset[Stage] = frozenset({"first start", "riding", "hand-over"})
RIDING: frozenset[Stage] = frozenset({"riding", "hand-over"})
HAND_OVER: frozenset[Stage] = frozenset({"hand-over"})

DRY = "Plugs out: fuel tap closed, every lead earthed, no fuel or vapour about."
LEADS = "Every lead not under test earthed: an open one can wreck coil or unit, and it bites."
TURNING = "Sleeves, hair and rags away from everything that turns."
FUEL = (
    "Outdoors or in a draught, no flame, no spark, no hot lamp; extinguisher for class B at hand."
)
RAG = "Rag under every joint; a wet one goes outside at once, never into a closed bin."
GAS = "A battery gives off gas that burns: no flame, no spark; earth clamp off first, on last."
HOT = "Hot pipes, hot oil: gloves, and nothing held over the engine."
MONOXIDE = "Outdoors or with an extraction hose: carbon monoxide gives no warning."

_WORDS: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}


def described(engine: EngineFile) -> bool:
    """Whether the file describes more than the inside of the engine.

    Then the checks every machine needs appear, whether or not their own table is there.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    bool
    """
    tables = (engine.oil, engine.ignition, engine.fuel, engine.exhaust, engine.battery,
              engine.starter, engine.interlocks)  # fmt: skip
    return any(table is not None for table in tables) or bool(engine.checks)


def reading_ends(body: Reading) -> tuple[float, float]:
    """Both ends of a reading, an open one infinite [SI]."""
    low = float("-inf") if body.low is None else body.low
    return low, float("inf") if body.high is None else body.high


def condition(body: Reading, name: str) -> float | None:
    """A number kept beside a reading, such as 'temperature_k' or 'speed_hz'; None without it."""
    value = body.conditions.get(name)
    return float(value) if isinstance(value, (int, float)) else None


def judged(seen: tuple[float, float], low: float | None, high: float | None) -> StateWord:
    """Whether a reading lies between limits, either of which may be open [one SI unit]."""
    lower = float("-inf") if low is None else low
    upper = float("inf") if high is None else high
    return _WORDS[judge(*seen, lower, upper)]


def finding_from(check: Check, entry: Entry[Reading], state: StateWord, text: str) -> Finding:
    """The finding of a check from its reading."""
    return Finding(check.name, check.place, state, text, entry.number)


def reading_words(engine: EngineFile, body: Reading, quantity: str) -> str:
    """A reading in the unit the build shows, with the conditions kept beside it."""
    unit = engine.show.unit(quantity)
    words = [show_reading(body.low, body.high, body.typed, unit, quantity)]
    speed, warm = condition(body, "speed_hz"), condition(body, "temperature_k")
    if speed is not None:
        words.append(f"at {show(speed, engine.show.unit('speed'), 'speed')}")
    if warm is not None:
        words.append(f"at {show(warm, engine.show.unit('temperature'), 'temperature')}")
    return " ".join(words)


def band_words(engine: EngineFile, band: Band, quantity: str, unit: str = "") -> str:
    """A band in the unit the build shows, or in another."""
    return show_range(band.low, band.high, unit or engine.show.unit(quantity), quantity)
