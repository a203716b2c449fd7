"""Stationary noise: readings at an outlet, what of them counts, and the limit they are held to."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from tickover.book.bodies import Reading
from tickover.book.csvfile import Source, read_table
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.decide.intervals import judge
from tickover.engine import EngineFile
from tickover.errors import FileError, InputError
from tickover.physics.bands import Band
from tickover.physics.loudness import (
    mean_half,
    stationary_test_speed,
    weighted_octaves,
    without_background,
)
from tickover.quantities import parse, parse_number, whole_number
from tickover.tasks.exhaust import KINDS, exhaust_condition
from tickover.tasks.finding import Check, Finding, StateWord, Wanted
from tickover.tasks.proving import HAND_OVER, HOT, MONOXIDE
from tickover.tasks.rollout import overtaken

NOISE = "noise"
WORKS = ("baffles changed", "exhaust changed", "exhaust off", "exhaust repaired")
"""Work after which the machine sounds otherwise."""
LEAST_MARGIN = 10.0
"""Background at least this far below, by 97/24/EC chapter 9: third party [dB]."""
WANTED = 3
"""Readings of one outlet, by the same rule: third party."""
USUAL_SPREAD = 2.0
"""How far they may lie apart: from memory, decides nothing [dB]."""
FAR_SPEED = 0.10
"""Held further from the test speed than this it is another test: our assumption."""
_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}
EAR = "Ear protection on whoever holds the meter; the other ear too."
CAUTIONS = (
    EAR,
    HOT,
    MONOXIDE,
    "On the stand, neutral, wheel free or machine held; nobody in front of or behind it.",
    "Neighbours and local law: open pipes are not for the road, and noise has its hours.",
    "Whether it may go on the road is for licensed inspection with a calibrated meter.",
)


@dataclass(frozen=True, slots=True)
class Level:
    """One reading: level as read, the background with it, and how it was taken."""

    outlet: int
    level: float
    silencers: str
    background: float | None
    speed: float | None
    number: int
    why_not: str = ""
    """Why it does not count; '' where it does."""
    alone: float | None = None
    """Without the background; None where none was read or it drowned the machine [dB]."""


@dataclass(frozen=True, slots=True)
class OutletLevel:
    """The mean of one outlet with one exhaust, and its interval [dB]."""

    outlet: int
    silencers: str
    levels: tuple[Level, ...]
    counted: tuple[Level, ...]
    """Those the mean is taken of: that count, or all where none does."""
    mean: float
    band: Band
    spread: float
    state: StateWord
    notes: tuple[str, ...]
    void: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """One exhaust against another at one outlet: how much quieter the second is [dB]."""

    outlet: int
    louder: str
    quieter: str
    less: Band


@dataclass(frozen=True, slots=True)
class TestSpeed:
    """Crank speed of the test [1/s], and which rule gives it."""

    hz: float
    rule: str
    known: str


def test_speed(engine: EngineFile) -> TestSpeed | None:
    """At which speed to hold the engine; None where nothing is known."""
    table = engine.noise
    if table is None:
        return None
    if table.at_speed_hz is not None:
        return TestSpeed(table.at_speed_hz, table.given_by, "as entered")
    if table.rated_power_speed_hz is None:
        return None
    return TestSpeed(
        stationary_test_speed(table.rated_power_speed_hz),
        "97/24/EC chapter 9, UN R41: half the speed of most power above 5000 rpm, else three "
        "quarters",
        "third party",
    )


def octave_levels(text: str) -> dict[float, float]:
    """Octave levels as typed: '63: 92, 125: 95, 250: 90'.

    Raises
    ------
    InputError
        No pairs, a band twice, or no number.

    Examples
    --------
    >>> octave_levels("63: 92, 125: 95.5")
    {63.0: 92.0, 125.0: 95.5}
    """
    found: dict[float, float] = {}
    # With semicolons a comma is a decimal one; without, a comma and a blank part two bands.
    parted = r"[;\n]" if ";" in text else r"\n|,\s+"
    for pair in re.split(parted, text.strip()):
        if not pair.strip():
            continue
        band, sign, level = pair.partition(":")
        if not sign:
            raise InputError("An octave level is a band and its level", given=pair,
                             instead="'63: 92, 125: 95, 250: 90'")  # fmt: skip
        number = band.strip().casefold().removesuffix("hz").strip()
        scale = 1000.0 if number.endswith("k") else 1.0
        middle = scale * float(parse_number(number.removesuffix("k"), "The band"))
        if middle in found:
            raise InputError("This band stands twice", given=f"{middle:g} Hz")
        found[middle] = _level(level, "The octave level")
    return found


def _level(text: str, what: str) -> float:
    value = parse(text, "level", "dB", what).value_si
    if not 20.0 <= value <= 140.0:
        raise InputError(f"{what} is no noise a meter shows", given=text, allowed="20 to 140 dB",
                         instead="'94 dB'")  # fmt: skip
    return value


def noise_entry(
    engine: EngineFile,
    typed: str,
    *,
    outlet: str = "1",
    silencers: str = "",
    background: str = "",
    speed: str = "",
    instrument: str = "",
) -> Reading:
    """The entry of one reading.

    Parameters
    ----------
    engine : EngineFile
    typed : str
        '94.5 dB', weighted as A; or octave levels without weighting, '63: 92, 125: 95'.
    outlet : str
        '1', '2' ...
    silencers : str
        'standard', 'baffled' or 'open'; '' where the book knows.
    background, speed : str
        Engine off; crank speed held. Both may be ''.
    instrument : str

    Raises
    ------
    InputError
        No level, no such outlet, silencers that are none; a background above the reading.
    """
    number = whole_number(outlet.strip().casefold().removeprefix("outlet").strip() or "1")
    most = engine.noise.outlets if engine.noise else 8
    if number is None or not 1 <= number <= most:
        raise InputError("There is no such outlet", given=outlet, allowed=f"1 to {most}")
    word = silencers.strip().casefold()
    if word and word not in KINDS:
        raise InputError("The silencers are standard, baffled or open", given=silencers,
                         allowed=", ".join(KINDS))  # fmt: skip
    more: dict[str, object] = {"silencers": word} if word else {}
    if ":" in typed:
        octaves = octave_levels(typed)
        value = weighted_octaves(octaves)
        more["octaves"] = ", ".join(f"{band:g}: {level:g}" for band, level in octaves.items())
    else:
        value = _level(typed, "The reading")
    if background.strip():
        quiet = _level(background, "The background")
        if quiet >= value:
            raise InputError("The background is louder than the machine",
                             given=f"{value:.1f} dB with it, {quiet:.1f} dB without",
                             instead="the reading first, the background in its own field"
                             )  # fmt: skip
        more["background_db"] = quiet
    if speed.strip():
        more["speed_hz"] = parse(speed, "speed", "rpm", "The speed held").value_si
    return Reading(NOISE, f"outlet {number}", value, value, "dB", typed.strip(), instrument,
                   more)  # fmt: skip


_COLUMNS = ("outlet", "level", "silencers", "background", "speed", "note")


def entries_from_csv(engine: EngineFile, source: Source, name: str) -> tuple[Reading, ...]:
    """Readings from a table: outlet, level, silencers, background, speed, note.

    Raises
    ------
    FileError
        As `read_table`, or a row that is no reading; names its line.
    """
    made = []
    for row in read_table(source, name, _COLUMNS, ("level",)):
        try:
            made.append(
                noise_entry(
                    engine, row["level"], outlet=row["outlet"], silencers=row["silencers"],
                    background=row["background"], speed=row["speed"],
                )
            )  # fmt: skip
        except InputError as wrong:
            raise FileError(wrong.problem, given=wrong.given, allowed=wrong.allowed,
                            instead=wrong.instead, where=f"{name}, line {row.line}"
                            ) from wrong  # fmt: skip
    return tuple(made)


def _silencers_then(engine: EngineFile, state: State, number: int) -> str:
    """What the exhaust was when an entry was written."""
    now = engine.exhaust.silencers if engine.exhaust is not None else ""
    for work in state.works("exhaust changed"):
        if work.number < number and str(work.body.detail.get("silencers", "")) in KINDS:
            now = str(work.body.detail["silencers"])
    return now


def _read(engine: EngineFile, state: State, entry: Entry[Reading]) -> Level | None:
    body = entry.body
    if body.low is None or body.low != body.high or body.unit != "dB":
        return None
    number = whole_number(body.place.removeprefix("outlet")) or 1
    said = body.conditions.get("silencers")
    background, speed = (
        float(v) if isinstance(v := body.conditions.get(name), (int, float)) else None
        for name in ("background_db", "speed_hz")
    )
    why, alone = "", None
    if background is not None:
        margin = body.low - background
        if margin < LEAST_MARGIN:
            why = f"background only {margin:.1f} dB below, the rule wants {LEAST_MARGIN:g}"
        if margin >= 3.0:
            alone = without_background(body.low, background)
    wanted = test_speed(engine)
    if speed is not None and wanted is not None and abs(speed / wanted.hz - 1) > FAR_SPEED:
        why = why or f"held at {60 * speed:.0f} rpm, the test is at {60 * wanted.hz:.0f}"
    silencers = str(said) if said else _silencers_then(engine, state, entry.number)
    return Level(number, body.low, silencers, background, speed, entry.number, why, alone)


def outlet_levels(engine: EngineFile, state: State) -> tuple[OutletLevel, ...]:
    """Every outlet with every exhaust it was read with, void ones as well.

    Parameters
    ----------
    engine : EngineFile
    state : State

    Returns
    -------
    tuple of OutletLevel
        In order of outlets; of one outlet and exhaust only the readings since the last work.

    Notes
    -----
    Mean of the readings as read, as the rule has it; its band reaches down to the mean without
    the background, and both ways by Student's interval of the mean together with the meter.
    """
    groups: dict[tuple[int, str], list[tuple[Level, str]]] = {}
    for entry in state.readings(NOISE):
        level = _read(engine, state, entry)
        if level is not None:
            void = overtaken(state, entry.number, WORKS)
            groups.setdefault((level.outlet, level.silencers), []).append((level, void))
    found = []
    for (outlet, silencers), rows in sorted(groups.items()):
        live = [level for level, void in rows if not void]
        kept = live or [level for level, _ in rows]
        found.append(_outlet(engine, outlet, silencers, kept, "" if live else rows[-1][1]))
    return tuple(found)


def _outlet(
    engine: EngineFile, outlet: int, silencers: str, levels: list[Level], void: str
) -> OutletLevel:
    counted = [level for level in levels if not level.why_not] or levels
    meter = engine.noise.meter_db if engine.noise else 1.5
    raw = [level.level for level in counted]
    clean = [level.level if level.alone is None else level.alone for level in counted]
    mean, spread = math.fsum(raw) / len(raw), max(raw) - min(raw)
    half = math.hypot(mean_half(raw), meter)
    band = Band(math.fsum(clean) / len(clean) - half, mean + half)
    notes = [f"{level.level:.1f} dB does not count: {level.why_not}" for level in levels
             if level.why_not]  # fmt: skip
    proper = sum(not level.why_not for level in levels)
    if proper < WANTED:
        notes.append(f"{proper} of {WANTED} readings that count")
    if spread > USUAL_SPREAD:
        notes.append(f"spread {spread:.1f} dB; from memory the rule wants {USUAL_SPREAD:g}: again")
    if any(level.background is None for level in counted):
        notes.append("background not read: taken for far below")
    limit = engine.noise.limit_db if engine.noise else None
    state: StateWord = "open"
    if limit is not None:
        state = _STATES[judge(band.low, band.high, -math.inf, limit)] if proper >= WANTED else (
            "undecided"
        )  # fmt: skip
    return OutletLevel(outlet, silencers, tuple(levels), tuple(counted), mean, band, spread,
                       state, tuple(notes), void)  # fmt: skip


def standing(engine: EngineFile, state: State) -> tuple[OutletLevel, ...]:
    """The outlets as the exhaust is now: what the verdict rests on, void or not."""
    now = exhaust_condition(engine, state)
    every = outlet_levels(engine, state)
    mine = tuple(each for each in every if each.silencers in (now, "") or not now)
    live = tuple(each for each in mine if not each.void)
    return live or mine or tuple(each for each in every if each.void)


def compared(found: Iterable[OutletLevel]) -> tuple[Compared, ...]:
    """Every two exhausts read at one outlet: how much quieter one is, with its interval.

    Notes
    -----
    The meter's own error falls out where it is the same meter; the two means' spreads do not.
    """
    every = tuple(found)
    made = []
    for n, a in enumerate(every):
        for b in every[n + 1 :]:
            if a.outlet == b.outlet and a.silencers and b.silencers:
                loud, quiet = (a, b) if a.mean >= b.mean else (b, a)
                half = math.hypot(*(mean_half([x.level for x in each.counted]) for each in (a, b)))
                less = loud.mean - quiet.mean
                made.append(Compared(a.outlet, loud.silencers, quiet.silencers,
                                     Band(less - half, less + half)))  # fmt: skip
    return tuple(made)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check, where a limit is given."""
    if engine.noise is None or engine.noise.limit_db is None:
        return ()
    at = test_speed(engine)
    held = f" at {60 * at.hz:.0f} rpm" if at is not None else " at the speed of the papers"
    return (
        Check(
            NOISE, "", f"Stationary noise, at most {engine.noise.limit_db:g} dB(A)",
            f"what {engine.noise.given_by} allow",
            f"Meter 0.5 m from the outlet, 45 degrees off its axis, at its height and 0.2 m up at "
            f"least; engine warm, held steady{held}, then the throttle shut: the highest it "
            "shows. Three times at each outlet, and the background with the engine off.",
            HAND_OVER, cautions=CAUTIONS, minutes=15.0, risk=0, group="road",
            wanted=Wanted("page", page="noise"),
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say: the louder outlet decides."""
    if not checks(engine, state):
        return ()
    found = standing(engine, state)
    if not found:
        return ()
    worst = max(found, key=lambda each: each.band.high)
    missing = (engine.noise.outlets if engine.noise else 1) - len({f.outlet for f in found})
    word: StateWord = worst.state
    if word == "good" and missing > 0:
        word = "undecided"
    text = f"{worst.mean:.1f} dB(A), {worst.band.low:.1f} to {worst.band.high:.1f}"
    if missing > 0:
        text += f"; {missing} outlet not read" if missing == 1 else f"; {missing} outlets not read"
    proof = max(level.number for each in found for level in each.levels)
    return (Finding(NOISE, "", word, text, proof),)
