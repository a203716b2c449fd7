"""Balancing and the book: rounds of the gauges from entries, and the entries it writes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.book.bodies import Reading, Work
from tickover.book.csvfile import Source, read_table
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import parse_number
from tickover.tasks.balance import Balance, Rack, VacuumRound, balance, parse_vacuum
from tickover.tasks.exhaust import AIR, CLAMPS
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.listen.in_book import HeardSpeed, heard_idle
from tickover.tasks.mixture.from_file import rack_from_file

VACUUM = "inlet vacuum"
TURNED = "balance screw turned"
CHECK = "carburettor balance"
_NO_GAP_M = 15e-6

CAUTIONS = (
    "Carbon monoxide: the engine runs for minutes; in the open, or with the exhaust led out.",
    "A standing engine has no wind: a fan in front of it, and stop when it gets hot.",
    "Fuel from an open tap or a bottle: fixed above the engine, away from the exhaust.",
    "Long hair, sleeves and tools clear of chain, belt and rotor; hot pipes everywhere.",
)
HOW = (
    "Engine warm, clearances and ignition right, air leaks gone; gauges damped alike and checked "
    "against each other on one cylinder; blip the throttle after each turn."
)


@dataclass(frozen=True, slots=True)
class BalanceBook:
    """What the book says about the balance.

    `rounds` are complete; `missing` are the carburettors still to be read since the last turn;
    `raised` is a complete look at raised speed, where there is one since; `idle` the idle speed
    last read off a recording.
    """

    rack: Rack
    rounds: tuple[VacuumRound, ...]
    missing: tuple[str, ...]
    raised: dict[str, float] | None
    evidence: dict[str, tuple[str, ...]]
    proof: int
    now: dict[str, float]
    idle: HeardSpeed | None = None


def vacuum_entry(rack: Rack, place: str, typed: str, at: str = "idle") -> Reading:
    """The entry of one gauge.

    Parameters
    ----------
    rack : Rack
    place : str
        "carb2", or "2"
    typed : str
        "22 cmHg"
    at : str
        "idle" or "raised"

    Raises
    ------
    InputError
        If there is no such carburettor, or no cylinder pulls this.
    """
    name = place.strip().casefold().replace(" ", "")
    name = f"carb{name}" if name.isdigit() else name
    if name not in rack.carburettors:
        raise InputError("There is no such carburettor", given=place,
                         allowed=", ".join(rack.carburettors))  # fmt: skip
    if at not in ("idle", "raised"):
        raise InputError("The vacuum is read at idle or raised", given=at, allowed="idle, raised",
                         instead="'idle'")  # fmt: skip
    value = parse_vacuum(typed, where=name)
    return Reading(VACUUM, name, value, value, "Pa", typed, "", {"at": at})


def turned_entry(rack: Rack, screw: str, turns: str) -> Work:
    """The entry of one turn of a screw.

    Parameters
    ----------
    rack : Rack
    screw : str
        Its name.
    turns : str
        "in 1/4", "out 0.5", "-1/8"; in is positive

    Raises
    ------
    InputError
        If there is no such screw, or no turn was given.
    """
    names = [s.name for s in rack.screws]
    name = screw.strip().casefold()
    name = name if name.startswith("screw") else f"screw {name}"
    if name not in names:
        raise InputError("There is no such screw on this rack", given=screw,
                         allowed=", ".join(names))  # fmt: skip
    text = turns.strip().casefold().removesuffix("turns").removesuffix("turn").strip()
    sign = 1.0
    for word, meant in (("in", 1.0), ("out", -1.0)):
        if text.startswith(word) or text.endswith(word):
            sign, text = meant, text.removeprefix(word).removesuffix(word).strip()
    if text.startswith(("-", "−")):
        sign, text = -sign, text[1:].strip()
    value = sign * float(parse_number(text, "The turn"))
    if value == 0.0 or abs(value) > 6.0:
        raise InputError("This is no turn of a screw", given=turns, allowed="up to 6 turns",
                         instead="'in 1/4'")  # fmt: skip
    return Work(TURNED, (), {"screw": name, "turns": value})


def has_balance(engine: EngineFile) -> bool:
    """Whether there is anything to balance."""
    table = engine.carburettors
    return table is not None and table.count(engine) > 1


def balance_book(engine: EngineFile, state: State) -> BalanceBook:
    """Looks, turns and what else is known, as the book has it.

    Raises
    ------
    InputError
        If there is only one carburettor.
    """
    rack = rack_from_file(engine)
    events: list[Entry[Any]] = [*state.readings(VACUUM), *state.works(TURNED)]
    rounds: list[VacuumRound] = []
    raised: dict[str, float] = {}
    now: dict[str, float] = {}
    turned, turns, moved, proof = "", 0.0, False, 0
    fresh: dict[str, float] = {}
    for entry in sorted(events, key=lambda e: e.number):
        body = entry.body
        if isinstance(body, Reading):
            if body.low is None:
                continue
            if body.conditions.get("at") == "raised":
                raised[body.place] = body.low
                continue
            fresh[body.place] = now[body.place] = body.low
            if all(c in fresh for c in rack.carburettors):
                round_ = VacuumRound(dict(fresh), turned, turns)
                # A gauge read again without a turn in between corrects the look.
                if rounds and not moved:
                    rounds[-1] = VacuumRound(dict(fresh), rounds[-1].turned, rounds[-1].turns)
                else:
                    rounds.append(round_)
                turned, turns, moved, proof = "", 0.0, False, entry.number
            continue
        name = str(body.detail.get("screw", ""))
        amount = float(body.detail.get("turns", 0.0))
        # Two turns of one screw without a look in between are one; of two screws teach nothing.
        alone = not moved or name == turned
        turns = turns + amount if alone else 0.0
        turned, moved = (name if alone else ""), True
        fresh = {}
        raised = {}
    missing = tuple(c for c in rack.carburettors if c not in fresh)
    complete = raised if all(c in raised for c in rack.carburettors) else None
    return BalanceBook(
        rack, tuple(rounds), missing, complete, _evidence(engine, state, rack), proof, now,
        heard_idle(state),
    )  # fmt: skip


def book_balance(book: BalanceBook) -> Balance:
    """What to turn next, from the book.

    Raises
    ------
    InputError
        If not all gauges have been read since the last turn.
    """
    if book.missing:
        raise InputError(
            "Not every gauge has been read since the last turn",
            given=", ".join(c for c in book.rack.carburettors if c not in book.missing) or "none",
            allowed="one reading for each carburettor",
            instead=f"the vacuum of {', '.join(book.missing)}",
        )
    return balance(book.rack, book.rounds, raised=book.raised, evidence=book.evidence)


def _evidence(engine: EngineFile, state: State, rack: Rack) -> dict[str, tuple[str, ...]]:
    """What the book knows of each cylinder that would make its vacuum low."""
    from tickover.tasks.compression import in_book as compression

    found: dict[str, list[str]] = {}
    if len(rack.carburettors) != engine.engine.cylinders:
        return {}
    for place in engine.places():
        entry = state.latest("valve clearance", place.name)
        if entry is None:
            continue
        limits = engine.limits_m(place)
        low = entry.body.low or 0.0
        high = entry.body.high
        if low < _NO_GAP_M or (limits is not None and high is not None and high < limits[0]):
            found.setdefault(f"carb{place.cylinder}", []).append(f"{place.name} tight")
    for finding in compression.findings(engine, state):
        if finding.state == "out":
            number = "".join(c for c in finding.place if c.isdigit())
            found.setdefault(f"carb{number}", []).append("compression out")
    for check in (CLAMPS, AIR):
        entry = state.latest(check, "")
        if entry is not None and entry.body.unit == "yes" and entry.body.low == 0.0:
            # the book does not say at which cylinder: it speaks for whichever pulls less
            for name in rack.carburettors:
                found.setdefault(name, []).append(f"perhaps the leak of '{check}', answered no")
    return {name: tuple(words) for name, words in found.items()}


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check, where there are two carburettors or more."""
    if not has_balance(engine):
        return ()
    return (
        Check(
            CHECK, "", "Carburettor balance", "that every cylinder gets the same opening", HOW,
            frozenset({"hand-over"}),
            needs=("valve clearance", "compression", "intake clamps", "air leaks"),
            cautions=CAUTIONS, minutes=25.0, risk=1, group="mixture",
            wanted=Wanted("page", page="balance"),
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the gauges say."""
    if not has_balance(engine):
        return ()
    book = balance_book(engine, state)
    if not book.proof:
        return ()
    if book.missing:
        words = f"turned since; read {', '.join(book.missing)} again"
        return (Finding(CHECK, "", "undecided", words, book.proof),)
    found = book_balance(book)
    words = f"spread {found.spread / 1000.0:.1f} kPa"
    return (Finding(CHECK, "", "good" if found.balanced else "out", words, book.proof),)


def vacuum_line(engine: EngineFile, text: str) -> tuple[Reading, str]:
    """The entry a short line means: 'carb2 22 cmHg', '2 29 kPa raised'."""
    first, _, rest = text.strip().partition(" ")
    at = "idle"
    if rest.casefold().endswith(" raised"):
        at, rest = "raised", rest[: -len(" raised")]
    if not rest:
        raise InputError("A vacuum needs its carburettor and its value", given=text,
                         instead="'vacuum carb2 22 cmHg'")  # fmt: skip
    body = vacuum_entry(rack_from_file(engine), first, rest, at)
    return body, f"{body.place}: {rest} at {at} speed" if at == "raised" else (
        f"{body.place}: {rest} at idle"
    )  # fmt: skip


def turned_line(engine: EngineFile, text: str) -> tuple[Work, str]:
    """The entry a short line means: 'screw 2-1 in 1/4', '2-1 out 1/8'."""
    words = text.strip().removeprefix("screw").strip()
    name, _, turns = words.partition(" ")
    if not turns:
        raise InputError("A turn needs its screw and how far", given=text,
                         instead="'turned screw 2-1 in 1/4'")  # fmt: skip
    body = turned_entry(rack_from_file(engine), name, turns)
    amount = float(body.detail["turns"])
    way = "in" if amount > 0 else "out"
    return body, f"{body.detail['screw']}: {abs(amount):g} turns {way}"


CSV_COLUMNS = ("place", "vacuum", "unit", "at")


def entries_from_csv(engine: EngineFile, source: Source, name: str) -> tuple[Reading | Work, ...]:
    """Looks and turns from a table: place,vacuum,unit,at; 'turned,2-1,1/4,in' is a turn.

    Parameters
    ----------
    engine : EngineFile
    source : bytes, text, path or open file
    name : str
        How messages call it.

    Returns
    -------
    tuple of Reading or Work

    Raises
    ------
    FileError, InputError
        Names file and line.
    """
    rack = rack_from_file(engine)
    found: list[Reading | Work] = []
    for row in read_table(source, name, CSV_COLUMNS, ("place", "vacuum")):
        try:
            if row["place"].casefold() == "turned":
                turns = f"{row['at']} {row['unit']}".strip()
                found.append(turned_entry(rack, row["vacuum"], turns))
            else:
                typed = f"{row['vacuum']} {row['unit']}".strip()
                found.append(vacuum_entry(rack, row["place"], typed, row["at"] or "idle"))
        except InputError as error:
            raise InputError(
                error.problem, given=error.given, allowed=error.allowed, instead=error.instead,
                where=f"{name} line {row.line}",
            ) from error  # fmt: skip
    return tuple(found)
