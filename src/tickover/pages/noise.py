"""The noise page: how to hold the meter, what was read, the limit, baffles in and out."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import minutes_words, sentence
from tickover.plan.checks import check_states
from tickover.tasks import noise as task
from tickover.tasks import noise_rules as rules
from tickover.tasks.exhaust import exhaust_condition


@dataclass(frozen=True, slots=True)
class NoiseLine:
    """One outlet with one exhaust."""

    where: str
    silencers: str
    mean: str
    band: str
    readings: tuple[str, ...]
    notes: tuple[str, ...]
    state: str
    counts: bool


@dataclass(frozen=True, slots=True)
class NoisePage:
    """Everything the noise page shows."""

    title: str
    verdict: str
    state: str
    limit: str
    test_speed: str
    exhaust: str
    method: tuple[str, ...]
    lines: tuple[NoiseLine, ...]
    compared: tuple[str, ...]
    exposure: str
    rules: tuple[tuple[str, str, str], ...]
    other: tuple[str, ...]
    drive_by: tuple[tuple[str, str], ...]
    missing: tuple[str, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    all_good: bool
    outlets: tuple[str, ...] = ("1",)
    head: Head | None = None


def noise_page(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> NoisePage:
    """The page of the stationary noise test.

    Parameters
    ----------
    engine : EngineFile
    state : State
        With the readings.
    head : Head
    """
    book = state if state is not None else State()
    table = engine.noise
    found = task.outlet_levels(engine, book)
    deciding = task.standing(engine, book)
    item = next((s for s in check_states(engine, book) if s.check.name == task.NOISE), None)
    word = item.state if item is not None else "open"
    at = task.test_speed(engine)
    limit = table.limit_db if table else None
    loudest = max((each.band.high for each in found if not each.void), default=None)
    return NoisePage(
        title="Stationary noise",
        verdict=_verdict(engine, item.finding.text if item and item.finding else "", word),
        state=word,
        limit=f"{limit:g} dB(A), given by {table.given_by}" if table and limit is not None else "",
        test_speed=f"{60 * at.hz:.0f} rpm, by {at.rule} ({at.known})" if at else "",
        exhaust=exhaust_condition(engine, book),
        method=METHOD,
        lines=tuple(_line(each, each in deciding) for each in found),
        compared=tuple(_compared(each) for each in task.compared(found)),
        exposure=_exposure(loudest),
        rules=rules.RULES,
        other=_other(engine),
        drive_by=rules.DRIVE_BY,
        missing=tuple(str(gap) for gap in table.fallen_away(engine)) if table else (
            "There is no [noise] table in the engine file: limit and rated_power_speed go there",
        ),
        whys=(WHY_LEVEL, WHY_WEIGHT, WHY_EXPOSURE),
        cautions=task.CAUTIONS,
        all_good=word in ("good", "accepted"),
        outlets=tuple(str(n) for n in range(1, (table.outlets if table else 1) + 1)),
        head=head,
    )  # fmt: skip


def _verdict(engine: EngineFile, text: str, word: str) -> str:
    limit = engine.noise.limit_db if engine.noise else None
    if limit is None:
        return "No limit is entered: readings are shown, nothing is judged."
    if word == "open" or not text:
        return f"Nothing is read yet; the limit is {limit:g} dB(A)."
    words = {
        "good": f"within {limit:g} dB(A)",
        "out": f"above {limit:g} dB(A)",
        "undecided": f"cannot be told from {limit:g} dB(A)",
        "stale": "void, the exhaust was worked on since",
        "accepted": "accepted",
    }
    return sentence(f"{words[word]}: {text}")


def _line(found: task.OutletLevel, counts: bool) -> NoiseLine:
    readings = tuple(
        f"{level.level:.1f} dB(A)"
        + (f", {level.alone:.1f} without the background" if level.alone is not None else "")
        + (f", entry {level.number}")
        for level in found.levels
    )
    notes = (*found.notes, *((f"void since: {found.void}",) if found.void else ()))
    return NoiseLine(
        f"outlet {found.outlet}", found.silencers or "not said", f"{found.mean:.1f} dB(A)",
        f"{found.band.low:.1f} to {found.band.high:.1f} dB(A)", readings, notes,
        "stale" if found.void else found.state, counts and not found.void,
    )  # fmt: skip


def _compared(found: task.Compared) -> str:
    low, high = found.less.low, found.less.high
    words = f"Outlet {found.outlet}: {found.quieter} against {found.louder}"
    if low <= 0.0:
        return f"{words}: no difference can be told, {low:.1f} to {high:.1f} dB less."
    return f"{words}: {low:.1f} to {high:.1f} dB less."


def _exposure(level: float | None) -> str:
    if level is None:
        return "Without a reading: at 94 dB(A) NIOSH allows 60 minutes a day, at 100 only 15."
    times = rules.bearable(level)
    if times is None:
        return f"At {level:.1f} dB(A) no time at all is allowed without protection."
    niosh, osha = (minutes_words(each) for each in times)
    return (f"Whoever holds the meter, at {level:.1f} dB(A), taken as loud at the ear as at the "
            f"meter: {niosh} a day without protection by NIOSH; {osha} by OSHA, for comparison."
            )  # fmt: skip


def _other(engine: EngineFile) -> tuple[str, ...]:
    made = []
    for test in rules.sae_j2825(engine):
        at = "at idle" if test.hz is None else f"at {60 * test.hz:.0f} rpm"
        made.append(f"SAE J2825, {at}: at most {test.most:g} dB(A)")
    return tuple(made)


def noise_json(page: NoisePage) -> dict[str, Any]:
    """The page as plain data."""
    return asdict(page)


METHOD = (
    "Outdoors on hard ground, no wall or person within 3 m; no wind to speak of.",
    "Meter 0.5 m from the outlet, 45 degrees off the axis of the gas, at its height and 0.2 m "
    "above ground at least; pointing at the outlet.",
    "Meter to A and fast, highest value held. Engine off first: write the background.",
    "Warm, neutral. Hold the test speed steady, shut the throttle quickly; write the highest.",
    "Three times at each outlet. Then the same with the baffles in, or out.",
)
WHY_LEVEL = Why(
    "What counts, and how sure",
    ("readings at one outlet with one exhaust", "background", "the meter's error"),
    "mean of the readings +- sqrt((t s / sqrt n)^2 + meter^2); without background "
    "10 lg(10^(L/10) - 10^(B/10))",
    "97/24/EC chapter 9, UN R41 (third party); Student's t; level arithmetic",
    "95 % for the readings; the meter 1.5 dB either way unless the file says (our assumption)",
)
WHY_WEIGHT = Why(
    "From octave levels to dB(A)",
    ("octave levels without weighting",),
    "10 lg sum 10^((L + A(f)) / 10), A at the exact middle of each band",
    "IEC 61672-1, design goal of the A-weighting",
    "some tenths of a decibel: a band is not weighted quite as its middle is",
)
WHY_EXPOSURE = Why(
    "How long an ear may bear it",
    ("the upper end of the loudest reading",),
    "t = 480 / 2^((L - 85) / 3) minutes",
    "NIOSH publication 98-126 (1998); OSHA 29 CFR 1910.95 for comparison",
    "the level at the ear is taken for that at the meter: our assumption",
)
