"""One short line to a reading of a fit: 'cyl1 cylinder top along 61.012 mm'."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tickover.book.bodies import Reading
from tickover.engine import EngineFile
from tickover.engine.suggest import nearest_word
from tickover.engine.tables.fits import Fit
from tickover.errors import InputError
from tickover.quantities import parse, parse_range
from tickover.tasks.fit_verdict import FitReading, check_name
from tickover.tasks.fits import quantity_of

_BOUND = re.compile(r"(?:(?P<over>over|>)|(?P<under>under|no gap|<))\s*(?P<size>.*)", re.IGNORECASE)
_RANGE = re.compile(r"[\d.,]\s*[a-z\"]*\s*(?:\.\.|–|-|\bto\b|/|±|\+\s*-)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class FitLine:
    """What a line means: the fit, its place, and the reading for it."""

    fit: Fit
    place: str
    reading: FitReading
    typed: str


def understand_fit(engine: EngineFile, text: str) -> FitLine:
    """The reading a line means.

    Parameters
    ----------
    engine : EngineFile
    text : str
        Place and name of the fit in either order (the kind does where it is the only one there),
        then station and direction where the fit has them, then a value or range; a bare number
        is taken in the unit the build shows. 'cyl1 bore 61.012 mm', 'cyl2 top ring 0.2-0.25 mm',
        'cyl1 top ring over 0.60 mm'.

    Returns
    -------
    FitLine

    Raises
    ------
    InputError
        No such fit, several that could be meant, a station missing, no value, a foreign unit.
    """
    squeezed = " ".join(text.split())
    fit, place, rest = _fit_meant(engine, squeezed)
    station, rest = _word(rest, fit.stations)
    direction, rest = _word(rest, fit.directions)
    if not station and fit.stations:  # either order does
        station, rest = _word(rest, fit.stations)
    lacking = [
        f"{what} ({', '.join(words)})"
        for what, words, said in (
            ("station", fit.stations, station), ("direction", fit.directions, direction),
        )
        if words and not said
    ]  # fmt: skip
    if lacking:
        raise InputError(
            f"A reading of {fit.name} needs its {' and its '.join(lacking)}", given=text,
            instead=f"'{' '.join(w for w in (place, fit.name, *_first(fit)) if w)} {rest}'",
        )  # fmt: skip
    low, high = _ends(engine, fit, rest)
    return FitLine(fit, place, FitReading(low, high, station, direction, 0, rest), rest)


def fit_entry(line: FitLine, instrument: str = "") -> Reading:
    """The book's entry for a reading of a fit."""
    said = {"station": line.reading.station, "direction": line.reading.direction}
    return Reading(
        check_name(line.fit), line.place, line.reading.low_m, line.reading.high_m, "m", line.typed,
        instrument, {key: word for key, word in said.items() if word},
    )  # fmt: skip


def _ends(engine: EngineFile, fit: Fit, typed: str) -> tuple[float | None, float | None]:
    kind = quantity_of(fit)
    unit = engine.show.unit(kind)
    subject = f"A reading of {fit.name}"
    bound = _BOUND.fullmatch(typed)
    if bound:
        size = parse(bound["size"], kind, unit, subject).value_si
        return (size, None) if bound["over"] else (None, size)
    if _RANGE.search(typed):
        span = parse_range(typed.replace("/", "..", 1), kind, unit, subject)
        low, high = span.low_si, span.high_si
    else:
        low = high = parse(typed, kind, unit, subject).value_si
    if low < 0:
        raise InputError(f"{subject} cannot be negative", given=typed)
    allowed = [end for end in (*(fit.limits_m or ()), fit.wear_limit_m) if end]
    if fit.is_round and allowed and not 0.5 < high / max(allowed) < 2.0:
        raise InputError(
            f"{subject} is far from its limits", given=typed,
            allowed="a slip of unit or decimal point? The limits stand at "
            f"{max(allowed) * 1e3:.4g} mm",
        )  # fmt: skip
    return low, high


def _fit_meant(engine: EngineFile, text: str) -> tuple[Fit, str, str]:
    if not engine.fits:
        raise InputError("The engine file has no build measurements", instead="[[fits]] in it")
    ways: dict[str, set[tuple[int, str]]] = {}
    for i, fit in enumerate(engine.fits):
        for place in fit.places or ("",):
            for said in _spellings(fit, place):
                ways.setdefault(said, set()).add((i, place))
    folded = text.casefold()
    fitting = [said for said in ways if folded == said or folded.startswith(f"{said} ")]
    if not fitting:
        raise InputError(
            "No such fit", given=text, allowed=_listed(engine.fits),
            instead=_guess(folded, ways),
        )  # fmt: skip
    longest = max(fitting, key=len)
    meant = ways[longest]
    if len(meant) > 1:
        raise InputError(
            "This line could mean several fits", given=text,
            allowed="; ".join(
                f"{place} {engine.fits[i].name}".strip() for i, place in sorted(meant)
            ),
        )  # fmt: skip
    i, place = next(iter(meant))
    return engine.fits[i], place, text[len(longest) :].strip(" :=")


def _spellings(fit: Fit, place: str) -> Iterable[str]:
    name = fit.name.casefold()
    for words in (name, fit.kind, f"{name} {fit.kind}", f"{fit.kind} {name}", check_name(fit)):
        word = words.casefold()
        yield word
        if place:
            spaced = re.sub(r"(?<=[a-z])(?=\d)", " ", place)
            for where in {place, spaced}:
                yield f"{where} {word}"
                yield f"{word} {where}"


def _word(text: str, words: tuple[str, ...]) -> tuple[str, str]:
    folded = text.casefold()
    for word in sorted(words, key=len, reverse=True):
        if folded == word or folded.startswith(f"{word} "):
            return word, text[len(word) :].strip(" :=")
    return "", text


def _first(fit: Fit) -> tuple[str, ...]:
    return (*fit.stations[:1], *fit.directions[:1])


def _listed(fits: tuple[Fit, ...]) -> str:
    shown = [f"{(fit.places or ('',))[0]} {fit.name}".strip() for fit in fits[:12]]
    return "; ".join(shown) + (" ..." if len(fits) > 12 else "")


def _guess(text: str, ways: Iterable[str]) -> str:
    head = re.split(r"\s(?=[\d.,])", text)[0]
    near = nearest_word(head, ways)
    return f"'{near}' (did you mean that?)" if near else ""
