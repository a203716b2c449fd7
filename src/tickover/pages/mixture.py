"""The mixture page: a stop first, then what to change, what to expect, what to read next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.drawing.mixture_pictures import MapSquare, influence_strips, mixture_map
from tickover.pages.head import Head
from tickover.pages.why import Why
from tickover.pages.wording import listed, minutes_words, money, percent, sentence
from tickover.quantities import show
from tickover.tasks.mixture.adjusters import MARK_NAMES, MARKS, Influence, influence
from tickover.tasks.mixture.advice import Advice, MapCell, Step
from tickover.tasks.mixture.cover import Cover, Want, cheapest_cover, wanted_mains
from tickover.tasks.mixture.in_book import (
    CAUTIONS,
    HOW,
    MixtureBook,
    book_advice,
    book_stop,
    setting_words,
)
from tickover.tasks.mixture.readings import Reading
from tickover.tasks.mixture.stops import Stop
from tickover.tasks.mixture.tables import advice_json
from tickover.tasks.mixture.target import HALF_THROTTLE, LEAN_MARGIN, Target
from tickover.tasks.mixture.trim import Trim, air_of

RULE_WORDS = (
    "The trade's rule: pilot jet and screw to a quarter, cutaway about an eighth to a quarter, "
    "needle a quarter to three quarters, main jet above (common practice, no source). The strips "
    "show how far it holds here."
)
_HARMLESS = 0.02
_RULE_PLACES = {"pilot jet": (0, 3), "screw": (0, 3), "cutaway": (2, 3), "needle": (3, 5),
                "main jet": (5, 6)}  # fmt: skip


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


@dataclass(frozen=True, slots=True)
class MixturePage:
    """Everything page, sheet, screen and JSON of the mixture show."""

    head: Head | None
    title: str
    verdict: str
    stop: str
    look_first: tuple[str, ...]
    richer: tuple[str, ...]
    steps: tuple[str, ...]
    effort: str
    in_now: str
    breathes: str
    road: tuple[RoadLine, ...]
    lean_words: str
    influence: tuple[Influence, ...]
    rule: str
    next_reading: str
    rounds: tuple[RoundLines, ...]
    wants: tuple[WantLine, ...]
    buy: str
    notes: tuple[str, ...]
    assumed: tuple[str, ...]
    how: str
    cautions: tuple[str, ...]
    whys: tuple[Why, ...]
    masked: str
    refused: InputError | None
    advice: Advice | None
    cover: Cover | None
    book: MixtureBook

    @property
    def settled(self) -> bool:
        """Whether nothing is to be changed, nothing stops, and full throttle is hardly lean."""
        advice = self.advice
        return (
            advice is not None
            and advice.stop is None
            and not advice.steps
            and advice.lean_before < 0.10
        )


MASKED = (
    "A struck-through square is not said: below 3000 rpm beyond a quarter open, and on the "
    "overrun, the sums mean nothing."
)


def mixture_page(
    engine: EngineFile,
    book: MixtureBook,
    head: Head | None = None,
    states: Sequence[Trim] = (),
    target: Target | None = None,
) -> MixturePage:
    """The mixture page of a build, or of files.

    Parameters
    ----------
    engine : EngineFile
    book : MixtureBook
    head : Head, optional
    states : sequence of Trim
        States to have jets ready for, besides the one it is in.
    target : Target, optional

    Returns
    -------
    MixturePage
        Readings that contradict each other stand in `refused`, with no advice.
    """
    advice: Advice | None = None
    refused: InputError | None = None
    if book.rounds or book.file.known_good is not None:
        try:
            advice = book_advice(book, target)
        except InputError as error:
            refused = error
    cover = _cover(book, states, target or Target())
    air = air_of(book.trim, book.machine.carburettor, book.machine.engine,
                 book.machine.top_speed_rpm)  # fmt: skip
    moved = advice.influence if advice is not None else influence(
        book.machine.carburettor, book.machine.engine, book.setting, air,
        top_speed_rpm=book.machine.top_speed_rpm,
    )  # fmt: skip
    # Readings that contradict each other give no advice; they never hide a stop.
    stop = advice.stop if advice is not None else book_stop(book, target)
    return MixturePage(
        head=head,
        title="Mixture",
        verdict=_verdict(book, advice, refused, stop),
        stop=stop.why if stop is not None else "",
        look_first=tuple(sentence(s) for s in stop.look_first) if stop is not None else (),
        richer=tuple(_step(s) for s in advice.richer) if advice is not None else (),
        steps=tuple(_step(s) for s in advice.steps) if advice is not None else (),
        effort=_effort(advice),
        in_now=sentence(setting_words(book, book.setting)),
        breathes=_breathes(engine, book.trim),
        road=_road(advice),
        lean_words=_lean(advice),
        influence=moved,
        rule=RULE_WORDS,
        next_reading=_next(advice, book),
        rounds=_rounds(engine, book),
        wants=tuple(_want(w, book) for w in cover.wants) if cover is not None else (),
        buy=_buy(cover),
        notes=_notes(advice, book),
        assumed=book.file.assumed,
        how=HOW,
        cautions=CAUTIONS,
        whys=_whys(book, advice),
        masked=MASKED,
        refused=refused,
        advice=advice,
        cover=cover,
        book=book,
    )


def _verdict(
    book: MixtureBook, advice: Advice | None, refused: InputError | None, stop: Stop | None
) -> str:
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


def _step(step: Step) -> str:
    return f"{step.what[:1].upper()}{step.what[1:]}: {step.was} to {step.to}"


def _effort(advice: Advice | None) -> str:
    if advice is None or not advice.steps:
        return ""
    bought = f"; {money(advice.money)} to buy" if advice.money else "; nothing to buy"
    return f"{sentence(minutes_words(advice.minutes))[:-1]} on the stand{bought}."


def _breathes(engine: EngineFile, trim: Trim) -> str:
    box = "open filters" if trim.box_depression == 0.0 else (
        f"air box, {show(trim.box_depression, 'cmH2O', 'pressure')} at full throttle"
    )  # fmt: skip
    baffles = "baffles in" if trim.baffles else "baffles out"
    return f"{trim.altitude:.0f} m above the sea, {box}, {baffles}."


def _lam(cell: MapCell) -> str:
    return f"{cell.lam:.2f} ({cell.low:.2f} to {cell.high:.2f})"


def _road(advice: Advice | None) -> tuple[RoadLine, ...]:
    if advice is None:
        return ()
    lines = []
    for name, before, after in zip(MARK_NAMES, advice.road_before, advice.road_after, strict=True):
        lines.append(
            RoadLine(
                f"{name}, {before.speed_rpm:.0f} rpm",
                f"{before.target:.2f}",
                _lam(before),
                _lam(after) if advice.steps else "",
                percent(after.probability_lean),
            )
        )
    return tuple(lines)


def _lean(advice: Advice | None) -> str:
    if advice is None:
        return ""
    now = percent(advice.lean_before)
    then = f", {percent(advice.lean_after)} after the change" if advice.steps else ""
    return (
        f"Chance that some point above half throttle is more than {100 * LEAN_MARGIN:.0f} % leaner "
        f"than it should be: {now} now{then}."
    )


def _next(advice: Advice | None, book: MixtureBook) -> str:
    if advice is None or advice.next_reading is None:
        return "First reading: three quarters open, hot engine, on the rich side; then full."
    reading = advice.next_reading
    when = "after the change" if advice.steps else "next"
    return (
        f"Read {when}: {opening_words(reading.opening)} at {50 * round(reading.speed_rpm / 50)} "
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


def _rounds(engine: EngineFile, book: MixtureBook) -> tuple[RoundLines, ...]:
    made = []
    for n, (one, trim) in enumerate(zip(book.rounds, book.trims, strict=True), 1):
        numbers = book.numbers[n - 1] or (0,) * len(one.readings)
        made.append(
            RoundLines(
                f"Round {n}",
                sentence(setting_words(book, one.setting)),
                _breathes(engine, trim),
                tuple(
                    ReadingLine(reading_words(r), k)
                    for r, k in zip(one.readings, numbers, strict=True)
                ),
            )
        )
    return tuple(made)


def _cover(book: MixtureBook, states: Sequence[Trim], target: Target) -> Cover | None:
    good = book.file.known_good
    if good is None:
        return None
    machine = book.machine
    now = Trim("as it is now", book.trim.altitude, book.trim.temperature, book.trim.humidity,
               book.trim.box_depression, book.trim.baffles, book.trim.ethanol)  # fmt: skip
    wants = wanted_mains(machine.carburettor, machine.engine, good[0], good[1], [now, *states],
                         target, machine.top_speed_rpm)  # fmt: skip
    return cheapest_cover(machine.drawer, machine.drawer.mains, wants)


def _want(want: Want, book: MixtureBook) -> WantLine:
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


def _buy(cover: Cover | None) -> str:
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


def _notes(advice: Advice | None, book: MixtureBook) -> tuple[str, ...]:
    notes = list(advice.notes) if advice is not None else []
    if len(book.file.machine.drawer.mains) and book.machine.drawer.carburettors > 1:
        notes.append(
            "One sensor in a merged pipe reads the mean: it hides one lean cylinder. Look at every "
            "plug, and balance first."
        )
    return tuple(notes)


def _whys(book: MixtureBook, advice: Advice | None) -> tuple[Why, ...]:
    c, e = book.machine.carburettor, book.machine.engine
    readings = sum(len(r.readings) for r in book.rounds)
    looked = f"{advice.looked_at} settings looked at" if advice is not None else "no advice yet"
    return (
        Why(
            "The mixture expected",
            (
                f"bore {c.bore * 1e3:g} mm, needle jet {c.needle_jet * 1e3:g} mm, {c.kind}, "
                f"{e.swept * 1e6:.0f} cm3 a cylinder",
                f"{readings} readings in {len(book.rounds)} rounds",
            ),
            "air: isentropic throttle against what the cylinder takes; signal b g^2 (1 + B ((p/p0 "
            "- 0.6)/0.4)^3) (p0 - p); fuel: main jet and needle annulus in series, pilot as an "
            "emulsion; four factors and a smooth rest fitted to the readings",
            "throttle: NACA 1135; filling: Heywood 1988, section 6.2 (from memory); the rest is "
            "our model",
            "changes are predicted, not absolute jets; a change of jets is believed to a quarter "
            "of itself; blind trials: python bench/blind_mixture.py",
        ),
        Why(
            "What to fit",
            (looked, "jets in the drawer, prices, minutes on the stand"),
            "every setting scored by the mean square of ln(lambda/target), lean counted four times "
            f"from {HALF_THROTTLE:g} open up, aimed 2.5 percent rich there; the chance of a lean "
            "point, minutes and money added",
            "minutes: common practice, no source; weights: our judgement, tried on invented "
            "carburettors",
            "the best of the list, not the best there is",
        ),
        Why(
            "Which jets to have ready",
            ("the set-up that ran right, and the states asked for",),
            "jet area with the root of air density through the whole model; box: head without the "
            "box's pull, 1.4 times (1.3 to 1.8) the steady change; sizes: cheapest cover, exact",
            "density: CIPM-2007, ISO 2533; pulsation: our crank-resolved runs, no source",
            "80 percent intervals; the exhaust hardly counts through filling, more through "
            "pulsation",
        ),
    )


def map_pictures(page: MixturePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The map after the change (or as it is, where nothing is to be changed)."""
    if page.advice is None:
        return ""
    return mixture_map(_squares(page.advice.after), width=width, embedded=embedded)


