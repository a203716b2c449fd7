"""The speed page: gears, the needle by its drive, the needle against a track, the rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.proving import ProvingLine, lines_of, states_for, verdict_words
from tickover.pages.speed_parts import ChangeLine, change_lines, setting_words
from tickover.pages.why import Why
from tickover.pages.wording import sentence
from tickover.physics.bands import Band
from tickover.physics.track import Ride, Stretch, distance_ridden
from tickover.tasks import speed as task
from tickover.tasks.regearing import Regeared
from tickover.tasks.rollout import WHEELS
from tickover.tasks.speedruns import (
    Run,
    errors_in_book,
    errors_that_count,
    kept_odometer,
    run_error,
    stretch_text,
)

CAUTIONS = (
    "Hold speeds on a closed or empty, straight and level road; limits hold, law comes first.",
    "Eyes on the road: a passenger or the log does the reading.",
    "Wheel off the ground and turning: sleeves, fingers and rags away from chain and spokes.",
    "Tyres, brakes and road legality belong to licensed inspection; a speedometer's band too.",
)


@dataclass(frozen=True, slots=True)
class WheelLine:
    """A wheel: its circumference and what is assumption in it."""

    wheel: str
    circumference: str
    how: str
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GearLine:
    """A gear and its speeds."""

    gear: str
    overall: str
    per_1000: str
    at_red_line: str


@dataclass(frozen=True, slots=True)
class TrackLine:
    """A shown speed beside the true one."""

    shown: str
    how: str
    true: str
    error: str
    percent: str
    allowed: str
    state: str
    void: str = ""
    entry: int = 0


@dataclass(frozen=True, slots=True)
class StretchLine:
    """A steady stretch of the track, in words and as a form sends it back."""

    words: str
    sent: str


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule: name, stage, how it is known, its band at 80 km/h true."""

    name: str
    stage: str
    known: str
    band: str
    decides: bool
    note: str


