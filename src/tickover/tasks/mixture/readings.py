"""Mixture readings: numbers from a sensor, or words with the sign that was seen.

A reading is taken at an opening and a speed. What is typed is read in the spellings people use
('1/4', '25 %', 'full'), and refused with what to write instead when it cannot be meant.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from tickover.errors import InputError
from tickover.quantities import parse_number

Verdict = Literal["rich", "about right", "lean"]

ROAD_RPM = ((0.0, 1200.0), (0.0625, 2500.0), (0.125, 3800.0), (0.25, 5200.0), (0.5, 7000.0),
            (0.75, 8200.0), (1.0, 9000.0))  # fmt: skip
"""Speed a machine runs at on a level road, for an engine that gives its best at 8500 rpm."""


@dataclass(frozen=True, slots=True)
class Sign:
    """A word people use for what they saw, and what it says about the mixture."""

    word: str
    verdict: Verdict
    weight: float
    """How much it is worth against a plain 'rich' or 'lean' [-]"""
    says: str
    elsewhere: str
    """What else makes the same sign."""


# Common practice, no source.
SIGNS: tuple[Sign, ...] = (
    Sign("rich", "rich", 1.0, "rich", ""),
    Sign("about right", "about right", 1.0, "about right", ""),
    Sign("lean", "lean", 1.0, "lean", ""),
    Sign("sooty plug", "rich", 1.0, "rich", "a plug too cold, oil, much idling before the reading"),
    Sign("white plug", "lean", 0.8, "lean", "a plug too hot, ignition too early or too late"),
    Sign("black smoke", "rich", 1.0, "rich", "a float too high, a choke left on"),
    Sign("hunting", "rich", 0.6, "rich: the idle rises and falls in a slow beat", "an air leak"),
    Sign("eight-stroking", "rich", 1.0, "rich: it fires every other time", "a weak spark"),
    Sign("hanging idle", "lean", 0.8, "lean: the idle comes down late",
         "an air leak, a cable too tight, ignition advance that sticks"),
    Sign("popping on the overrun", "lean", 0.5, "lean on the pilot", "an exhaust leak"),
    Sign("flat spot", "lean", 0.5, "lean as the throttle opens", "ignition, a slide opened too "
         "fast at low speed"),
    Sign("bogging", "rich", 0.5, "rich as the throttle opens", "opened too fast at low speed"),
    Sign("surging", "lean", 0.8, "lean at a steady throttle", "fuel starvation"),
    Sign("pinking", "lean", 1.0, "pinking: lean, or ignition too early, or poor fuel",
         "ignition too early, fuel, deposits, a plug too hot"),
)  # fmt: skip
_SIGN_BY_WORD = {sign.word: sign for sign in SIGNS}
_ALSO = {
    "right": "about right", "ok": "about right", "good": "about right", "weak": "lean",
    "knock": "pinking", "knocking": "pinking", "pinging": "pinking", "detonation": "pinking",
    "sooty": "sooty plug", "hanging": "hanging idle", "surge": "surging", "eight stroking":
    "eight-stroking", "four-stroking": "eight-stroking", "bog": "bogging",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of the mixture.

    Parameters
    ----------
    opening : float
        Share of the grip's way from idle stop to full [-]
    speed_rpm : float
        [rpm]
    lam : float or None
        Lambda, where a sensor was read [-]
    sign : Sign or None
        The word, where there was none.
    spread : float
        Standard deviation of ln lambda from the reading alone [-]
    note : str
    where : str
        Row or entry it came from.
    """

    opening: float
    speed_rpm: float
    lam: float | None = None
    sign: Sign | None = None
    spread: float = 0.02
    note: str = ""
    where: str = ""


