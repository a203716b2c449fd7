"""The loom in the book: readings wire by wire, its checks, and what they found."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
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
    ContinuityFindings,
    Test,
    WireTest,
    explain_loom,
    ohms,
    touched,
)
from tickover.tasks.wiring.loom import Run
from tickover.tasks.wiring.made import (
    CONTINUITY,
    INSULATION,
    OPEN_OHM,
    READ_AS,
    ohms_read,
    place_of,
    readings_that_count,
    touched_wires,
    unread_remade,
    wrong_words,
)
from tickover.tasks.wiring.sizing import Sizing, fuses_of, size_loom

FUSES = "fuses as listed"
NAMES = (CONTINUITY, INSULATION, FUSES)
_NO_PATH_OHM = 1e6  # the least that 'open' says on any meter: our assumption
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
        READ_AS[test], place_of(run), _NO_PATH_OHM if no_path else value,
        None if no_path else value, "ohm", typed.strip(), instrument, beside,
    )  # fmt: skip


def readings_of(sizing: Sizing, read: Mapping[str, WireTest]) -> tuple[Reading, ...]:
    """The entries for readings taken from a table, in the order of the wires."""
    known = {run.number for run in sizing.loom.runs}
    made: list[Reading] = []
    for run in sizing.loom.runs:
        got = read.get(run.number, WireTest())
        earth = f"touches {', '.join(got.touches)}" if got.touches else _typed(got.to_earth)
        said: tuple[tuple[Test, str], ...] = (
            ("end to end", _typed(got.end_to_end)),
            ("to earth", earth if run.side != "earth" or got.touches else ""),
        )
        made += [wire_reading(run, test, typed, "", known) for test, typed in said if typed]
    return tuple(made)


def _typed(ohm: float | None) -> str:
    return "" if ohm is None else "open" if ohm >= _NO_PATH_OHM else f"{ohm:g} ohm"


def wires_read(entries: Mapping[tuple[str, Test], Entry[Reading]]) -> dict[str, WireTest]:
    """What the entries say of each wire [ohm]."""
    found: dict[str, WireTest] = {}
    for (number, test), entry in entries.items():
        got = found.get(number, WireTest())
        ohm, joined = ohms_read(entry.body), touched_wires(entry.body)
        if test == "end to end":
            found[number] = replace(got, end_to_end=ohm)
        elif joined:
            found[number] = replace(got, to_earth=OPEN_OHM, touches=joined)
        else:
            found[number] = replace(got, to_earth=ohm)
    return found


@lru_cache(maxsize=16)
def continuity_of(engine: EngineFile, state: State) -> ContinuityFindings | None:
    """What the book's readings say of the loom; None without one."""
    sizing = loom_sized(engine)
    if sizing is None:
        return None
    return explain_loom(engine, sizing, wires_read(readings_that_count(sizing, state)))


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
        entries = readings_that_count(sizing, state)
        for test in TESTS:
            again = unread_remade(sizing, state, entries, test)
            each = _finding(sizing, entries, test, again)
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
    sizing: Sizing,
    entries: Mapping[tuple[str, Test], Entry[Reading]],
    test: Test,
    again: tuple[str, ...],
) -> Finding | None:
    asked = [w for w in sizing.wires if test == "end to end" or w.run.side != "earth"]
    numbers, bad = [], []
    for wire in asked:
        entry = entries.get((wire.run.number, test))
        if entry is None:
            continue
        numbers.append(entry.number)
        if wrong_words(wire, test, entry.body):
            bad.append(wire.run.number)
    if not numbers:
        return None
    word: StateWord = "out" if bad else "good" if len(numbers) == len(asked) else "undecided"
    text = f"{len(numbers)} of {len(asked)} wires read"
    if bad:
        text += f"; wrong: {_first(bad)}"
    if again:
        text += f"; made anew and to read again: {_first(again)}"
    # Work on the loom after the oldest of the readings makes the whole void.
    return Finding(READ_AS[test], "", word, text, min(numbers))


def _first(numbers: Sequence[str]) -> str:
    return ", ".join(numbers[:12]) + (" ..." if len(numbers) > 12 else "")
