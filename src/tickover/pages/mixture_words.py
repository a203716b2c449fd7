"""The mixture in words: the verdict, each change, the road, the rounds, what to have ready."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.wording import dial_speed, listed, minutes_words, money, percent, sentence
from tickover.quantities import show
from tickover.tasks.mixture.adjusters import MARK_NAMES, MARKS
from tickover.tasks.mixture.advice import Advice, MapCell, Step
from tickover.tasks.mixture.cover import Cover, Want
from tickover.tasks.mixture.in_book import MixtureBook, setting_words
from tickover.tasks.mixture.readings import Reading
from tickover.tasks.mixture.stops import Stop
from tickover.tasks.mixture.target import LEAN_MARGIN
from tickover.tasks.mixture.trim import Trim


@dataclass(frozen=True, slots=True)
class RoadLine:
    """The mixture at one opening along the road, before and after."""

    opening: str
    target: str
    before: str
    after: str
    lean: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading as shown, with the number of its entry (0 without a book)."""

    words: str
    entry: int


@dataclass(frozen=True, slots=True)
class RoundLines:
    """One round as shown."""

    title: str
    setting: str
    air: str
    readings: tuple[ReadingLine, ...]


@dataclass(frozen=True, slots=True)
class WantLine:
    """The main jet one state wants, as shown."""

    state: str
    jet: str
    interval: str
    uncertain: str


def verdict_words(
    book: MixtureBook, advice: Advice | None, refused: InputError | None, stop: Stop | None
) -> str:
    """Stop, leave it, or what to change, in one sentence."""
    if stop is not None:
        return f"Stop. {stop.why}"
    if refused is not None:
        return "These readings cannot all be meant."
    if advice is None:
        return "Nothing is read yet, and the engine file names no set-up that ran right."
    since = "" if book.rounds else " from what is known of another state, before any reading"
    if not advice.steps:
        lean = f" Lean above half throttle: {percent(advice.lean_before)}."
        return f"Leave it as it is{since}.{lean}"
    what = listed([f"{s.what} {s.was} to {s.to}" for s in advice.steps])
    return f"Change{since}: {what}."


def step_words(step: Step) -> str:
    """One change: what was, what is to be."""
    return f"{step.what[:1].upper()}{step.what[1:]}: {step.was} to {step.to}"


def effort_words(advice: Advice | None) -> str:
    """Minutes and money of the change; empty where nothing is changed."""
    if advice is None or not advice.steps:
        return ""
    bought = f"; {money(advice.money)} to buy" if advice.money else "; nothing to buy"
    return f"{sentence(minutes_words(advice.minutes))[:-1]} on the stand{bought}."


def breathes_words(engine: EngineFile, trim: Trim) -> str:
    """What it breathes: height, box or open filters, baffles."""
    box = "open filters" if trim.box_depression == 0.0 else (
        f"air box, {show(trim.box_depression, 'cmH2O', 'pressure')} at full throttle"
    )  # fmt: skip
    baffles = "baffles in" if trim.baffles else "baffles out"
    return f"{trim.altitude:.0f} m above the sea, {box}, {baffles}."


def _lam(cell: MapCell) -> str:
    return f"{cell.lam:.2f} ({cell.low:.2f} to {cell.high:.2f})"


def road_lines(advice: Advice | None) -> tuple[RoadLine, ...]:
    """The mixture along the road, before and after."""
    if advice is None:
        return ()
    lines = []
    for name, before, after in zip(MARK_NAMES, advice.road_before, advice.road_after, strict=True):
        lines.append(
            RoadLine(
                f"{name}, {dial_speed(before.speed_rpm)} rpm",
                f"{before.target:.2f}",
                _lam(before),
                _lam(after) if advice.steps else "",
                percent(after.probability_lean),
            )
        )
    return tuple(lines)


def lean_words(advice: Advice | None) -> str:
    """The chance of a lean point above half throttle."""
    if advice is None:
        return ""
    now = percent(advice.lean_before)
    then = f", {percent(advice.lean_after)} after the change" if advice.steps else ""
    return (
        f"Chance that some point above half throttle is more than {100 * LEAN_MARGIN:.0f} % leaner "
        f"than it should be: {now} now{then}."
    )


