"""Speed on the road: gears, what drives the needle, and the needle against a position track."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from tickover.book.state import State
from tickover.decide.intervals import judge
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.gearing import road_speed, shown_over_true, turns_per_metre
from tickover.physics.track import Ride, Stretch, distance_ridden, stretches
from tickover.physics.tyre import read_tyre, rolling_circumference
from tickover.quantities import parse, show
from tickover.tasks.finding import Check, Finding, StateWord, Wanted
from tickover.tasks.proving import HAND_OVER
from tickover.tasks.rollout import file_overtaken, rolled
from tickover.tasks.simple import simple_finding

SPEEDOMETER = "speedometer"
NAMES = (SPEEDOMETER,)
KMH = 1.0 / 3.6
TEST_SPEEDS_KMH = (40, 80, 120)
"""UN R39 tests faster machines at these (third party); the band holds at every speed."""
NEEDLE_KMH = 1.0
"""How far off a needle may be read, either way: our assumption."""
_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}
_AT = re.compile(r"^(.*?)\s+at\s+(\d{1,2}):(\d{2})(?::(\d{2}))?\s*$")
_TAPE = 0.002  # of a roll-out in the engine file, relative: our assumption


@dataclass(frozen=True, slots=True)
class SpeedRule:
    """A legal band for shown speed V1 at true speed V2, and how far it may be leaned on.

    0 <= V1 - V2 <= share V2 + plus, or within `either` both ways. Only a rule that `decides`
    gives verdicts: its words were read, and it is about motorcycles.
    """

    name: str
    stage: str
    known: str
    share: float = 0.0
    plus_kmh: float = 0.0
    either_kmh: float | None = None
    decides: bool = False
    note: str = ""

    def band(self, true: float) -> tuple[float, float]:
        """Lowest and highest shown speed at a true one [m/s]."""
        if self.either_kmh is not None:
            return true - self.either_kmh * KMH, true + self.either_kmh * KMH
        return true, true * (1.0 + self.share) + self.plus_kmh * KMH

    def true_band(self, shown: float) -> tuple[float, float]:
        """Lowest and highest true speed behind a shown one [m/s]."""
        if self.either_kmh is not None:
            return shown - self.either_kmh * KMH, shown + self.either_kmh * KMH
        return max(0.0, (shown - self.plus_kmh * KMH) / (1.0 + self.share)), shown


RULES: tuple[SpeedRule, ...] = (
    SpeedRule("UN R39, 5.3", "type approval", "confirmed", 0.1, 4.0, decides=True,
              note="a 02 series is in force since 26 September 2025, its figures not read: ask "
                   "what holds for your machine"),
    SpeedRule("UN R39, Annex 3", "production, motorcycles", "from memory", 0.1, 8.0),
    SpeedRule("ADR 18/03", "Australia", "third party", 0.1, 4.0),
    SpeedRule("UK approval rule", "true 25 to 70 mph", "third party", 0.1, 6.25 * 1.609344),
    SpeedRule("49 CFR 393.82", "US buses and trucks at 80 km/h", "confirmed", either_kmh=8.0,
              note="not for motorcycles: shown for comparison"),
)  # fmt: skip
"""Bands with their stage. The first decides; the others are shown for comparison."""
R39 = RULES[0]


@dataclass(frozen=True, slots=True)
class RollOut:
    """What one turn of a wheel covers, and how that is known."""

    band: Band
    how: str
    assumed: tuple[str, ...] = ()
    measured: bool = False


@dataclass(frozen=True, slots=True)
class GearSpeed:
    """One gear: overall ratio, speed at 1000 rpm, speed at the red line [m/s]."""

    gear: int
    overall: float
    per_1000: Band
    at_red_line: Band | None


@dataclass(frozen=True, slots=True)
class SpeedometerDrive:
    """What drives the needle: turns on each metre, and shown over true."""

    per_metre: Band
    factor: Band
    wanted_each: Band
    """Turns or pulses for each turn of the drive that would make it right [1]."""


@dataclass(frozen=True, slots=True)
class ShownSpeed:
    """A speed somebody held on the dial, and when (seconds of the day, UTC)."""

    speed: float
    at: float | None = None


@dataclass(frozen=True, slots=True)
class SpeedError:
    """One shown speed against a true one [m/s], and how the true one is known."""

    shown: ShownSpeed
    true: Band
    error: Band
    factor: Band
    state: StateWord
    how: str
    number: int = 0
    """Of its entry in the book, 0 for one that is not kept."""


def wheel_roll_out(engine: EngineFile, wheel: str, state: State | None = None) -> RollOut | None:
    """Rolling circumference of a wheel, measured or from its size; None where nothing is known.

    Parameters
    ----------
    engine : EngineFile
    wheel : str
        'front' or 'rear'
    state : State
        A roll-out in the book beats the engine file; one made void by another tyre counts no
        more, nor does one the file gave before.

    Raises
    ------
    InputError
        A tyre size of no known style.
    """
    walked = rolled(state, wheel)
    if walked is not None:
        return RollOut(walked[1], f"rolled out, entry {walked[0].number}",
                      ("the tape good to 5 mm over the whole way",), True)  # fmt: skip
    table = engine.wheels
    if table is None:
        return None
    measured = table.front_rollout_m if wheel == "front" else table.rear_rollout_m
    size = table.front if wheel == "front" else table.rear
    if measured is not None and not file_overtaken(state, wheel):
        return RollOut(Band(measured * (1 - _TAPE), measured * (1 + _TAPE)), "measured roll-out",
                      ("the tape good to 0.2 %",), True)  # fmt: skip
    if size is None:
        return None
    try:
        tyre = read_tyre(size)
    except InputError as wrong:
        raise InputError(wrong.problem, given=wrong.given, allowed=wrong.allowed,
                         instead=wrong.instead, where=f"[wheels] {wheel}") from None  # fmt: skip
    return RollOut(rolling_circumference(tyre), f"estimated from {tyre.written}",
                  (*tyre.assumed, "rolls 0 to 5 % shorter than its nominal circumference (from "
                   "memory)"))  # fmt: skip


def gear_speeds(engine: EngineFile, state: State | None = None) -> tuple[GearSpeed, ...]:
    """Road speed in each gear; nothing where wheel or gearing are not known."""
    rear, table = wheel_roll_out(engine, "rear", state), engine.gearing
    if rear is None or table is None or table.final_ratio is None:
        return ()
    found = []
    for gear in range(1, len(table.gears) + 1):
        overall = table.overall(gear)
        assert overall is not None  # the final ratio is there
        red = table.red_line_hz

        def at(hz: float, overall: float = overall) -> Band:
            return Band(road_speed(hz, overall, rear.band.low),
                        road_speed(hz, overall, rear.band.high))  # fmt: skip

        found.append(GearSpeed(gear, overall, at(1000 / 60), at(red) if red else None))
    return tuple(found)


def speedometer_drive(engine: EngineFile, state: State | None = None) -> SpeedometerDrive | None:
    """What the needle shows for what is true, from what drives it; None where that is not known."""
    table = engine.speedometer
    if table is None or table.turns_each is None or table.per_km is None:
        return None
    wheel = wheel_roll_out(engine, "front" if table.driven_by == "front wheel" else "rear", state)
    if wheel is None:
        return None
    ratio = 1.0
    if table.driven_by == "gearbox sprocket":
        final = engine.gearing.final_ratio if engine.gearing else None
        if final is None:
            return None
        ratio = final
    got = turns_per_metre(wheel.band, table.turns_each * ratio)
    dial = table.per_km / 1e3
    wanted = Band(dial * wheel.band.low / ratio, dial * wheel.band.high / ratio)
    return SpeedometerDrive(got, shown_over_true(got, dial), wanted)


def shown_speed(engine: EngineFile, text: str) -> ShownSpeed:
    """A speed held on the dial, as typed: '80 km/h at 12:31:20', '50 mph'.

    Raises
    ------
    InputError
        No speed on the road, or no time of day.
    """
    found = _AT.match(text)
    value = found[1] if found else text
    speed = parse(value, "road speed", engine.show.unit("road speed"), "The speed shown").value_si
    if not 5 * KMH <= speed <= 400 * KMH:
        raise InputError("That is no speed to hold on a dial", given=text, allowed="5 to 400 km/h")
    if not found:
        return ShownSpeed(speed)
    hour, minute, second = int(found[2]), int(found[3]), int(found[4] or 0)
    if hour > 23 or minute > 59 or second > 59:
        raise InputError(
            "That is no time of day", given=text, instead="'80 km/h at 12:31:20' (UTC)"
        )
    return ShownSpeed(speed, 3600.0 * hour + 60.0 * minute + second)


def clock(seconds: float) -> str:
    """Time of day, UTC."""
    return datetime.fromtimestamp(seconds, tz=UTC).strftime("%H:%M:%S")


def errors_on_track(
    found: Sequence[Stretch], shown: Sequence[ShownSpeed]
) -> tuple[SpeedError, ...]:
    """Each speed shown against the steady stretch it was held on.

    Parameters
    ----------
    found : sequence of Stretch
    shown : sequence of ShownSpeed
        With the time it was held at; or without any times, one for each stretch, in order.

    Raises
    ------
    InputError
        A time within no steady stretch, or a number of speeds that leaves the pairing open.

    Notes
    -----
    error = shown - true, with the needle read to 1 km/h and the stretch's interval. The band of
    UN R39 type approval decides.
    """
    listed = "; ".join(f"{clock(s.start)} to {clock(s.end)} {3.6 * s.speed:.1f} km/h"
                       for s in found[:12])  # fmt: skip
    if not found and shown:
        raise InputError("There is no steady, straight stretch in this track",
                         allowed="8 s and more at one speed, not on a bend")  # fmt: skip
    timed = [each for each in shown if each.at is not None]
    if shown and not timed and len(shown) != len(found):
        raise InputError(
            "It is open which speed was shown on which stretch",
            given=f"{len(shown)} speeds, {len(found)} steady stretches", allowed=listed,
            instead="the time beside each: '80 km/h at 12:31:20' (UTC)",
        )  # fmt: skip
    if timed and len(timed) != len(shown):
        raise InputError("Some speeds have a time and some have none",
                         instead="the time beside each: '80 km/h at 12:31:20' (UTC)")  # fmt: skip
    rows = []
    for n, each in enumerate(shown):
        at = each.at
        stretch = found[n] if at is None else next(
            (s for s in found if s.start % 86400 - 1 <= at <= s.start % 86400 + s.seconds + 1), None
        )  # fmt: skip
        if stretch is None:
            raise InputError("No steady stretch holds this time",
                             given=clock(at or 0.0), allowed=listed)  # fmt: skip
        rows.append(_error(each, stretch))
    return tuple(rows)


def _error(shown: ShownSpeed, stretch: Stretch) -> SpeedError:
    true = Band(max(0.1, stretch.speed - stretch.half), stretch.speed + stretch.half)
    return speed_error(shown, true, f"track, {clock(stretch.start)} to {clock(stretch.end)}")


def speed_error(shown: ShownSpeed, true: Band, how: str, number: int = 0) -> SpeedError:
    """A shown speed against the interval of a true one, by the band that decides.

    Parameters
    ----------
    shown : ShownSpeed
    true : Band
        [m/s]
    how : str
        How the true speed is known.
    number : int
        Of its entry in the book.
    """
    read = NEEDLE_KMH * KMH
    dial = Band(max(0.1, shown.speed - read), shown.speed + read)
    low, high = R39.true_band(shown.speed)
    # The needle's reading widens the true speed by as much.
    word = judge(true.low - read, true.high + read, low, high)
    return SpeedError(shown, true, dial - true, Band(dial.low / true.high, dial.high / true.low),
                      _STATES[word], how, number)  # fmt: skip


def common_factor(rows: Sequence[SpeedError]) -> Band | None:
    """Shown over true that all rows allow, or the span of their middles; None without rows."""
    if not rows:
        return None
    low, high = max(r.factor.low for r in rows), min(r.factor.high for r in rows)
    if low <= high:
        return Band(low, high)
    middles = [r.shown.speed / r.true.middle for r in rows]
    return Band(min(middles), max(middles))


def odometer(ride: Ride, shown_m: float, digit_m: float = 100.0) -> Band:
    """How much an odometer counted for each metre ridden.

    Parameters
    ----------
    ride : Ride
    shown_m : float
        Counted over the whole track [m]
    digit_m : float
        Its last digit: off by one either way [m]

    Returns
    -------
    Band
        Above 1 it counts too much [1]

    Raises
    ------
    InputError
        Nothing was ridden.
    """
    way, across = distance_ridden(ride)
    if way <= 0.0:
        raise InputError("Nothing was ridden on this track", given=f"{way:.0f} m")
    # Places wander a little and chords cut corners: half a percent; a gap may hide a tenth more.
    low, high = way * 0.995, way * 1.005 + 0.1 * across
    return Band(max(0.0, shown_m - digit_m) / high, (shown_m + digit_m) / low)


def steady(ride: Ride) -> tuple[Stretch, ...]:
    """The steady stretches of a ride."""
    return stretches(ride)


def dial_place(engine: EngineFile, shown: float) -> str:
    """The place a shown speed is kept at: '80 km/h', '60 mph'.

    Parameters
    ----------
    engine : EngineFile
    shown : float
        [m/s]
    """
    for kmh in TEST_SPEEDS_KMH:
        if abs(shown - kmh * KMH) < 0.02 * KMH:
            return f"{kmh} km/h"
    return show(shown, engine.show.unit("road speed"), "road speed")


def speed_of_place(place: str) -> float | None:
    """The shown speed a place stands for [m/s]; None where it is none."""
    try:
        return parse(place, "road speed").value_si
    except InputError:
        return None


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check for each test speed and each further speed once held on the dial.

    There are none where no speedometer is described or no rule is to hold.
    """
    table = engine.speedometer
    if table is None or table.rule == "none":
        return ()
    gears = gear_speeds(engine, state)
    top = gears[-1].at_red_line.high if gears and gears[-1].at_red_line else float("inf")
    wanted = {f"{kmh} km/h": kmh * KMH for kmh in TEST_SPEEDS_KMH
              if kmh <= 40 or kmh * KMH <= 0.9 * top}  # fmt: skip
    for entry in state.readings(SPEEDOMETER):
        held = speed_of_place(entry.body.place)
        if held is not None:
            wanted.setdefault(entry.body.place, held)
    return tuple(_check(place, held) for place, held in sorted(wanted.items(), key=lambda w: w[1]))


def _check(place: str, held: float) -> Check:
    low, high = R39.true_band(held)
    return Check(
        SPEEDOMETER, place, f"True speed while the dial shows {place}",
        "that it never shows too little, nor too much by the rule",
        f"Hold {place} on the dial on a straight, level, closed or empty road, a phone "
        "logging its position; read the true speed from the track (tickover speed).",
        HAND_OVER,
        cautions=("Eyes on the road: a passenger or the log does the reading.",
                  "Speed limits hold; a private track is better."),
        minutes=15.0, risk=0, group="road",
        # The needle is read to 1 km/h either way; 1.65 standard uncertainties make up as much.
        wanted=Wanted("value", "road speed", low, high, NEEDLE_KMH * KMH / 1.65),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the speedometer."""
    found = (simple_finding(engine, check, state) for check in checks(engine, state))
    return tuple(each for each in found if each is not None)


def speed_words(engine: EngineFile, band: Band) -> str:
    """A band of speeds in the unit the build shows."""
    unit = engine.show.unit("road speed")
    low, high = (show(v, unit, "road speed", decimals=1, with_unit=False) for v in
                 (band.low, band.high))  # fmt: skip
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
