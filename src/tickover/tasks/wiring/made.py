"""What has been made of a loom: which wires lie in the machine, which were read wrong, remade."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.tasks.wiring.continuity import (
    TESTS,
    ContinuityFindings,
    Explanation,
    Test,
    earth_level,
    end_level,
)
from tickover.tasks.wiring.loom import Run
from tickover.tasks.wiring.sizing import Sized, Sizing

CONTINUITY = "loom continuity"
INSULATION = "loom insulation"
READ_AS: Mapping[Test, str] = {"end to end": CONTINUITY, "to earth": INSULATION}
"""What a reading of each test is called in the book."""
WIRE = "wire"
"""Readings are kept at 'wire 12'; which wire that was stands beside them."""
WIRE_CHANGED = "wire changed"
OPEN_OHM = 1e9
"""Stands for no path at all: more than any meter shows."""


@dataclass(frozen=True, slots=True)
class AtFault:
    """A wire that was read wrong, and what to look at before it is made again.

    Parameters
    ----------
    wire : Sized
    words : str
        What is wrong with it.
    since : int
        Number of the first wrong reading no good one followed: what arrived later settles it.
    through : bool
        Whether the wire itself is in doubt, and not only its two ends.
    first : Explanation or None
        What it shares with others, where that is the likeliest cause; None where it is itself.
    """

    wire: Sized
    words: str
    since: int
    through: bool
    first: Explanation | None


def place_of(run: Run) -> str:
    """Where the book keeps what was read of a wire."""
    return f"{WIRE} {run.number}"


def ohms_read(body: Reading) -> float:
    """What a reading of a wire says [ohm]; where there is no path, more than any wire has."""
    return OPEN_OHM if body.high is None else body.high


def touched_wires(body: Reading) -> tuple[str, ...]:
    """Numbers of the wires that the wire read has a path to."""
    return tuple(str(other) for other in body.conditions.get("touches", ()))


def remade(run: Run) -> Work:
    """The entry for a wire made anew: what was read of it before counts no more."""
    return Work(WIRE_CHANGED, (place_of(run),), {"from": run.start, "to": run.end})


def remade_at(sizing: Sizing, state: State) -> dict[str, int]:
    """Wire number to the number of the entry that last made it anew.

    An entry about a wire that had other ends then says nothing of today's.
    """
    runs = {place_of(run): run for run in sizing.loom.runs}
    found: dict[str, int] = {}
    for entry in state.works(WIRE_CHANGED):
        detail = entry.body.detail
        for place in entry.body.places:
            run = runs.get(place)
            ends = (detail.get("from"), detail.get("to"))
            if run is not None and ends in ((run.start, run.end), (None, None)):
                found[run.number] = entry.number
    return found


def readings_that_count(sizing: Sizing, state: State) -> dict[tuple[str, Test], Entry[Reading]]:
    """The latest reading of each wire and test, by wire number.

    Notes
    -----
    A reading counts only while the wire of that number still has the same two ends, and until that
    wire is made anew. A path between two wires ends with either of them.
    """
    again = remade_at(sizing, state)
    found: dict[tuple[str, Test], Entry[Reading]] = {}
    for run in sizing.loom.runs:
        for test in TESTS:
            entry = state.latest(READ_AS[test], place_of(run))
            if entry is not None and _counts(entry, run, again):
                found[run.number, test] = entry
    return found


def _counts(entry: Entry[Reading], run: Run, again: Mapping[str, int]) -> bool:
    beside = entry.body.conditions
    wires = (run.number, *touched_wires(entry.body))
    return (beside.get("from"), beside.get("to")) == (run.start, run.end) and all(
        entry.number > again.get(number, 0) for number in wires
    )


def unread_remade(
    sizing: Sizing, state: State, entries: Mapping[tuple[str, Test], Entry[Reading]], test: Test
) -> tuple[str, ...]:
    """Wires made anew and not read since."""
    again = remade_at(sizing, state)
    return tuple(
        wire.run.number
        for wire in sizing.wires
        if wire.run.number in again
        and (wire.run.number, test) not in entries
        and (test == "end to end" or wire.run.side != "earth")
    )


def not_made(sizing: Sizing, state: State) -> tuple[Sized, ...]:
    """Wires nobody has read or made anew: as far as the book knows, they are still to make."""
    known = {number for number, _ in readings_that_count(sizing, state)}
    known |= set(remade_at(sizing, state))
    return tuple(wire for wire in sizing.wires if wire.run.number not in known)


def wires_at_fault(
    sizing: Sizing, state: State, found: ContinuityFindings | None
) -> tuple[AtFault, ...]:
    """Wires whose readings are wrong, each since the first wrong one of an unbroken row.

    Parameters
    ----------
    sizing : Sizing
    state : State
    found : ContinuityFindings or None
        What explains the readings.
    """
    entries = readings_that_count(sizing, state)
    again = remade_at(sizing, state)
    wires = {wire.run.number: wire for wire in sizing.wires}
    wrong: dict[str, list[tuple[str, int]]] = {}
    poor: set[str] = set()
    for (number, test), entry in entries.items():
        words = wrong_words(wires[number], test, entry.body)
        if not words:
            continue
        since = _since(wires[number], test, state, again.get(number, 0))
        wrong.setdefault(number, []).append((words, since))
        if test == "end to end" and _ends_only(wires[number], entry.body):
            poor.add(number)
        for other in touched_wires(entry.body):
            if other in wires:
                wrong.setdefault(other, []).append((f"a path to wire {number}", since))
    rows = () if found is None else (*found.opens, *found.shorts)
    return tuple(
        AtFault(wire, " and ".join(dict.fromkeys(words for words, _ in wrong[number])),
                min(since for _, since in wrong[number]),
                number not in poor or len(wrong[number]) > 1, _shared(rows, number))
        for number, wire in wires.items()
        if number in wrong
    )  # fmt: skip


def wrong_words(wire: Sized, test: Test, body: Reading) -> str:
    """What is wrong with one reading of a wire; '' where nothing is."""
    high = ohms_read(body)
    if test == "end to end":
        return ("", f"{body.typed} end to end", "no path end to end")[end_level(high, wire.ohm)]
    touches = touched_wires(body)
    if touches:
        return f"a path to wire {', '.join(touches)}"
    apart = wire.run.side != "earth"
    return f"a path to earth, {body.typed}" if apart and earth_level(high) else ""


def _ends_only(wire: Sized, body: Reading) -> bool:
    return body.high is not None and end_level(body.high, wire.ohm) == 1


def _since(wire: Sized, test: Test, state: State, after: int) -> int:
    """The first of the wrong readings that no good one follows."""
    first = 0
    for entry in state.readings(READ_AS[test], place_of(wire.run)):
        if entry.number <= after:
            continue
        wrong = wrong_words(wire, test, entry.body)
        first = (first or entry.number) if wrong else 0
    return first


def _shared(rows: tuple[Explanation, ...], number: str) -> Explanation | None:
    """The likeliest cause of a wrong wire where that is not the wire itself."""
    causes = [row for row in rows if number in row.numbers]
    best = max(causes, key=lambda row: row.probability, default=None)
    return None if best is None or best.kind == "wire" else best