def influence_picture(page: MixturePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """What a step of each adjuster does here."""
    rows = [(i.adjuster, i.step, i.percent) for i in page.influence]
    return influence_strips(rows, MARK_NAMES, _RULE_PLACES, width=width, embedded=embedded)


def _squares(cells: Sequence[MapCell]) -> list[MapSquare]:
    made = []
    for cell in cells:
        off = cell.lam / cell.target - 1.0
        made.append(
            MapSquare(
                opening_words(cell.opening),
                f"{cell.speed_rpm:.0f}",
                cell.lam if cell.means_something else None,
                off,
                cell.opening >= HALF_THROTTLE and off > LEAN_MARGIN and cell.means_something,
            )
        )
    return made


def map_rows(page: MixturePage) -> list[tuple[str, ...]]:
    """The map as a table: a head, then a row for each speed, the highest first."""
    if page.advice is None:
        return []
    cells = page.advice.after
    openings = list(dict.fromkeys(c.opening for c in cells))
    at = {(c.opening, c.speed_rpm): c for c in cells}
    rows = [("rpm", *(opening_words(t) for t in openings))]
    for speed in sorted({c.speed_rpm for c in cells}, reverse=True):
        rows.append((f"{speed:.0f}", *(_square_words(at.get((t, speed))) for t in openings)))
    return rows


def _square_words(cell: MapCell | None) -> str:
    if cell is None:
        return ""
    if not cell.means_something:
        return "-"
    off = cell.lam / cell.target - 1.0
    return f"{cell.lam:.2f}{'▲' if off > _HARMLESS else '▼' if off < -_HARMLESS else ' '}"


def mixture_json(page: MixturePage) -> dict[str, Any]:
    """The page as plain values: `stop` first, then the advice and what to have ready."""
    if page.advice is None:
        data: dict[str, Any] = {
            "stop": page.stop or None,
            "look_first": list(page.look_first),
            "advice": [],
            "refused": None if page.refused is None else str(page.refused),
            "influence": {
                i.adjuster: {"step": i.step, "opening": list(i.openings),
                             "percent": [round(x, 2) for x in i.percent]}
                for i in page.influence
            },
        }  # fmt: skip
    else:
        data = advice_json(page.advice)
    data["verdict"] = page.verdict
    data["in_now"] = page.in_now
    if page.cover is not None:
        data["have_ready"] = {
            "states": [
                {"state": w.trim.name, "bore_mm": round(w.bore * 1e3, 4),
                 "low_mm": round(w.low * 1e3, 4), "high_mm": round(w.high * 1e3, 4),
                 "uncertain": list(w.uncertain)}
                for w in page.cover.wants
            ],
            "sizes": [jet.mark for jet in page.cover.use],
            "buy": [{"jet": jet.mark, "count": n} for jet, n in page.cover.buy],
            "cost": page.cover.cost,
            "uncovered": [w.trim.name for w in page.cover.uncovered],
        }  # fmt: skip
    return data