@dataclass(frozen=True, slots=True)
class SpeedPage:
    """Everything the speed page shows."""

    title: str
    verdict: str
    wheels: tuple[WheelLine, ...]
    gears: tuple[GearLine, ...]
    needle: tuple[str, ...]
    stretches: tuple[StretchLine, ...]
    track: tuple[TrackLine, ...]
    track_words: tuple[str, ...]
    kept: tuple[TrackLine, ...]
    odometer: str
    setting: tuple[str, ...]
    change: str
    changes: tuple[ChangeLine, ...]
    change_assumed: tuple[str, ...]
    rules: tuple[RuleLine, ...]
    checks: tuple[ProvingLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    all_good: bool
    head: Head | None = None


def speed_page(
    engine: EngineFile,
    state: State | None = None,
    ride: Ride | None = None,
    shown: Sequence[task.ShownSpeed] = (),
    odometer_m: float | None = None,
    head: Head | None = None,
    runs: Sequence[Run] = (),
    change: Regeared | None = None,
    stretches: Sequence[Stretch] = (),
) -> SpeedPage:
    """The page of gears, needle, track and timed runs.

    Parameters
    ----------
    engine : EngineFile
    state : State
    ride : Ride
        A track just read.
    shown : sequence of ShownSpeed
        Speeds held on the dial along it.
    odometer_m : float
        What the odometer counted along it [m]
    head : Head
    runs : sequence of Run
        Timed between two posts.
    change : Regeared
        Other tyres or sprockets to be compared.
    stretches : sequence of Stretch
        Found before, where the track itself is no longer at hand.

    Raises
    ------
    InputError
        A tyre size of no style; shown speeds that cannot be paired with the track.
    """
    states = states_for(engine, state)
    found = task.steady(ride) if ride is not None else tuple(stretches)
    rows = (*task.errors_on_track(found, shown), *(run_error(run) for run in runs))
    kept = errors_in_book(state) if state is not None else ()
    standing = errors_that_count(kept)
    factor = task.common_factor(rows or standing)
    driven = task.speedometer_drive(engine, state)
    by_drive = driven.factor if driven is not None else None
    lines = lines_of(engine, states, task.NAMES)
    return SpeedPage(
        title="Speed and gearing",
        verdict=_verdict(engine, rows, verdict_words(states, task.NAMES)),
        wheels=_wheels(engine, state),
        gears=tuple(
            GearLine(
                str(g.gear), f"{g.overall:.2f}", task.speed_words(engine, g.per_1000),
                task.speed_words(engine, g.at_red_line) if g.at_red_line else "",
            )
            for g in task.gear_speeds(engine, state)
        ),
        needle=_needle(engine, state),
        stretches=tuple(StretchLine(_stretch(engine, s), stretch_text(s)) for s in found),
        track=tuple(_track_line(engine, row) for row in rows),
        track_words=_ride_words(ride, odometer_m),
        kept=tuple(_track_line(engine, row, void) for row, void in reversed(kept)),
        odometer=_odometer(state),
        setting=setting_words(engine, factor) if factor is not None else (),
        change=change.words if change is not None else "",
        changes=change_lines(engine, state, change, factor or by_drive) if change else (),
        change_assumed=change.assumed if change is not None else (),
        rules=tuple(_rule_line(engine, rule) for rule in task.RULES),
        checks=lines,
        whys=(WHY_GEARS, WHY_NEEDLE, WHY_TRACK),
        cautions=CAUTIONS,
        missing=_missing(engine, state),
        all_good=bool(rows or lines)
        and all(r.state == "good" for r in rows)
        and (bool(rows) or all(line.state in ("good", "accepted") for line in lines)),
        head=head,
    )  # fmt: skip


def _verdict(engine: EngineFile, rows: Sequence[task.SpeedError], otherwise: str) -> str:
    """What the readings at hand say, or else what the checks say."""
    if not rows:
        return otherwise
    bad = [row for row in rows if row.state != "good"]
    if not bad:
        return "Within UN R39 type approval at every speed shown."
    return sentence(
        "; ".join(f"at {task.speed_words(engine, Band(r.shown.speed, r.shown.speed))} shown: "
                  f"{r.state}" for r in bad)
    )  # fmt: skip


def _stretch(engine: EngineFile, s: Stretch) -> str:
    speed = task.speed_words(engine, Band(s.speed - s.half, s.speed + s.half))
    by = "by the receiver's own speed" if s.by_receiver else "from places"
    return f"{task.clock(s.start)} to {task.clock(s.end)}: {speed} {by}"


def _ride_words(ride: Ride | None, odometer_m: float | None) -> tuple[str, ...]:
    """What was read of a track, what was left out of it, and what the odometer made of it."""
    if ride is None:
        return ()
    words = [sentence(note) for note in ride.notes]
    way, across = distance_ridden(ride)
    more = f", {across / 1e3:.2f} of it straight across gaps" if across else ""
    words.append(f"{way / 1e3:.2f} km ridden{more}.")
    if odometer_m is not None:
        words.append(f"Odometer over true: {_pair(task.odometer(ride, odometer_m), 3)}.")
    return tuple(words)


def _odometer(state: State | None) -> str:
    """The odometer reading in the book, in words."""
    kept = kept_odometer(state)
    if kept is None:
        return ""
    band, number, void = kept
    low, high = 100 * (band.low - 1), 100 * (band.high - 1)
    words = f"Odometer: {low:+.1f} to {high:+.1f} % of the way ridden, entry {number}"
    if void:
        return f"{words}; void since: {void}."
    return (
        f"{words}. No rule here decides it; for comparison, ADR 18/00 to 18/02 (third party): 4 %."
    )


def _pair(band: Band, digits: int) -> str:
    return f"{band.low:.{digits}f} to {band.high:.{digits}f}"


def _wheels(engine: EngineFile, state: State | None) -> tuple[WheelLine, ...]:
    made = []
    for wheel in WHEELS:
        found = task.wheel_roll_out(engine, wheel, state)
        if found is not None:
            made.append(WheelLine(wheel, f"{_pair(found.band, 3)} m", found.how, found.assumed))
    return tuple(made)


def _needle(engine: EngineFile, state: State | None) -> tuple[str, ...]:
    found, table = task.speedometer_drive(engine, state), engine.speedometer
    if found is None or table is None:
        return ()
    what = "turns" if table.kind == "cable" else "pulses"
    per_km = Band(1e3 * found.per_metre.low, 1e3 * found.per_metre.high)
    return (
        f"{what.capitalize()} on each km: {_pair(per_km, 0)}; the dial is made for "
        f"{table.per_km:g}.",
        f"So it shows {_pair(found.factor, 3)} of what is true, its own error left out.",
        f"Right would be {_pair(found.wanted_each, 3)} {what} for each turn of the "
        f"{table.driven_by}; it has {table.turns_each:g}.",
    )


def _track_line(engine: EngineFile, row: task.SpeedError, void: str = "") -> TrackLine:
    shown = row.shown.speed
    low, high = task.R39.band(row.true.middle)
    return TrackLine(
        task.speed_words(engine, Band(shown, shown)),
        row.how,
        task.speed_words(engine, row.true),
        task.speed_words(engine, row.error),
        f"{100 * (row.factor.low - 1):+.1f} to {100 * (row.factor.high - 1):+.1f} %",
        task.speed_words(engine, Band(low, high)),
        "stale" if void else row.state,
        void,
        row.number,
    )


def _rule_line(engine: EngineFile, rule: task.SpeedRule) -> RuleLine:
    true = 80 * task.KMH
    band = f"at {task.speed_words(engine, Band(true, true))} true it may show " \
           f"{task.speed_words(engine, Band(*rule.band(true)))}"  # fmt: skip
    return RuleLine(rule.name, rule.stage, rule.known, band, rule.decides, rule.note)


def _missing(engine: EngineFile, state: State | None) -> tuple[str, ...]:
    wants = (
        ("Road speed in each gear: [wheels] and [gearing]", task.gear_speeds(engine, state)),
        ("What the needle shows by its drive: [speedometer] turns_each and per_km",
         task.speedometer_drive(engine, state)),
    )  # fmt: skip
    return tuple(words for words, there in wants if not there)


def speed_json(page: SpeedPage) -> dict[str, Any]:
    """The page as plain data."""
    return asdict(page)


WHY_GEARS = Why(
    "Speed in a gear",
    ("crank speed, primary x gear x final, rolling circumference",),
    "v = n C / (primary x gear x final)",
    "kinematics; circumference by roll-out, or pi times the nominal diameter 2 W a + rim (a tyre "
    "maker's fitment guide)",
    "from a size alone 5 %, inch sizes more; measured 0.2 %; clutch and tyre slip not in it",
)
WHY_NEEDLE = Why(
    "What the needle shows",
    ("turns or pulses for each turn of the wheel, circumference, what the dial is made for",),
    "shown / true = (turns each / C) / (turns per m of the dial)",
    "kinematics; 1600 on an old dial means cable turns a mile or a km (common practice, no source)",
    "the circumference's; the instrument's own error comes on top",
)
WHY_TRACK = Why(
    "True speed from a track",
    ("places and times of a position log, or the receiver's own speed",),
    "ellipsoid distance two seconds wide / time; median over a steady, straight stretch",
    "Vincenty, Survey Review XXIII (1975); WGS 84; band 0 <= V1 - V2 <= 0.1 V2 + 4 km/h of UN R39 "
    "5.3, type approval",
    "about 95 %: median deviation, one independent value for each 3 s, and a thousandth; needle "
    "read to 1 km/h (our assumption)",
)
