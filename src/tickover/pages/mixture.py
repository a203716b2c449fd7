"""The mixture page: a stop first, then what to change, what to expect, what to read next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.head import Head
from tickover.pages.mixture_words import (
    RoadLine,
    RoundLines,
    WantLine,
    breathes_words,
    buy_words,
    effort_words,
    lean_words,
    next_words,
    note_words,
    road_lines,
    round_lines,
    step_words,
    verdict_words,
    want_line,
)
from tickover.pages.why import Why
from tickover.pages.wording import sentence
from tickover.tasks.mixture.adjusters import Influence, influence
from tickover.tasks.mixture.advice import Advice
from tickover.tasks.mixture.cover import Cover, cheapest_cover, wanted_mains
from tickover.tasks.mixture.in_book import (
    CAUTIONS,
    HOW,
    MixtureBook,
    book_advice,
    book_stop,
    setting_words,
)
from tickover.tasks.mixture.target import HALF_THROTTLE, Target
from tickover.tasks.mixture.trim import Trim, air_of

RULE_WORDS = (
    "The trade's rule: pilot jet and screw to a quarter, cutaway about an eighth to a quarter, "
    "needle a quarter to three quarters, main jet above (common practice, no source). The strips "
    "show how far it holds here."
)
MASKED = (
    "A struck-through square is not said: below 3000 rpm beyond a quarter open, and on the "
    "overrun, the sums mean nothing."
)


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
    rich_first: str
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
        verdict=verdict_words(book, advice, refused, stop),
        stop=stop.why if stop is not None else "",
        look_first=tuple(sentence(s) for s in stop.look_first) if stop is not None else (),
        richer=tuple(step_words(s) for s in advice.richer) if advice is not None else (),
        steps=tuple(step_words(s) for s in advice.steps) if advice is not None else (),
        effort=effort_words(advice),
        rich_first="" if advice is None else advice.rich_first,
        in_now=sentence(setting_words(book, book.setting)),
        breathes=breathes_words(engine, book.trim),
        road=road_lines(advice),
        lean_words=lean_words(advice),
        influence=moved,
        rule=RULE_WORDS,
        next_reading=next_words(advice, book),
        rounds=round_lines(engine, book),
        wants=tuple(want_line(w, book) for w in cover.wants) if cover is not None else (),
        buy=buy_words(cover),
        notes=note_words(advice, book),
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
