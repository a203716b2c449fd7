"""Wire by wire with the meter: what was read, and which parts explain what fails together."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from tickover.decide.common_faults import Part, common_faults
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import parse
from tickover.tasks.wiring.loom import Loom
from tickover.tasks.wiring.sizing import Sizing

Test = Literal["end to end", "to earth"]
TESTS: tuple[Test, ...] = ("end to end", "to earth")
GOOD_BELOW_OHM = 1.0
"""End to end, leads of the meter taken off: more is a bad crimp (common practice, no source)."""
OPEN_ABOVE_OHM = 200.0
"""End to end: as good as no path (our assumption)."""
CLEAR_ABOVE_OHM = 10_000.0
"""To earth, everything unplugged: less is a path (our assumption; a clean loom shows none)."""
NO_PATH = ("open", "ol", "o.l", "o.l.", "no path", "infinite", "inf")
_NO_PATH_OHM = 1e9
_SHOWN = 0.02
_MOST = 8
_TOUCHES = re.compile(r"touch(?:es)?\b\s*(.*)", re.IGNORECASE)
_ZERO = re.compile(r"^(ok|good|beeps?)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class WireTest:
    """What was read of one wire [ohm]; None where nothing was. `touches`: numbers of others."""

    end_to_end: float | None = None
    to_earth: float | None = None
    touches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Explanation:
    """One part that may be at fault: kind, name, probability, wires it explains, what to do."""

    kind: str
    name: str
    probability: float
    numbers: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, slots=True)
class ContinuityFindings:
    """What the readings say of opens and of shorts."""

    states: tuple[str, ...]
    """For each wire: 'open' (not read), 'good' or 'out'."""
    opens: tuple[Explanation, ...]
    shorts: tuple[Explanation, ...]
    left_out: float


def ohms(typed: str, test: Test) -> float:
    """A meter reading of a wire [ohm].

    Parameters
    ----------
    typed : str
        '0.3', '0.3 ohm', 'open', 'OL', 'ok' (end to end: it beeps).
    test : str

    Raises
    ------
    InputError
        No reading.
    """
    text = typed.strip()
    if text.casefold() in NO_PATH:
        return _NO_PATH_OHM
    if _ZERO.fullmatch(text) and test == "end to end":
        return 0.0
    if not text:
        raise InputError("Nothing is filled in", allowed="ohms, or open", instead="'0.3' or 'open'")
    value = parse(text, "resistance", "ohm", "The reading").value_si
    if value < 0.0:
        raise InputError("A resistance is never negative", given=typed,
                         instead="it with the meter's leads zeroed first")  # fmt: skip
    return value


def touched(typed: str, known: Collection[str]) -> tuple[str, ...]:
    """The wires that a wire has a path to, from 'touches 12' or 'touches 12, 14'; none otherwise.

    Raises
    ------
    InputError
        A number that no wire has.
    """
    found = _TOUCHES.fullmatch(typed.strip())
    if found is None:
        return ()
    numbers = tuple(part for part in re.split(r"[,\s]+|and", found[1]) if part)
    strange = next((number for number in numbers if number not in known), None)
    if strange is not None or not numbers:
        raise InputError("There is no such wire", given=strange or typed,
                         allowed=f"the {len(known)} numbers of the schedule",
                         instead="'touches 12'")  # fmt: skip
    return numbers


def end_level(ohm: float, expected: float = 0.0) -> int:
    """0 good, 1 too much, 2 no path; the wire's own resistance taken off."""
    rest = ohm - expected
    return 0 if rest <= GOOD_BELOW_OHM else 1 if rest < OPEN_ABOVE_OHM else 2


def earth_level(ohm: float) -> int:
    """0 clear, 1 a path."""
    return 0 if ohm >= CLEAR_ABOVE_OHM else 1


def explain_loom(
    engine: EngineFile, sizing: Sizing, read: Mapping[str, WireTest]
) -> ContinuityFindings:
    """Rank the parts that explain what was read.

    Parameters
    ----------
    engine : EngineFile
    sizing : Sizing
    read : mapping
        Wire number to what was read of it.

    Returns
    -------
    ContinuityFindings

    Raises
    ------
    InputError
        If a reading is of a wire the loom has not.

    Notes
    -----
    Closed sums of `decide.common_faults` over branches, connectors, joints and the things wires
    end at; each wire's own fault is summed out. The prior odds are our assumption.
    """
    runs = sizing.loom.runs
    numbers = {run.number for run in runs}
    joined = {other for got in read.values() for other in got.touches}
    for number in (*read, *joined):
        if number not in numbers:
            raise InputError("There is no such wire", given=number,
                             allowed=f"{runs[0].number} to {runs[-1].number}")  # fmt: skip
    ends: list[int | None] = []
    earths: list[int | None] = []
    for wire in sizing.wires:
        got = read.get(wire.run.number, WireTest())
        ends.append(None if got.end_to_end is None else end_level(got.end_to_end, wire.ohm))
        # A wire of the way back is meant to reach earth: only feeds can be short to it.
        apart = got.to_earth is not None and wire.run.side != "earth"
        level = earth_level(got.to_earth) if apart and got.to_earth is not None else None
        # A path between two wires is a fault of both, whichever the lead was on.
        earths.append(1 if got.touches or wire.run.number in joined else level)
    opens, left = _ranked(engine, sizing.loom, ends, shorts=False)
    shorts, left_too = _ranked(engine, sizing.loom, earths, shorts=True)
    states = []
    for n, run in enumerate(runs):
        asked = [ends[n]] if run.side == "earth" and not earths[n] else [ends[n], earths[n]]
        bad = any(level is not None and level > 0 for level in asked)
        states.append("out" if bad else "open" if None in asked else "good")
    return ContinuityFindings(tuple(states), opens, shorts, max(left, left_too))