def next_words(advice: Advice | None, book: MixtureBook) -> str:
    """What to read next."""
    if advice is None or advice.next_reading is None:
        return "First reading: three quarters open, hot engine, on the rich side; then full."
    reading = advice.next_reading
    when = "after the change" if advice.steps else "next"
    return (
        f"Read {when}: {opening_words(reading.opening)} at {dial_speed(reading.speed_rpm)} "
        f"rpm; that one takes {percent(reading.narrows)} of what is not known."
    )


def opening_words(opening: float) -> str:
    """An opening as people say it.

    >>> opening_words(0.0), opening_words(0.25), opening_words(0.4), opening_words(1.0)
    ('idle', '1/4', '40 %', 'full')
    """
    for mark, name in zip(MARKS, MARK_NAMES, strict=True):
        if abs(opening - mark) < 0.004:
            return name
    return "3/8" if abs(opening - 0.375) < 0.004 else f"{100 * opening:.0f} %"


def reading_words(reading: Reading) -> str:
    """A reading in one line."""
    what = []
    if reading.lam is not None:
        what.append(f"lambda {reading.lam:.3f}")
    if reading.sign is not None:
        what.append(reading.sign.word)
    note = f" ({reading.note})" if reading.note else ""
    return f"{opening_words(reading.opening)}, {reading.speed_rpm:.0f} rpm: {listed(what)}{note}"


def round_lines(engine: EngineFile, book: MixtureBook) -> tuple[RoundLines, ...]:
    """Every round of readings with what was in."""
    made = []
    for n, (one, trim) in enumerate(zip(book.rounds, book.trims, strict=True), 1):
        numbers = book.numbers[n - 1] or (0,) * len(one.readings)
        made.append(
            RoundLines(
                f"Round {n}",
                sentence(setting_words(book, one.setting)),
                breathes_words(engine, trim),
                tuple(
                    ReadingLine(reading_words(r), k)
                    for r, k in zip(one.readings, numbers, strict=True)
                ),
            )
        )
    return tuple(made)


def want_line(want: Want, book: MixtureBook) -> WantLine:
    """The main jet one state wants."""
    mains = book.machine.drawer.mains
    nearest = min(mains, key=lambda jet: abs(jet.bore - want.bore))
    beyond = not mains[0].bore * 0.985 <= want.bore <= mains[-1].bore * 1.03
    jet = f"none in the series ({want.bore * 1e3:.2f} mm)" if beyond else nearest.mark
    return WantLine(
        want.trim.name,
        jet,
        f"{want.low * 1e3:.2f} to {want.high * 1e3:.2f} mm",
        sentence("; ".join(want.uncertain)) if want.uncertain else "",
    )


def buy_words(cover: Cover | None) -> str:
    """Which main jets to have ready, and what to buy."""
    if cover is None:
        return (
            "Name a set-up that ran right under [carburettors.known_good], and the jets to have "
            "ready for height, weather and open filters are worked out from it."
        )
    sizes = listed([jet.mark for jet in cover.use])
    if not cover.buy:
        words = f"Main jets {sizes} cover these states, and all are in the drawer."
    else:
        bought = listed([f"{count} of {jet.mark}" for jet, count in cover.buy])
        words = f"Main jets {sizes} cover these states. To buy: {bought}, {money(cover.cost)}."
    if cover.uncovered:
        names = listed([w.trim.name for w in cover.uncovered])
        words += f" No size of the series will do for: {names}."
    return words


def note_words(advice: Advice | None, book: MixtureBook) -> tuple[str, ...]:
    """What else to know of the advice."""
    notes = list(advice.notes) if advice is not None else []
    if len(book.file.machine.drawer.mains) and book.machine.drawer.carburettors > 1:
        notes.append(
            "One sensor in a merged pipe reads the mean: it hides one lean cylinder. Look at every "
            "plug, and balance first."
        )
    return tuple(notes)
