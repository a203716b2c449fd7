"""The loom in the book: readings wire by wire, its checks, and what they found."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from tickover.book.bodies import EngineFileKept, Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile, parse_engine_file
from tickover.errors import InputError
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, StateWord, Wanted
from tickover.tasks.simple import simple_finding
from tickover.tasks.wiring.continuity import (
    NO_PATH,
    TESTS,
    ContinuityFound,
    Explanation,
    Test,
    WireRead,
    earth_level,
    end_level,
    explain_loom,
    ohms,
    touched,
)
from tickover.tasks.wiring.loom import Run
from tickover.tasks.wiring.sizing import Sizing, fuses_of, size_loom

CONTINUITY = "loom continuity"
INSULATION = "loom insulation"
FUSES = "fuses as listed"
NAMES = (CONTINUITY, INSULATION, FUSES)
WIRE = "wire"
"""Readings are kept at 'wire 12'; which wire that was stands beside them."""
_NO_PATH_OHM = 1e6  # the least that 'open' says on any meter: our assumption
_OF: dict[Test, str] = {"end to end": CONTINUITY, "to earth": INSULATION}
UNPLUGGED = (
    "Battery disconnected, earth clamp first, and carried away; every load, switch and fuse "
    "unplugged."
)
SHORTS = "A bare live wire on the frame burns: insulate every open end, fuse at the battery."


def loom_described(engine: EngineFile) -> bool:
    """Whether the engine file describes a loom."""
    return engine.wiring is not None and bool(engine.loads) and bool(engine.branches)


def loom_sized(engine: EngineFile) -> Sizing | None:
    """The sized loom; None where there is none, or a size in it is not sold."""
    if not loom_described(engine):
        return None
    try:
        return size_loom(engine)
    except InputError:
        return None  # said on the wiring page, with its line


def wire_reading(
    run: Run, test: Test, typed: str, instrument: str = "", known: Collection[str] = ()
) -> Reading:
    """The entry for one reading of one wire.

    Parameters
    ----------
    run : Run
    test : str
    typed : str
        Ohms, 'open', 'ok'; against earth also 'touches 12' for a path to another wire.
    instrument : str
    known : collection of str
        Numbers of the wires it may touch.

    Raises
    ------
    InputError
        No reading; a path to a wire that is not there.
    """
    joined = touched(typed, known) if test == "to earth" else ()
    value = 0.0 if joined else ohms(typed, test)
    no_path = typed.strip().casefold() in NO_PATH
    beside: dict[str, object] = {"from": run.start, "to": run.end}
    if joined:
        beside["touches"] = list(joined)
    return Reading(
        _OF[test], f"{WIRE} {run.number}", _NO_PATH_OHM if no_path else value,
        None if no_path else value, "ohm", typed.strip(), instrument, beside,
    )  # fmt: skip


def readings_of(sizing: Sizing, read: Mapping[str, WireRead]) -> tuple[Reading, ...]:
    """The entries for readings taken from a table, in the order of the wires."""
    known = {run.number for run in sizing.loom.runs}
    made: list[Reading] = []
    for run in sizing.loom.runs:
        got = read.get(run.number, WireRead())
        earth = f"touches {', '.join(got.touches)}" if got.touches else _typed(got.to_earth)
        said: tuple[tuple[Test, str], ...] = (
            ("end to end", _typed(got.end_to_end)),
            ("to earth", earth if run.side != "earth" or got.touches else ""),
        )
        made += [wire_reading(run, test, typed, "", known) for test, typed in said if typed]
    return tuple(made)


def _typed(ohm: float | None) -> str:
    return "" if ohm is None else "open" if ohm >= _NO_PATH_OHM else f"{ohm:g} ohm"


def wire_entries(sizing: Sizing, state: State) -> dict[tuple[str, Test], Entry[Reading]]:
    """The latest reading of each wire and test, by wire number.

    A reading counts only while the wire of that number still has the same two ends; of those taken
    before other work on the same wire, the check as a whole goes stale.
    """
    found: dict[tuple[str, Test], Entry[Reading]] = {}
    for run in sizing.loom.runs:
        for test in TESTS:
            entry = state.latest(_OF[test], f"{WIRE} {run.number}")
            if entry is None:
                continue
            beside = entry.body.conditions
            if (beside.get("from"), beside.get("to")) == (run.start, run.end):
                found[run.number, test] = entry
    return found


@dataclass(frozen=True, slots=True)
class WrongWire:
    """A wire that did not read as it should, and is itself to blame.

    Parameters
    ----------
    words : str
        What was read.
    number : int
        Of the entry that says so.
    through : bool
        Whether the wire itself is in doubt, and not only its two ends.
    """

    words: str
    number: int
    through: bool


def wires_to_make_again(engine: EngineFile, state: State) -> dict[str, WrongWire]:
    """The wires that read wrong and are likelier to blame themselves than anything they share.

    Returns
    -------
    dict
        By wire number. A plug that is apart, a crushed branch or a joint is looked at first: its
        wires are not here.
    """
    sizing, found = loom_sized(engine), continuity_of(engine, state)
    if sizing is None or found is None:
        return {}
    entries = wire_entries(sizing, state)
    blamed = _blamed(found.opens) | _blamed(found.shorts)
    wrong: dict[str, WrongWire] = {}
    for wire in sizing.wires:
        number = wire.run.number
        if number not in blamed:
            continue
        end, earth = entries.get((number, "end to end")), entries.get((number, "to earth"))
        level = 0 if end is None else end_level(_ohm(end.body), wire.ohm)
        if end is not None and level:
            words = "no path" if level == 2 else end.body.typed
            wrong[number] = WrongWire(f"{words} end to end", end.number, through=level == 2)
        elif earth is not None:
            joined = earth.body.conditions.get("touches")
            words = "a path to another wire" if joined else "a path to earth"
            wrong[number] = WrongWire(words, earth.number, through=True)
    return wrong


def _blamed(ranked: tuple[Explanation, ...]) -> set[str]:
    """The wires whose likeliest explanation is the wire itself."""
    first: dict[str, str] = {}
    for each in ranked:
        for number in each.numbers:
            first.setdefault(number, each.kind)
    return {number for number, kind in first.items() if kind == "wire"}


def _ohm(body: Reading) -> float:
    return 1e9 if body.high is None else body.high


def wires_read(entries: Mapping[tuple[str, Test], Entry[Reading]]) -> dict[str, WireRead]:
    """What the entries say of each wire [ohm]."""
    found: dict[str, WireRead] = {}
    for (number, test), entry in entries.items():
        got = found.get(number, WireRead())
        ohm = _ohm(entry.body)
        joined = tuple(str(other) for other in entry.body.conditions.get("touches", ()))
        if test == "end to end":
            found[number] = replace(got, end_to_end=ohm)
        elif joined:
            found[number] = replace(got, to_earth=1e9, touches=joined)
        else:
            found[number] = replace(got, to_earth=ohm)
    return found


@lru_cache(maxsize=16)
def continuity_of(engine: EngineFile, state: State) -> ContinuityFound | None:
    """What the book's readings say of the loom; None without one."""
    sizing = loom_sized(engine)
    if sizing is None:
        return None
    return explain_loom(engine, sizing, wires_read(wire_entries(sizing, state)))


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """Continuity, insulation and fuses, where a loom is described."""
    if not loom_described(engine):
        return ()
    page = Wanted("page", page="wiring")
    return (
        Check(
            CONTINUITY, "", "Loom: every wire end to end",
            "that every wire leads where the schedule says, and nowhere is a bad crimp",
            "Wire by wire in the order of the test sheet, meter leads touched together first; wag "
            "the wire while you read.",
            proving.START, cautions=(UNPLUGGED, proving.GAS), minutes=30.0, risk=2,
            group="wiring", wanted=page,
        ),
        Check(
            INSULATION, "", "Loom: no wire to earth",
            "that nothing is chafed or crushed",
            "Everything unplugged: each wire against the battery minus clamp shows no path.",
            proving.START, cautions=(UNPLUGGED, SHORTS), minutes=15.0, risk=3,
            group="wiring", wanted=page,
        ),
        Check(
            FUSES, "", "Fuses as listed", "that each fuse melts before its wire does",
            "Each fuse in the box against the list of the wiring page, the main fuse too.",
            proving.START, cautions=(SHORTS,), minutes=3.0, risk=3, group="wiring",
            wanted=Wanted("yes", prompt="every fuse as listed"),
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of the loom."""
    made = checks(engine, state)
    if not made:
        return ()
    found: list[Finding] = []
    sizing = loom_sized(engine)
    if sizing is not None:
        entries = wire_entries(sizing, state)
        for test in TESTS:
            each = _finding(sizing, entries, test)
            if each is not None:
                found.append(each)
    fuses = simple_finding(engine, made[-1], state)
    if fuses is not None:
        found.append(_fuses_then(engine, state, fuses))
    return tuple(found)


def _fuses_then(engine: EngineFile, state: State, found: Finding) -> Finding:
    """The finding about the fuses, undecided where the list has become another since."""
    text = ""
    for entry in state.live:
        if isinstance(entry.body, EngineFileKept) and entry.number < found.proof:
            text = entry.body.text
    if not text or text == state.engine_text:
        return found
    now, then = dict(fuse_list(engine)), dict(_fuses_of_text(text))
    other = [name for name in {**then, **now} if then.get(name) != now.get(name)]
    if not other:
        return found
    words = f"the list is another since: {', '.join(other[:6])}"
    return Finding(found.name, found.place, "undecided", words, found.proof)


def fuse_list(engine: EngineFile) -> tuple[tuple[str, float | None], ...]:
    """Each circuit and the main fuse with their ratings [A]."""
    main = engine.wiring.main_fuse_a if engine.wiring is not None else None
    return (("main fuse", main), *fuses_of(engine).items())


@lru_cache(maxsize=16)
def _fuses_of_text(text: str) -> tuple[tuple[str, float | None], ...]:
    try:
        return fuse_list(parse_engine_file(text))
    except InputError:
        return ()  # kept by a Tickover that asked for less: nothing to compare with


def _finding(
    sizing: Sizing, entries: Mapping[tuple[str, Test], Entry[Reading]], test: Test
) -> Finding | None:
    asked = [w for w in sizing.wires if test == "end to end" or w.run.side != "earth"]
    numbers, bad = [], []
    for wire in asked:
        entry = entries.get((wire.run.number, test))
        if entry is None:
            continue
        numbers.append(entry.number)
        high = _ohm(entry.body)
        level = end_level(high, wire.ohm) if test == "end to end" else earth_level(high)
        if level:
            bad.append(wire.run.number)
    if not numbers:
        return None
    word: StateWord = "out" if bad else "good" if len(numbers) == len(asked) else "undecided"
    text = f"{len(numbers)} of {len(asked)} wires read"
    if bad:
        text += f"; wrong: {', '.join(bad[:12])}" + (" ..." if len(bad) > 12 else "")
    # Work after the oldest of the readings makes the whole void: any wire may be another.
    return Finding(_OF[test], "", word, text, min(numbers))