def parse_opening(text: str, where: str = "") -> float:
    """An opening as a share from 0 to 1.

    Parameters
    ----------
    text : str
        "idle", "1/4", "25 %", "25", "0.25", "full", "wide open"; a bare number above 1 is percent.
    where : str
        For the message.

    Returns
    -------
    float
        [-]

    Raises
    ------
    InputError
        If it is no opening, or more than full.

    Examples
    --------
    >>> [parse_opening(t) for t in ("idle", "1/8", "25 %", "75", "0,5", "full")]
    [0.0, 0.125, 0.25, 0.75, 0.5, 1.0]
    """
    words = {"idle": 0.0, "shut": 0.0, "quarter": 0.25, "half": 0.5, "full": 1.0, "wide open": 1.0}
    plain = text.strip().lower()
    if plain in words:
        return words[plain]
    percent = plain.endswith("%")
    number = plain.removesuffix("%").strip()
    try:
        value = float(parse_number(number, "An opening"))
    except InputError as error:
        raise InputError(
            "This is not an opening of the throttle",
            given=text,
            allowed="idle, a fraction, a percentage, or full",
            instead="'1/4', '25 %' or 'full'",
            where=where,
        ) from error
    if percent or value > 1.0:
        value /= 100.0
    if not 0.0 <= value <= 1.0:
        raise InputError(
            "The throttle cannot be opened further than full",
            given=text,
            allowed="0 to 100 percent",
            instead=f"'{min(max(value, 0.0), 1.0) * 100:g} %' if that is what was meant",
            where=where,
        )
    return value


def parse_lambda(text: str, stoichiometric_ratio: float, where: str = "") -> float:
    """Lambda from a typed lambda, or from an air/fuel ratio that says it is one.

    Parameters
    ----------
    text : str
        "0.92", "0,92", or "13.2 AFR".
    stoichiometric_ratio : float
        Of the fuel on which the meter's air/fuel scale is based [kg/kg]
    where : str
        For the message.

    Returns
    -------
    float
        [-]

    Raises
    ------
    InputError
        If a bare number looks like an air/fuel ratio, or no engine could run at it.

    Examples
    --------
    >>> parse_lambda("0,92", 14.58)
    0.92
    >>> print(f"{parse_lambda('13.2 AFR', 14.7):.3f}")
    0.898
    """
    plain = text.strip().lower()
    match = re.fullmatch(r"(.*?)\s*(afr|a/f|:\s*1)", plain)
    number = match.group(1) if match else plain
    value = float(parse_number(number, "A lambda"))
    if match:
        lam = value / stoichiometric_ratio
    elif 8.0 <= value <= 25.0:
        raise InputError(
            "This is an air/fuel ratio, not lambda",
            given=text,
            allowed="lambda between 0.5 and 1.6",
            instead=f"'{value:g} AFR', or '{value / stoichiometric_ratio:.3f}'",
            where=where,
        )
    else:
        lam = value
    if not 0.5 <= lam <= 1.6:
        raise InputError(
            "No engine runs at this mixture; the sensor was cold, out of range, or misread",
            given=text,
            allowed="lambda between 0.5 and 1.6",
            instead="the reading again once the sensor is hot and the engine runs steadily",
            where=where,
        )
    return lam


def parse_sign(text: str, where: str = "") -> Sign:
    """The sign behind a word.

    Raises
    ------
    InputError
        If the word is not one we know the meaning of.

    Examples
    --------
    >>> parse_sign("Sooty").verdict
    'rich'
    """
    plain = " ".join(text.strip().lower().replace("_", " ").split())
    sign = _SIGN_BY_WORD.get(_ALSO.get(plain, plain))
    if sign is None:
        raise InputError(
            "This word says nothing certain about the mixture",
            given=text,
            allowed=", ".join(s.word for s in SIGNS),
            instead="the nearest of these, and the rest as a note",
            where=where,
        )
    return sign


def parse_speed(text: str, where: str = "") -> float:
    """A speed of the engine in rpm.

    Examples
    --------
    >>> parse_speed("4500 rpm")
    4500.0
    """
    number = re.sub(r"\s*(rpm|/min|1/min)\s*$", "", text.strip().lower())
    value = float(parse_number(number, "An engine speed"))
    if 0.3 <= value <= 20.0:
        value *= 1000.0
    if not 300.0 <= value <= 20000.0:
        raise InputError(
            "No engine of this kind runs at this speed",
            given=text,
            allowed="300 to 20000 rpm",
            instead="the speed in rpm, such as '4500'",
            where=where,
        )
    return value


def road_speed_rpm(opening: float) -> float:
    """Speed a machine settles at on a level road, where none was noted [rpm].

    Examples
    --------
    >>> road_speed_rpm(0.25)
    5200.0
    """
    for (a, low), (b, high) in itertools.pairwise(ROAD_RPM):
        if opening <= b:
            return low + (high - low) * (opening - a) / (b - a)
    return ROAD_RPM[-1][1]