_OPEN_PARTS = {
    # kind: prior, P(good, too much, no path | at fault), what to do
    "apart": (0.006, (0.02, 0.08, 0.90), "see whether {} is plugged home"),
    "pins": (0.010, (0.50, 0.15, 0.35), "unplug {}: pins pushed back, green or bent"),
    "branch": (0.002, (0.05, 0.05, 0.90), "open the loom from {} and look for a cut"),
    "crush": (0.004, (0.50, 0.15, 0.35), "open the loom from {} and look for a crush or a kink"),
    "joint": (0.010, (0.10, 0.40, 0.50), "open {} and make it anew"),
    "end": (0.008, (0.20, 0.25, 0.55), "see that everything at {} is plugged in and crimped"),
}  # fmt: skip
_SHORT_PARTS = {
    "connector": (0.006, (0.40, 0.60), "open {}: water, a bent pin, a strand across"),
    "branch": (0.006, (0.45, 0.55), "look where the loom from {} touches metal: chafed or crushed"),
    "joint": (0.006, (0.15, 0.85), "look whether {} touches metal"),
    "end": (0.010, (0.25, 0.75), "unplug {}: what is left connected shows a path"),
}  # fmt: skip
KIND_WORDS = {"apart": "connector apart", "connector": "connector",
              "pins": "pins of the connector", "branch": "branch",
              "crush": "branch crushed", "joint": "joint", "end": "where wires end",
              "wire": "single wire"}  # fmt: skip
_OWN_OPEN = ("see both crimps of wire {}, then pull it gently along its length", 0.01)
_OWN_SHORT = ("follow wire {} by hand: a strand, a screw, a sharp edge", 0.004)


def _ranked(
    engine: EngineFile, loom: Loom, levels: Sequence[int | None], *, shorts: bool
) -> tuple[tuple[Explanation, ...], float]:
    bad = [i for i, level in enumerate(levels) if level is not None and level > 0]
    if not bad:
        return (), 0.0
    table = _SHORT_PARTS if shorts else _OPEN_PARTS
    found: list[tuple[str, str, tuple[int, ...]]] = _shared(engine, loom, shorts)
    # Only parts that a bad wire passes can explain anything; the others cost and change nothing.
    found = [each for each in found if set(each[2]) & set(bad)]
    parts = [Part(items, table[kind][0], table[kind][1]) for kind, _, items in found]
    own_words, own_prior = _OWN_SHORT if shorts else _OWN_OPEN
    own = [[0.0, 1.0]] if shorts else [[0.0, 0.35, 0.65]]
    got = common_faults(levels, parts, own * len(levels), [own_prior] * len(levels))
    rows = []
    for (kind, name, items), chance in zip(found, got.parts, strict=True):
        numbers = tuple(loom.runs[i].number for i in items if i in bad)
        words = table[kind][2].format(name)
        rows.append(Explanation(kind, name, float(chance), numbers, words))
    for i in bad:
        run = loom.runs[i]
        rows.append(
            Explanation("wire", f"wire {run.number}", float(got.items[i]), (run.number,),
                        own_words.format(run.number))
        )  # fmt: skip
    rows.sort(key=lambda row: (-row.probability, -len(row.numbers)))
    return tuple(row for row in rows if row.probability >= _SHOWN)[:_MOST], got.left_out


def _shared(engine: EngineFile, loom: Loom, shorts: bool) -> list[tuple[str, str, tuple[int, ...]]]:
    """Parts that several wires share: kind, name, the wires."""
    found: list[tuple[str, str, tuple[int, ...]]] = []
    for i, branch in enumerate(engine.branches):
        wires = loom.through(i)
        if not wires:
            continue
        if branch.connector is not None:
            kinds = ("connector",) if shorts else ("apart", "pins")
            found += [(kind, branch.connector, wires) for kind in kinds]
        found.append(("branch", f"{branch.start} to {branch.end}", wires))
        if not shorts:
            found.append(("crush", f"{branch.start} to {branch.end}", wires))
    ends: dict[str, list[int]] = {}
    for n, run in enumerate(loom.runs):
        for name in (run.start, run.end):
            ends.setdefault(name, []).append(n)
    for name, at in ends.items():
        kind = loom.devices[name].kind
        if kind == "frame" or (shorts and name.endswith("minus")):
            continue
        if len(at) > 1 or (shorts and kind in ("switch", "load")):
            found.append(("joint" if kind == "joint" else "end", name, tuple(at)))
    return found
