"""Runs against the needle: between two posts, on a track, and as they are kept in the book."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.track import Ride, Stretch, distance_ridden
from tickover.quantities import parse, parse_number
from tickover.tasks.rollout import CHANGES, overtaken
from tickover.tasks.speed import (
    KMH,
    SPEEDOMETER,
    ShownSpeed,
    SpeedError,
    clock,
    dial_place,
    odometer,
    shown_speed,
    speed_error,
    speed_of_place,
)

ODOMETER = "odometer"
TIMING_S = 0.4
"""How far off the two presses of a watch may be together: our assumption [s]."""
POSTS = 0.002
"""How far off the way between two posts may be, relative: our assumption."""
_RUN = re.compile(r"^\s*(.+?)\s+(?:over|for)\s+(.+?)\s+in\s+(.+?)\s*$", re.IGNORECASE)
_CLOCK = re.compile(r"^(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)$")
_EXAMPLE = "'60 mph over 1 mi in 61.5 s'"


@dataclass(frozen=True, slots=True)
class Run:
    """A needle held steady from one post to the next.

    Parameters
    ----------
    typed : str
    shown : float
        [m/s]
    way : float
        [m]
    seconds : float
    true : Band
        [m/s]
    """

    typed: str
    shown: float
    way: float
    seconds: float
    true: Band


def measured_run(engine: EngineFile, text: str) -> Run:
    """A run between two posts, as typed: '60 mph over 1 mi in 61.5 s'.

    Parameters
    ----------
    engine : EngineFile
        Gives the units of bare numbers.
    text : str
        Shown speed, way, time; the time also as '1:01.5'.

    Raises
    ------
    InputError
        A part is missing or no number; no way to be timed; a speed so far from the shown one
        that a mile was taken for a kilometre, or a lap was missed.

    Notes
    -----
    true = way / time, with 0.4 s for the two presses and 0.2 % for the posts (our assumptions).
    """
    found = _RUN.match(text)
    if found is None:
        raise InputError("A timed run is the speed shown, the way and the time", given=text,
                         instead=_EXAMPLE)  # fmt: skip
    shown = shown_speed(engine, found[1]).speed
    way = parse(found[2], "distance", engine.show.unit("distance"), "The way").value_si
    seconds = _seconds(found[3])
    if not 100.0 <= way <= 100e3:
        raise InputError("That way is no use between two posts", given=found[2],
                         allowed="100 m to 100 km", instead=_EXAMPLE)  # fmt: skip
    if seconds < 3.0:
        raise InputError("That is too short to be timed by hand", given=found[3],
                         allowed="3 s and more", instead=_EXAMPLE)  # fmt: skip
    pace = way / seconds
    # A mile taken for a kilometre is 1.61 one way, 0.62 the other.
    if not 0.65 <= shown / pace <= 1.55:
        raise InputError(
            "The speed shown and the time do not go together",
            given=f"{text}: that is {pace / KMH:.0f} km/h on the road",
            allowed="a needle off by less than half",
            instead="the way in the unit of the posts, a mile or a kilometre, and the whole time",
        )  # fmt: skip
    true = Band(way * (1 - POSTS) / (seconds + TIMING_S), way * (1 + POSTS) / (seconds - TIMING_S))
    return Run(" ".join(text.split()), shown, way, seconds, true)


def _seconds(text: str) -> float:
    split = _CLOCK.match(text)
    if split:
        return 60.0 * int(split[1]) + float(parse_number(split[2], "The time"))
    return parse(text, "time", "s", "The time").value_si


def run_error(run: Run) -> SpeedError:
    """A timed run against the needle."""
    return speed_error(
        ShownSpeed(run.shown), run.true, f"timed, {run.way:.0f} m in {run.seconds:g} s"
    )


def run_entry(engine: EngineFile, run: Run) -> Reading:
    """The entry of a timed run."""
    return _reading(engine, run_error(run), run.typed, "measured distance",
                    {"way_m": run.way, "time_s": run.seconds})  # fmt: skip


def track_entry(engine: EngineFile, row: SpeedError, typed: str, log: str = "") -> Reading:
    """The entry of a shown speed against a stretch of a track; the track itself is not kept."""
    return _reading(engine, row, typed, "position log", {"log": log} if log else {})


def _reading(
    engine: EngineFile, row: SpeedError, typed: str, instrument: str, more: dict[str, object]
) -> Reading:
    return Reading(
        SPEEDOMETER, dial_place(engine, row.shown.speed), row.true.low, row.true.high, "m/s", typed,
        instrument, {"shown_m_s": row.shown.speed, "how": row.how, **more},
    )  # fmt: skip


def errors_in_book(state: State) -> tuple[tuple[SpeedError, str], ...]:
    """Every reading of the speedometer in the book, with the work that made it void or ''."""
    rows = []
    for entry in state.readings(SPEEDOMETER):
        body = entry.body
        shown = body.conditions.get("shown_m_s")
        held = float(shown) if isinstance(shown, (int, float)) else speed_of_place(body.place)
        if held is None or body.low is None or body.high is None or body.unit != "m/s":
            continue
        how = str(body.conditions.get("how", "read on the road"))
        row = speed_error(
            ShownSpeed(held), Band(max(0.1, body.low), max(0.1, body.high)), how, entry.number
        )
        rows.append((row, overtaken(state, entry.number, CHANGES)))
    return tuple(rows)


def odometer_entry(ride: Ride, counted: float, typed: str) -> Reading:
    """The entry of an odometer against a track."""
    band = odometer(ride, counted)
    return Reading(ODOMETER, "", band.low, band.high, "1", typed, "position log",
                   {"counted_m": counted, "way_m": distance_ridden(ride)[0]})  # fmt: skip


def kept_odometer(state: State | None) -> tuple[Band, int, str] | None:
    """The latest odometer reading: its band, its entry, and the work that made it void or ''."""
    entry = state.latest(ODOMETER, "") if state is not None else None
    if state is None or entry is None or entry.body.low is None or entry.body.high is None:
        return None
    band = Band(entry.body.low, entry.body.high)
    return band, entry.number, overtaken(state, entry.number, CHANGES)


def stretch_text(found: Stretch) -> str:
    """A stretch on one line, to go with a form: begin, length, speed, half its interval, whose."""
    own = "own" if found.by_receiver else "places"
    return f"{found.start:.2f};{found.seconds:.2f};{found.speed:.5f};{found.half:.5f};{own}"


def stretch_of(text: str) -> Stretch:
    """The stretch a form sent back.

    Raises
    ------
    InputError
        It is none.
    """
    parts = text.split(";")
    try:
        start, lasts, speed, half = (float(part) for part in parts[:4])
    except ValueError:
        start = lasts = speed = half = float("nan")
    whole = all(math.isfinite(x) for x in (start, lasts, speed, half)) and len(parts) == 5
    if not (whole and abs(start) < 1e11 and 0 < lasts < 1e6 and 0 < half < speed < 150):
        raise InputError("A stretch of the track was not sent whole", given=text[:80],
                         instead="the track once more")  # fmt: skip
    return Stretch(start, start + lasts, speed, half, parts[4] == "own")


def paired(
    engine: EngineFile, found: Sequence[Stretch], typed: Sequence[str]
) -> tuple[tuple[SpeedError, str], ...]:
    """What was shown on each stretch, where something is filled in: the error and the words."""
    rows = []
    for stretch, words in zip(found, typed, strict=True):
        if words.strip():
            shown = shown_speed(engine, words)
            true = Band(max(0.1, stretch.speed - stretch.half), stretch.speed + stretch.half)
            how = f"track, {clock(stretch.start)} to {clock(stretch.end)}"
            rows.append((speed_error(shown, true, how), words.strip()))
    return tuple(rows)


def errors_that_count(rows: Iterable[tuple[SpeedError, str]]) -> tuple[SpeedError, ...]:
    """The rows that still hold, only the latest of each shown speed."""
    latest = {round(row.shown.speed, 3): row for row, void in rows if not void}
    return tuple(latest.values())