def reading_from_row(
    row: dict[str, str], where: str, stoichiometric_ratio: float = 14.58
) -> Reading:
    """One reading from the columns opening, speed, lambda, word, note.

    Parameters
    ----------
    row : dict
        Text by column; speed, lambda, word and note may be missing or empty.
    where : str
        File and row.
    stoichiometric_ratio : float
        [kg/kg]

    Returns
    -------
    Reading

    Raises
    ------
    InputError
        If a value cannot be used, or there is neither a lambda nor a word.

    Examples
    --------
    >>> reading_from_row({"opening": "1/4", "speed": "5200", "lambda": "0,93"}, "row 2").lam
    0.93
    """
    cells = {key.strip().lower(): (value or "").strip() for key, value in row.items()}
    if not cells.get("opening"):
        raise InputError(
            "A mixture reading needs the opening it was taken at",
            allowed="idle, a fraction, a percentage, or full",
            instead="'1/4' in the column opening",
            where=where,
        )
    opening = parse_opening(cells["opening"], where)
    speed = parse_speed(cells["speed"], where) if cells.get("speed") else road_speed_rpm(opening)
    lam = cells.get("lambda", "")
    afr = cells.get("afr", "")
    word = cells.get("word", "")
    if not lam and afr:
        lam = afr if "a" in afr.lower() else f"{afr} AFR"
    if not lam and not word:
        raise InputError(
            "Neither a lambda nor a word stands in this row",
            allowed="one of the two",
            instead="'0.92' under lambda, or 'rich', 'about right' or 'lean' under word",
            where=where,
        )
    return Reading(
        opening=opening,
        speed_rpm=speed,
        lam=parse_lambda(lam, stoichiometric_ratio, where) if lam else None,
        sign=parse_sign(word, where) if word else None,
        note=cells.get("note", ""),
        where=where,
    )


def check_together(readings: Sequence[Reading]) -> None:
    """Refuse readings of one set-up that cannot all be true.

    Parameters
    ----------
    readings : sequence of Reading
        Taken with the same jets.

    Raises
    ------
    InputError
        If eight or more numbers are all the same (a sensor that is cold or stuck), or if two
        words, or a word and a number, contradict each other at the same point.
    """
    numbers = [r.lam for r in readings if r.lam is not None]
    if len(numbers) >= 8 and max(numbers) - min(numbers) < 5e-4:
        raise InputError(
            "All readings are equal, which no engine does over its range",
            given=f"{len(numbers)} times lambda {numbers[0]:g}",
            allowed="readings that move with opening and speed",
            instead="the readings again after checking that the sensor is hot and plugged in",
        )
    words = [r for r in readings if r.sign is not None]
    for i, one in enumerate(words):
        for other in words[i + 1 :]:
            if _same_place(one, other) and {_verdict(one), _verdict(other)} == {"rich", "lean"}:
                raise InputError(
                    "Two words contradict each other at the same opening and speed",
                    given=f"'{_word(one)}' ({one.where}) and '{_word(other)}' ({other.where})",
                    allowed="one of them, or two different points",
                    instead="the one you trust, and strike the other out",
                )
    for reading in words:
        if reading.lam is None:
            continue
        if (_verdict(reading) == "lean" and reading.lam < 0.80) or (
            _verdict(reading) == "rich" and reading.lam > 1.10
        ):
            raise InputError(
                "The word and the number of this reading contradict each other",
                given=f"'{_word(reading)}' with lambda {reading.lam:g}",
                allowed="a word that fits the number",
                instead="the one you trust; a misfire makes a rich engine read lean",
                where=reading.where,
            )


def _same_place(a: Reading, b: Reading) -> bool:
    near_opening = abs(math.sqrt(a.opening) - math.sqrt(b.opening)) < 0.03
    return near_opening and abs(a.speed_rpm - b.speed_rpm) < 0.08 * max(a.speed_rpm, b.speed_rpm)


def _verdict(reading: Reading) -> str:
    return reading.sign.verdict if reading.sign else ""


def _word(reading: Reading) -> str:
    return reading.sign.word if reading.sign else ""
