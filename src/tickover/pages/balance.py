"""The balance page: which screw next, how far, and when it is no carburettor."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tickover.engine import EngineFile
from tickover.pages.drawing.mixture_pictures import rack_picture
from tickover.pages.head import Head
from tickover.pages.listen import idle_notes
from tickover.pages.why import Why
from tickover.pages.wording import listed, place_words, sentence
from tickover.quantities import show, to_unit
from tickover.tasks.balance import TOLERANCE_PA, Balance, Rack, balance_json
from tickover.tasks.balance_book import CAUTIONS, HOW, BalanceBook, book_balance


@dataclass(frozen=True, slots=True)
class GaugeLine:
    """One carburettor as shown."""

    place: str
    name: str
    vacuum: str
    expected: str
    beyond: str


@dataclass(frozen=True, slots=True)
class BalancePage:
    """Everything page, sheet, screen and JSON of the balance show."""

    head: Head | None
    title: str
    verdict: str
    turn: str
    likely: str
    gauges: tuple[GaugeLine, ...]
    history: tuple[str, ...]
    suspicions: tuple[str, ...]
    notes: tuple[str, ...]
    read_next: tuple[str, ...]
    how: str
    cautions: tuple[str, ...]
    whys: tuple[Why, ...]
    unit: str
    rack: Rack
    vacuum: Mapping[str, float]
    found: Balance | None

    @property
    def balanced(self) -> bool:
        """Whether the rack is balanced."""
        return self.found is not None and self.found.balanced


def balance_page(engine: EngineFile, book: BalanceBook, head: Head | None = None) -> BalancePage:
    """The balance page of a build, or of files.

    Parameters
    ----------
    engine : EngineFile
    book : BalanceBook
    head : Head, optional

    Returns
    -------
    BalancePage
    """
    unit = engine.show.unit("vacuum")
    found: Balance | None = None
    if not book.missing:
        found = book_balance(book)
    vacuum = dict(book.rounds[-1].vacuum) if found is not None else book.now
    return BalancePage(
        head=head,
        title="Carburettor balance",
        verdict=_verdict(book, found, unit),
        turn=_turn(book.rack, found),
        likely=_likely(found, unit),
        gauges=tuple(
            GaugeLine(
                name,
                place_words(name),
                show(vacuum[name], unit, "pressure") if name in vacuum else "",
                _expected(found, name, vacuum, unit),
                _hangs(book.rack, name),
            )
            for name in book.rack.carburettors
        ),
        history=_history(book, unit),
        suspicions=tuple(sentence(s) for s in found.suspicions) if found is not None else (),
        notes=(*(found.notes if found is not None else ()), *idle_notes(book.idle)),
        read_next=book.missing,
        how=HOW,
        cautions=CAUTIONS,
        whys=_whys(found, unit),
        unit=unit,
        rack=book.rack,
        vacuum=vacuum,
        found=found,
    )


def turns_words(turns: float) -> str:
    """A turn of a screw as people say it.

    >>> turns_words(0.25), turns_words(-0.125), turns_words(1.5)
    ('1/4 turn in', '1/8 turn out', '1 1/2 turns in')
    """
    way = "in" if turns > 0 else "out"
    part = Fraction(abs(turns)).limit_denominator(24)
    whole, rest = divmod(part, 1)
    words = " ".join(str(p) for p in (whole, rest) if p)
    return f"{words or '0'} turn{'s' if part > 1 else ''} {way}"


def _verdict(book: BalanceBook, found: Balance | None, unit: str) -> str:
    if found is None:
        if not book.rounds and len(book.missing) == len(book.rack.carburettors):
            return "Nothing is read yet."
        missing = listed([place_words(c) for c in book.missing])
        return f"Read {missing} too: a turn counts only when all gauges have been read after it."
    spread = show(found.spread, unit, "pressure")
    if found.balanced:
        return f"Balanced: {spread} between the highest and the lowest. Idle speed last."
    screws = "one screw" if found.still_to_do == 1 else f"{found.still_to_do} screws"
    return f"Not balanced: {spread} apart; {screws} to turn."


def _turn(rack: Rack, found: Balance | None) -> str:
    if found is None or not found.screw:
        return ""
    screw = next(s for s in rack.screws if s.name == found.screw)
    moves = listed([place_words(c) for c in sorted(rack.beyond(screw))])
    # the way first: 'screw 2-1 1/4 turn' reads as one number
    amount, way = turns_words(found.turns).rsplit(" ", 1)
    return f"Turn {found.screw} {way} by {amount} (it moves {moves}). In opens what it moves."


def _likely(found: Balance | None, unit: str) -> str:
    if found is None or not found.screw:
        return ""
    low, high = sorted(abs(t) for t in found.likely)
    gain = show(found.gain[found.screw], unit, "pressure")
    return (
        f"A turn of it is believed to be worth {gain}; the right place lies between "
        f"{low:.2f} and {high:.2f} turns, four times in five."
    )


def _expected(found: Balance | None, name: str, vacuum: Mapping[str, float], unit: str) -> str:
    if found is None or not found.screw or abs(found.expected[name] - vacuum[name]) < 1.0:
        return ""
    return show(found.expected[name], unit, "pressure")


def _hangs(rack: Rack, name: str) -> str:
    if name == rack.base:
        return "the cable pulls this one"
    screw = next(s for s in rack.screws if s.far == name)
    return f"hangs on {place_words(screw.near)} by {screw.name}"


def _history(book: BalanceBook, unit: str) -> tuple[str, ...]:
    lines = []
    for n, look in enumerate(book.rounds, 1):
        values = ", ".join(
            show(look.vacuum[c], unit, "pressure", with_unit=False) for c in book.rack.carburettors
        )
        spread = show(max(look.vacuum.values()) - min(look.vacuum.values()), unit, "pressure")
        after = f" after {look.turned} {turns_words(look.turns)}" if look.turned else ""
        lines.append(f"Round {n}{after}: {values} {unit}; {spread} apart.")
    return tuple(lines)


def _whys(found: Balance | None, unit: str) -> tuple[Why, ...]:
    gains: tuple[str, ...] = ()
    if found is not None:
        gains = tuple(f"{n}: {show(g, unit, 'pressure')} a turn" for n, g in found.gain.items())
    return (
        Why(
            "Which screw and how far",
            (*gains, f"balanced within {show(TOLERANCE_PA, unit, 'pressure')}"),
            "fewest screws whose parts agree within the tolerance when they are left rigid; of "
            "those the largest difference first; turns = difference over gain; every look corrects "
            "the gain of its screw and, by what they share, of the others",
            "gain before the first turn: 14 kPa, spread of a factor 1.8: our crank-resolved runs "
            "of invented racks, no source; tolerance: common practice, no source",
            "on invented racks 4.4 turns on four carburettors against 4.6 for the largest "
            "difference first",
        ),
    )


def balance_picture(page: BalancePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The rack with its vacuum, the next screw marked."""
    names = page.rack.carburettors
    shown = [
        (
            c.removeprefix("carb"),
            to_unit(page.vacuum[c], page.unit, "pressure") if c in page.vacuum else None,
        )
        for c in names
    ]
    screws = [(s.name, names.index(s.near), names.index(s.far)) for s in page.rack.screws]
    chosen = page.found.screw if page.found is not None else ""
    return rack_picture(shown, screws, chosen, page.unit, width=width, embedded=embedded)


def balance_page_json(page: BalancePage) -> dict[str, Any]:
    """The page as plain values."""
    data: dict[str, Any] = {"verdict": page.verdict, "read_next": list(page.read_next)}
    if page.found is not None:
        data |= balance_json(page.found)
    return data
