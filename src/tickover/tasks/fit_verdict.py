"""What readings of a build measurement say: mean, taper, out-of-round, clearance, verdict."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tickover.decide.intervals import judge, probability_inside
from tickover.engine import EngineFile
from tickover.engine.tables.fits import Fit
from tickover.physics.metrology import Estimate, clearance, rectangular_uncertainty
from tickover.tasks.finding import StateWord

GUARD = 1.65
"""Standard uncertainties kept inside a limit before a reading proves it: 95 percent, one side."""

_STATES: dict[str, StateWord] = {"in": "good", "out": "out", "undecided": "undecided"}

_WORST: tuple[StateWord, ...] = ("out", "undecided", "open", "good")


@dataclass(frozen=True, slots=True)
class FitReading:
    """One reading of a fit: where on the part, and from what to what [m].

    `low` and `high` are None on the side where the reading was only a bound; `number` is that of
    its entry, 0 without a book; `typed` how it was typed.
    """

    low_m: float | None
    high_m: float | None
    station: str = ""
    direction: str = ""
    number: int = 0
    typed: str = ""

    @property
    def middle_m(self) -> float:
        """The middle; the known end of a bound [m]."""
        ends = [end for end in (self.low_m, self.high_m) if end is not None]
        return math.fsum(ends) / len(ends)


@dataclass(frozen=True, slots=True)
class FitResult:
    """What the readings of one fit at one place say.

    mean: of all that count. worst: the reading nearest to being worn out. taper, out_of_round:
    None where the readings do not show them. missing: stations and directions not read.
    worn: outside the limits for new parts, inside the wear limit.
    """

    fit: Fit
    place: str
    state: StateWord
    readings: tuple[FitReading, ...] = ()
    missing: tuple[str, ...] = ()
    mean: Estimate | None = None
    worst: Estimate | None = None
    taper: Estimate | None = None
    out_of_round: Estimate | None = None
    worn: bool = False
    probability: float | None = None
    reasons: tuple[str, ...] = ()
    proof: int = 0
    parts: tuple[FitResult, ...] = ()

    @property
    def check_name(self) -> str:
        """The name its check and its readings go by."""
        return check_name(self.fit)


def check_name(fit: Fit) -> str:
    """The name of the check of a fit, its kind first: 'ring gap: top ring'."""
    return fit.kind if fit.name.lower() == fit.kind else f"{fit.kind}: {fit.name}"


def wanted_readings(fit: Fit) -> tuple[tuple[str, str], ...]:
    """Station and direction of every reading a fit asks for; one without words when it asks none.

    Examples
    --------
    >>> fit = Fit.model_validate({"name": "a", "kind": "bore", "directions": ["along", "across"]})
    >>> wanted_readings(fit)
    (('', 'along'), ('', 'across'))
    """
    return tuple((s, d) for s in fit.stations or ("",) for d in fit.directions or ("",))


def judge_fit(fit: Fit, place: str, readings: Sequence[FitReading]) -> FitResult:
    """What readings say of a fit.

    Parameters
    ----------
    fit : Fit
    place : str
    readings : sequence of FitReading
        In the order taken. At a named station and direction the latest counts; readings without
        either all count.

    Returns
    -------
    FitResult
        Judged reading by reading for a bore, journal or piston (the worst decides), by the mean
        for the rest.

    Notes
    -----
    One reading carries the standard uncertainty of its give or take, rectangular (GUM 4.3.7).
    Proof of either side needs 1.65 of them (ISO 14253-1, decision rules). Taper is the largest
    difference between the means of two stations, out-of-round that between two directions at one
    station (common practice, no source).
    """
    counted = _counted(readings)
    if not counted:
        return FitResult(fit, place, "open")
    spread = rectangular_uncertainty(fit.reading_error_m)
    by_place: dict[tuple[str, str], list[float]] = {}
    for reading in counted:
        by_place.setdefault((reading.station, reading.direction), []).append(reading.middle_m)
    missing = tuple(
        " ".join(part for part in key if part)
        for key in wanted_readings(fit)
        if key != ("", "") and key not in by_place
    )
    values = [reading.middle_m for reading in counted]
    mean = Estimate(math.fsum(values) / len(values), spread)
    worst = Estimate(min(values) if fit.shrinks else max(values), spread)
    taper, out_of_round = _shape(by_place, spread) if fit.is_round else (None, None)
    low, high = fit.allowed_m
    if fit.is_round:
        words = [_judged(r.low_m, r.high_m, spread, low, high) for r in counted]
        chances = [_chance(r.low_m, r.high_m, spread, low, high) for r in counted]
        known = [each for each in chances if each is not None]
        chance = min(known) if len(known) == len(chances) else None
    else:
        lows = [r.low_m for r in counted]
        highs = [r.high_m for r in counted]
        bottom, top = _average(lows), _average(highs)
        scatter = _scatter(values)
        spread = math.hypot(spread, scatter)
        mean = worst = Estimate(mean.value, spread)
        words = [_judged(bottom, top, spread, low, high)]
        chance = _chance(bottom, top, spread, low, high)
    reasons = []
    if "out" in words:
        reasons.append(_which_side(fit, values, low, high))
    for name, shape, limit in (
        ("taper", taper, fit.taper_limit_m), ("out of round", out_of_round, fit.round_limit_m),
    ):  # fmt: skip
        if shape is not None and limit is not None:
            word = _judged(shape.value, shape.value, shape.uncertainty, float("-inf"), limit)
            words.append(word)
            if word != "good":
                reasons.append(name if word == "out" else f"{name} too near its limit to tell")
    if missing:
        words.append("undecided")
        reasons.append(f"still to read: {', '.join(missing)}")
    state = next(word for word in _WORST if word in words)
    new = fit.limits_m
    worn = (
        state == "good"
        and new is not None
        and not new[0] <= worst.value <= new[1]
    )  # fmt: skip
    if fit.limits_m is None and fit.wear_limit_m is None and not reasons:
        reasons.append("no limits in the engine file")
    return FitResult(
        fit, place, state, counted, missing, mean, worst, taper, out_of_round, worn, chance,
        tuple(reasons), max(reading.number for reading in counted),
    )  # fmt: skip


def judge_between(fit: Fit, place: str, hole: FitResult, shaft: FitResult) -> FitResult:
    """The clearance between two measured parts.

    Parameters
    ----------
    fit : Fit
        The clearance.
    place : str
    hole, shaft : FitResult

    Returns
    -------
    FitResult
        Open until both are measured; no better than undecided while a part lacks readings. Its
        proof is the older of the two.

    Notes
    -----
    Difference of the means, uncertainties combined as independent (GUM 5.1.2); worst is the
    largest hole less the smallest shaft.
    """
    if hole.mean is None or shaft.mean is None or hole.worst is None or shaft.worst is None:
        return FitResult(fit, place, "open", parts=(hole, shaft))
    mean, worst = clearance(hole.mean, shaft.mean), clearance(hole.worst, shaft.worst)
    low, high = fit.allowed_m
    state = _judged(mean.value, mean.value, mean.uncertainty, low, high)
    reasons = [_which_side(fit, [mean.value], low, high)] if state == "out" else []
    if state == "good" and (hole.missing or shaft.missing):
        state = "undecided"
        reasons.append("a part still lacks readings")
    new = fit.limits_m
    return FitResult(
        fit, place, state,
        mean=mean, worst=worst,
        worn=state == "good" and new is not None and not new[0] <= mean.value <= new[1],
        probability=_chance(mean.value, mean.value, mean.uncertainty, low, high),
        reasons=tuple(reasons),
        proof=min(hole.proof, shaft.proof),
        parts=(hole, shaft),
    )  # fmt: skip


def judge_all(
    engine: EngineFile, readings_of: Callable[[Fit, str], Sequence[FitReading]]
) -> tuple[FitResult, ...]:
    """Every fit at every place, in the order of the engine file.

    `readings_of` gives the readings of a fit at a place; a clearance between two parts is worked
    out from them unless it was measured itself more recently.
    """
    single = {
        (check_name(fit), place): judge_fit(fit, place, readings_of(fit, place))
        for fit in engine.fits
        for place in fit.places or ("",)
    }
    parts = {fit.name.lower(): fit for fit in engine.fits if fit.is_round}
    found = []
    for (_, place), result in single.items():
        if result.fit.between:
            both = [parts[name] for name in result.fit.between]
            hole, shaft = (
                single[check_name(part), place if place in part.places else ""] for part in both
            )
            worked_out = judge_between(result.fit, place, hole, shaft)
            if result.state == "open" or worked_out.proof > result.proof:
                result = worked_out
        found.append(result)
    return tuple(found)


def _counted(readings: Sequence[FitReading]) -> tuple[FitReading, ...]:
    named: dict[tuple[str, str], FitReading] = {}
    plain = []
    for reading in readings:
        key = (reading.station, reading.direction)
        if key == ("", ""):
            plain.append(reading)
        else:
            named[key] = reading
    return (*named.values(), *plain)


def _shape(
    by_place: dict[tuple[str, str], list[float]], spread: float
) -> tuple[Estimate | None, Estimate | None]:
    middles = {key: math.fsum(values) / len(values) for key, values in by_place.items()}
    stations: dict[str, list[float]] = {}
    for (station, _), value in middles.items():
        stations.setdefault(station, []).append(value)
    means = [math.fsum(v) / len(v) for station, v in stations.items() if station]
    both = math.hypot(spread, spread)  # a difference of two readings
    taper = Estimate(max(means) - min(means), both) if len(means) > 1 else None
    swings = [max(v) - min(v) for v in stations.values() if len(v) > 1]
    return taper, Estimate(max(swings), both) if swings else None


def _judged(
    low: float | None, high: float | None, spread: float, lower: float, upper: float
) -> StateWord:
    half = GUARD * spread
    start = float("-inf") if low is None else low - half
    end = float("inf") if high is None else high + half
    return _STATES[judge(start, end, lower, upper)]


def _chance(
    low: float | None, high: float | None, spread: float, lower: float, upper: float
) -> float | None:
    """Probability of lying inside; None for a bound, which gives none by itself."""
    if low is None or high is None:
        return None
    return float(probability_inside(lower, upper, low, high, spread))


def _average(ends: Sequence[float | None]) -> float | None:
    known = [end for end in ends if end is not None]
    return math.fsum(known) / len(known) if len(known) == len(ends) else None


def _scatter(values: Sequence[float]) -> float:
    """Standard uncertainty of the mean from the scatter of repeated readings (GUM 4.2.3)."""
    count = len(values)
    if count < 2:
        return 0.0
    mean = math.fsum(values) / count
    return math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (count - 1) / count)


def _which_side(fit: Fit, values: Sequence[float], low: float, high: float) -> str:
    if max(values) > high:
        past = fit.wear_limit_m is not None and not fit.shrinks
        return "worn past the wear limit" if past else "too large"
    if min(values) < low:
        past = fit.wear_limit_m is not None and fit.shrinks
        return "worn past the wear limit" if past else "too small"
    return "outside the limits"
