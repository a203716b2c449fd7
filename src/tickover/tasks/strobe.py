"""Timing under the strobe: readings against the book's curve, and what to move by how much."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tickover.book.bodies import Reading
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.crank import piston_drop
from tickover.physics.rotor import rotor_arc
from tickover.quantities import kind_of, parse, parse_number
from tickover.tasks.ignition import ADVANCE
from tickover.tasks.listen.in_book import HeardSpeed
from tickover.tasks.mixture.readings import parse_speed

# A mark read under a strobe by hand is good to about a degree (common practice, no source).
_READ_DEG = 1.0
_SLOPE_MATTERS = 2.0


@dataclass(frozen=True, slots=True)
class StrobeReading:
    """One reading: degrees before top dead centre at a speed."""

    speed_rpm: float
    degrees: float
    spread: float = _READ_DEG


@dataclass(frozen=True, slots=True)
class StrobeLine:
    """A reading beside what the curve wants, and beside what it will be once the plate is moved."""

    speed_rpm: float
    read: float
    wanted: float
    off: float
    after: float


@dataclass(frozen=True, slots=True)
class StrobeFinding:
    """What the strobe says.

    Parameters
    ----------
    lines : tuple of StrobeLine
    correction : float
        To add to the timing, later is negative [crank degrees]
    uncertainty : float
        Standard deviation of it [crank degrees]
    plate_degrees : float
        The same at the plate [degrees]
    plate_arc : float or None
        Along the plate's rim, where its radius is known [m]
    piston_before, piston_after : float or None
        Piston below top dead centre at the lowest speed read, as it is and as it will be [m]
    worst_after : float
        Largest difference left once the plate is moved [crank degrees]
    within : bool
        Nothing to do: the correction is smaller than it can be read.
    says : tuple of str
    """

    lines: tuple[StrobeLine, ...]
    correction: float
    uncertainty: float
    plate_degrees: float
    plate_arc: float | None
    piston_before: float | None
    piston_after: float | None
    worst_after: float
    within: bool
    says: tuple[str, ...]


def compare(
    readings: Sequence[StrobeReading],
    curve: Sequence[tuple[float, float]],
    plate_turns_with: str = "camshaft",
    plate_radius: float | None = None,
    crank_radius: float | None = None,
    rod_length: float | None = None,
) -> StrobeFinding:
    """Readings against the curve, with the correction.

    Parameters
    ----------
    readings : sequence of StrobeReading
    curve : sequence of (float, float)
        Speed [rpm] and degrees before top dead centre, speeds rising; straight in between.
    plate_turns_with : str
        "camshaft" (a plate degree is two crank degrees) or "crankshaft".
    plate_radius : float, optional
        To the plate's rim or screw slots [m]
    crank_radius, rod_length : float, optional
        For piston drop [m]

    Returns
    -------
    StrobeFinding

    Raises
    ------
    InputError
        If there is no reading, the curve is empty or does not rise, or a reading is impossible.

    Examples
    --------
    >>> found = compare([StrobeReading(1200, 8), StrobeReading(4000, 31)],
    ...                 [(1000, 10), (1500, 10), (3500, 35), (9000, 35)], plate_radius=0.035)
    >>> print(f"{found.correction:+.1f} crank, {found.plate_degrees:+.1f} plate, "
    ...       f"{1000 * found.plate_arc:+.2f} mm")
    +3.0 crank, +1.5 plate, +0.92 mm
    """
    _check(readings, curve, plate_turns_with)
    speeds = np.array([r.speed_rpm for r in readings])
    read = np.array([r.degrees for r in readings])
    weight = 1.0 / np.array([r.spread for r in readings]) ** 2
    wanted = np.array([expected_at(curve, speed) for speed in speeds])
    off = read - wanted
    correction = -float(np.sum(weight * off) / np.sum(weight))
    uncertainty = float(1.0 / math.sqrt(np.sum(weight)))
    after = read + correction
    left = off + correction
    share = 0.5 if plate_turns_with == "camshaft" else 1.0
    plate = correction * share
    arc = None if plate_radius is None else rotor_arc(math.radians(plate), 2.0 * plate_radius)
    drops: tuple[float | None, float | None] = (None, None)
    first = int(np.argmin(speeds))
    if crank_radius is not None and rod_length is not None:
        drops = (
            piston_drop(math.radians(float(read[first])), crank_radius, rod_length),
            piston_drop(math.radians(float(after[first])), crank_radius, rod_length),
        )
    within = abs(correction) < 2.0 * uncertainty and abs(correction) < 2.0
    return StrobeFinding(
        lines=tuple(
            StrobeLine(float(s), float(r), float(w), float(o), float(a))
            for s, r, w, o, a in zip(speeds, read, wanted, off, after, strict=True)
        ),
        correction=correction,
        uncertainty=uncertainty,
        plate_degrees=plate,
        plate_arc=arc,
        piston_before=drops[0],
        piston_after=drops[1],
        worst_after=float(np.max(np.abs(left))),
        within=within,
        says=_says(speeds, left, weight, correction, within),
    )


def expected_at(curve: Sequence[tuple[float, float]], speed_rpm: float) -> float:
    """Degrees before the top the curve wants at a speed; flat beyond its ends.

    Examples
    --------
    >>> expected_at([(1000, 10), (2000, 20)], 1500.0)
    15.0
    """
    return float(np.interp(speed_rpm, [s for s, _ in curve], [d for _, d in curve]))


def reading_of_words(text: str) -> StrobeReading:
    """A strobe reading from a few words.

    Parameters
    ----------
    text : str
        "1200:8", "4000 rpm 31 deg"

    Returns
    -------
    StrobeReading

    Raises
    ------
    InputError
        If it is not a speed and an angle.

    Examples
    --------
    >>> reading_of_words("1200:8")
    StrobeReading(speed_rpm=1200.0, degrees=8.0, spread=1.0)
    """
    plain = text.casefold().replace("rpm", " ").replace("deg", " ").replace("°", " ")
    parts = plain.replace(":", " ").replace("@", " ").split()
    if len(parts) != 2:
        raise InputError(
            "A strobe reading is a speed and an angle",
            given=text,
            allowed="rpm and degrees before the top",
            instead="'1200:8'",
        )
    speed, angle = (float(parse_number(part, "A strobe reading")) for part in parts)
    return StrobeReading(speed, angle)


def strobe_entry(engine: EngineFile, speed: str, degrees: str) -> Reading:
    """The book's entry of one strobe reading.

    Parameters
    ----------
    engine : EngineFile
    speed : str
        "4000", "4000 rpm"
    degrees : str
        Before the top: "31", "31 deg"

    Returns
    -------
    Reading
        At the point of the book's curve it was meant for, where one is within a tenth of the speed.

    Raises
    ------
    InputError
        If either is missing or cannot be meant.
    """
    if not speed or not degrees:
        raise InputError("A strobe reading is a speed and an angle",
                         given=f"{speed} {degrees}".strip(), allowed="rpm and degrees",
                         instead="both")  # fmt: skip
    rpm = parse_speed(speed)
    angle = parse(degrees, "angle", "deg", "The timing").value_si
    if not -60.0 <= angle <= 80.0:
        raise InputError("No engine sparks there", given=degrees,
                         allowed="up to 80 degrees before the top",
                         instead="what the lamp shows against the pointer")  # fmt: skip
    points = [60.0 * hz for hz, _ in engine.ignition.advance] if engine.ignition else []
    near = [point for point in points if abs(point - rpm) <= 0.1 * point]
    place = min(near, key=lambda point: abs(point - rpm)) if near else rpm
    typed = f"{degrees} at {speed}"
    return Reading(ADVANCE, f"{place:.0f} rpm", angle, angle, kind_of("angle").si, typed, "strobe",
                   {"speed_hz": rpm / 60.0})  # fmt: skip


HEARD = "heard"


def reading_at_heard_idle(
    degrees: float, idle: HeardSpeed | None, curve: Sequence[tuple[float, float]]
) -> StrobeReading:
    """A strobe reading at the idle speed read off a recording, its doubt carried along the curve.

    Parameters
    ----------
    degrees : float
        Before the top [deg]
    idle : HeardSpeed or None
    curve : sequence of (speed [1/min], advance [deg])

    Returns
    -------
    StrobeReading
        Its spread holds the hand's degree and the speed's doubt times the slope of the curve.

    Raises
    ------
    InputError
        No recording gave an idle speed, or it was moved since.
    """
    now = _as_it_is_now(idle)
    return StrobeReading(now.rpm, degrees, heard_spread(now.low, now.high, curve))


def heard_spread(low: float, high: float, curve: Sequence[tuple[float, float]]) -> float:
    """Standard uncertainty of a reading whose speed was heard between two ends [deg].

    Parameters
    ----------
    low, high : float
        Ends of the 95 % interval of the speed [1/min]
    curve : sequence of (speed [1/min], advance [deg])
    """
    speeds, advances = [row[0] for row in curve], [row[1] for row in curve]
    at_low, at_high = np.interp([low, high], speeds, advances)
    # low to high is a 95 % interval: four standard deviations wide, near enough
    return float(np.hypot(_READ_DEG, (at_high - at_low) / 3.92))


def heard_entry(engine: EngineFile, degrees: str, idle: HeardSpeed | None) -> Reading:
    """The book's entry of a strobe reading at the idle speed read off a recording.

    Raises
    ------
    InputError
        As `strobe_entry` and `reading_at_heard_idle`.
    """
    now = _as_it_is_now(idle)
    made = strobe_entry(engine, f"{now.rpm:.0f}", degrees)
    ends = {"speed_low_hz": now.low / 60.0, "speed_high_hz": now.high / 60.0}
    conditions = {**made.conditions, **ends, "heard_entry": now.number}
    return replace(made, typed=f"{degrees} at the idle heard", conditions=conditions)


def _as_it_is_now(idle: HeardSpeed | None) -> HeardSpeed:
    if idle is None or idle.overtaken:
        raise InputError(
            "No recording gives the idle speed as it is now",
            given=f"{idle.overtaken} since entry {idle.number}" if idle is not None else "",
            instead="tickover listen idle.wav --keep, or the speed in rpm",
        )
    return idle


def strobe_line(engine: EngineFile, text: str) -> Reading:
    """The entry a short line means: '4000 31', '4000 rpm 31 deg'."""
    read = reading_of_words(text)
    return strobe_entry(engine, f"{read.speed_rpm:g}", f"{read.degrees:g} deg")


def _check(
    readings: Sequence[StrobeReading], curve: Sequence[tuple[float, float]], turns_with: str
) -> None:
    if not readings:
        raise InputError(
            "There is no strobe reading yet",
            allowed="one speed or more",
            instead="'1200 rpm 10 deg'",
        )
    if not curve or any(b[0] <= a[0] for a, b in itertools.pairwise(curve)):
        raise InputError(
            "The advance curve wants rising speeds",
            given=", ".join(f"{s:g}" for s, _ in curve) or "nothing",
            allowed="pairs of rpm and degrees",
            instead="[[1500, 12], [3000, 38]]",
        )
    if turns_with not in ("camshaft", "crankshaft"):
        raise InputError(
            "The plate turns with the camshaft or with the crankshaft",
            given=turns_with,
            allowed="camshaft, crankshaft",
            instead="'camshaft'",
        )
    for reading in readings:
        if not -20.0 <= reading.degrees <= 80.0 or not 200.0 <= reading.speed_rpm <= 20000.0:
            raise InputError(
                "No engine is timed like this",
                given=f"{reading.degrees:g} deg at {reading.speed_rpm:g} rpm",
                allowed="-20 to 80 degrees before top dead centre, 200 to 20000 rpm",
                instead="degrees of the crank, before top dead centre",
            )


def _says(
    speeds: np.ndarray[tuple[int], np.dtype[np.float64]],
    left: np.ndarray[tuple[int], np.dtype[np.float64]],
    weight: np.ndarray[tuple[int], np.dtype[np.float64]],
    correction: float,
    within: bool,
) -> tuple[str, ...]:
    says = []
    if within:
        says.append("The timing is right as far as a strobe can tell; leave the plate alone.")
    elif correction < 0.0:
        says.append("The spark comes too early. Too early is what pinks: retard it before riding.")
    else:
        says.append("The spark comes too late: it runs hot and weak.")
    if speeds.size >= 2 and float(np.max(np.abs(left))) > _SLOPE_MATTERS * _READ_DEG:
        centred = speeds - np.sum(weight * speeds) / np.sum(weight)
        slope = float(np.sum(weight * centred * left) / max(np.sum(weight * centred**2), 1e-12))
        if slope < 0.0:
            says.append(
                "It advances too little with speed: moving the plate cannot mend that. Look at "
                "the advance weights and springs, or the advance table."
            )
        else:
            says.append(
                "It advances too much with speed: moving the plate cannot mend that. Look at the "
                "advance springs and stops; set the plate by the highest speed first."
            )
    return tuple(says)
