"""The loom page: schedule, branches, cutting list, the board; and the test, wire by wire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing.loom_board import Board, BoardBranch, lay_board
from tickover.pages.head import Head
from tickover.pages.proving import ProvingLine, lines_of, states_for
from tickover.pages.why import Why
from tickover.pages.wiring import CAUTIONS, WireLine, colour_words, wire_line
from tickover.pages.wording import count_words, listed, percent, sentence
from tickover.physics.bands import Band
from tickover.tasks.wiring.continuity import (
    GOOD_BELOW_OHM,
    KIND_WORDS,
    TESTS,
    ContinuityFindings,
    Explanation,
    Test,
    WireTest,
    explain_loom,
)
from tickover.tasks.wiring.in_book import SHORTS, UNPLUGGED, continuity_of, wires_read
from tickover.tasks.wiring.made import (
    CONTINUITY,
    INSULATION,
    readings_that_count,
    remade_at,
    wires_at_fault,
)
from tickover.tasks.wiring.schedule import branch_lines, colour_clashes, cutting_list, terminals
from tickover.tasks.wiring.sizing import Sizing, size_loom


@dataclass(frozen=True, slots=True)
class BranchRow:
    """A branch in words."""

    name: str
    length: str
    wires: int
    diameter: str
    connector: str
    numbers: str


@dataclass(frozen=True, slots=True)
class CutRow:
    """Wire to cut and to buy, in words."""

    size: str
    colour: str
    colour_words: str
    count: int
    longest: str
    total: str
    buy: str


@dataclass(frozen=True, slots=True)
class LoomPage:
    """Everything the loom page and its sheets show."""

    title: str
    verdict: str
    wires: tuple[WireLine, ...]
    branches: tuple[BranchRow, ...]
    cutting: tuple[CutRow, ...]
    totals: tuple[str, ...]
    terminals: tuple[tuple[str, str, int], ...]
    alike: tuple[str, ...]
    again: tuple[str, ...]
    """Wires that were read wrong, and what of each stands on the shopping list."""
    board: Board
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    head: Head | None = None


@dataclass(frozen=True, slots=True)
class TestLine:
    """One wire on the test sheet: what to find, what was found."""

    number: str
    start: str
    end: str
    colour_words: str
    size: str
    expect: str
    end_to_end: str
    to_earth: str
    state: str
    asks_earth: bool
    through: str
    remade: bool = False
    """Made anew and not read since."""
    touched_by: tuple[str, ...] = ()
    """Wires whose reading says they touch this one."""


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """One explanation in words."""

    chance: str
    what: str
    wires: str
    remedy: str


@dataclass(frozen=True, slots=True)
class LoomTestPage:
    """Everything the test page and its sheet show."""

    title: str
    verdict: str
    lines: tuple[TestLine, ...]
    opens: tuple[ReasonLine, ...]
    shorts: tuple[ReasonLine, ...]
    left_out: str
    next_number: str
    steps: tuple[str, ...]
    checks: tuple[ProvingLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    all_good: bool
    head: Head | None = None


def loom_page(engine: EngineFile, head: Head | None = None, state: State | None = None) -> LoomPage:
    """Schedule, branches, cutting list and board.

    Parameters
    ----------
    engine : EngineFile
    head : Head, optional
    state : State, optional
        With it, the wires that were read wrong are named beside what is to cut.

    Raises
    ------
    InputError
        As `size_loom`.
    """
    sizing = size_loom(engine)
    branches = branch_lines(engine, sizing)
    cut = cutting_list(engine, sizing)
    metres = sum(line.total for line in cut)
    alike = tuple(
        f"Wires {listed(clash.numbers)} are all {colour_words(clash.colour)} at {clash.where}, on "
        "different circuits: mark them, or give one a tracer."
        for clash in colour_clashes(sizing)
    )
    return LoomPage(
        title="Loom",
        verdict=sentence(
            f"{count_words(len(sizing.wires))} wires, {metres:.1f} m cut, "
            f"{count_words(len(branches))} branches"
        ),
        wires=tuple(wire_line(engine, sizing, w) for w in sizing.wires),
        branches=tuple(
            BranchRow(
                f"{b.start} to {b.end}", f"{b.length * 1e3:.0f} mm", b.wires, _thick(b.diameter),
                _connector(b.connector, b.ways, b.wires), ", ".join(b.numbers),
            )
            for b in branches
        ),
        cutting=tuple(
            CutRow(line.size.words, line.colour_words, colour_words(line.colour_words), line.count,
                   f"{line.longest:.2f} m", f"{line.total:.2f} m", f"{line.buy:.0f} m")
            for line in cut
        ),
        totals=(
            f"{metres:.2f} m cut, {sum(line.buy for line in cut):.0f} m to buy with waste, in "
            "whole metres of each.",
            f"{sizing.copper * 8.96e3 * 1e3:.0f} g of copper.",
        ),
        terminals=terminals(sizing),
        alike=alike,
        again=() if state is None else _again(engine, sizing, state),
        board=board_of(engine, sizing),
        whys=WHYS,
        cautions=CAUTIONS,
        head=head,
    )  # fmt: skip


def _again(engine: EngineFile, sizing: Sizing, state: State) -> tuple[str, ...]:
    """What is to make again, in words."""
    lines = []
    for fault in wires_at_fault(sizing, state, continuity_of(engine, state)):
        said = f"Wire {fault.wire.run.number} read {fault.words}"
        if fault.first is None:
            what = "wire and ends are" if fault.through else "its two ends are"
            lines.append(f"{said}: {what} on the shopping list again.")
        else:
            lines.append(f"{said}: first {fault.first.remedy}; nothing is bought for it yet.")
    return tuple(lines)


def _thick(band: Band) -> str:
    """A bundle's diameter as far as it is known."""
    if band.high <= 0.0:
        return "empty"
    low, high = f"{band.low * 1e3:.1f}", f"{band.high * 1e3:.1f}"
    return f"{high} mm" if low == high else f"{low} to {high} mm"


def _connector(name: str, ways: int | None, wires: int) -> str:
    if not name:
        return ""
    return f"{name}, {wires} of {ways} ways" if ways is not None else f"{name}, {wires} ways used"


def board_of(engine: EngineFile, sizing: Sizing) -> Board:
    """The loom laid flat, with what stands at each point."""
    spelled = {point.casefold(): point for point in sizing.loom.points}
    at: dict[str, dict[str, list[str]]] = {}
    for wire in sizing.wires:
        for name in (wire.run.start, wire.run.end):
            device = sizing.loom.devices[name]
            if device.at:
                here = at.setdefault(spelled[device.at], {})
                here.setdefault(name, []).append(wire.run.number)
    ends = {
        point: tuple(f"{name}: {_numbers(numbers)}" for name, numbers in things.items())
        for point, things in at.items()
    }
    branches = []
    for branch, line in zip(engine.branches, branch_lines(engine, sizing), strict=True):
        plug = f", {branch.connector}" if branch.connector else ""
        branches.append(
            BoardBranch(
                spelled[branch.start.casefold()], spelled[branch.end.casefold()],
                branch.length_m * 1e3, line.diameter.high * 1e3,
                f"{branch.length_m * 1e3:.0f} mm, {_wires(line.wires)}, "
                f"{line.diameter.high * 1e3:.0f} mm thick{plug}",
            )
        )  # fmt: skip
    return lay_board(branches, ends)


def _wires(count: int) -> str:
    return "1 wire" if count == 1 else f"{count} wires"


def _numbers(numbers: list[str]) -> str:
    unique = list(dict.fromkeys(numbers))
    return ", ".join(unique) if len(unique) <= 8 else f"{', '.join(unique[:8])} ..."


def loom_test_page(
    engine: EngineFile,
    state: State | None = None,
    read: Mapping[str, WireTest] | None = None,
    head: Head | None = None,
) -> LoomTestPage:
    """The test, wire by wire, and what explains what was read.

    Parameters
    ----------
    engine : EngineFile
    state : State, optional
        With the readings of the book.
    read : mapping, optional
        Wire number to readings, in place of the book's.
    head : Head, optional

    Raises
    ------
    InputError
        As `size_loom`; a reading of a wire the loom has not.
    """
    sizing = size_loom(engine)
    entries: dict[tuple[str, Test], Entry[Any]] = {}
    if read is None:
        entries = {} if state is None else dict(readings_that_count(sizing, state))
        read = wires_read(entries)
    found = explain_loom(engine, sizing, read)
    again = {} if state is None else remade_at(sizing, state)
    lines = tuple(
        _test_line(engine, sizing, n, found.states[n], read, entries, again)
        for n in range(len(sizing.wires))
    )
    waiting = [line.number for line in lines if line.state == "open"]
    checks = lines_of(engine, states_for(engine, state), (CONTINUITY, INSULATION))
    return LoomTestPage(
        title="Loom, wire by wire",
        verdict=_test_verdict(found, checks),
        lines=lines,
        opens=tuple(_reason(each) for each in found.opens),
        shorts=tuple(_reason(each) for each in found.shorts),
        left_out="" if found.left_out < 1e-3 else (
            f"Four and more shared faults at once are left out (before reading: "
            f"{100 * found.left_out:.1f} %)."
        ),
        next_number=waiting[0] if waiting else "",
        steps=STEPS,
        checks=checks,
        whys=(WHY_TEST,),
        cautions=(UNPLUGGED, SHORTS, *CAUTIONS[2:]),
        all_good=all(state == "good" for state in found.states)
        and not any(line.state == "stale" for line in checks),
        head=head,
    )  # fmt: skip


def _test_line(
    engine: EngineFile,
    sizing: Sizing,
    n: int,
    state: str,
    read: Mapping[str, WireTest],
    entries: Mapping[tuple[str, Test], Entry[Any]],
    again: Mapping[str, int],
) -> TestLine:
    wire = sizing.wires[n]
    run = wire.run
    got = read.get(run.number, WireTest())
    plugs = [engine.branches[i].connector for i in run.branches]
    passed = [name for name in plugs if name is not None]
    most = GOOD_BELOW_OHM + wire.ohm
    return TestLine(
        run.number, run.start, run.end, colour_words(run.colour_words), wire.size.words,
        f"at most {most:.1f} ohm", _said(entries.get((run.number, TESTS[0])), got.end_to_end),
        f"touches {listed(got.touches)}" if got.touches else
        _said(entries.get((run.number, TESTS[1])), got.to_earth), state, run.side != "earth",
        f"through {listed(passed)}" if passed else "",
        run.number in again and got.end_to_end is None,
        tuple(number for number, each in read.items() if run.number in each.touches),
    )  # fmt: skip


def _said(entry: Entry[Any] | None, value: float | None) -> str:
    if entry is not None:
        return str(entry.body.typed)
    if value is None:
        return ""
    return "open" if value >= 1e6 else f"{value:.2g} ohm"


def _reason(each: Explanation) -> ReasonLine:
    name = each.name if each.kind == "wire" else f"{KIND_WORDS[each.kind]}: {each.name}"
    wires = f"wire {each.numbers[0]}" if len(each.numbers) == 1 else (
        f"wires {listed(each.numbers)}"
    )  # fmt: skip
    return ReasonLine(percent(each.probability), name, wires, sentence(each.remedy))


def _test_verdict(found: ContinuityFindings, checks: tuple[ProvingLine, ...]) -> str:
    bad = sum(state == "out" for state in found.states)
    left = sum(state == "open" for state in found.states)
    if any(line.state == "stale" for line in checks):
        return "Work since then made these readings void: read the loom again."
    if bad:
        words = "one wire is wrong" if bad == 1 else f"{count_words(bad)} wires are wrong"
        return sentence(f"{words}, {count_words(left)} still to read" if left else words)
    if left == len(found.states):
        return "Nothing is read yet."
    if left:
        one = "one wire is" if left == 1 else f"{count_words(left)} wires are"
        return sentence(f"good so far; {one} still to read")
    return "Every wire leads where it should, and none touches earth."


def loom_json(page: LoomPage | LoomTestPage) -> dict[str, Any]:
    """A page as plain data."""
    return asdict(page)


STEPS = (
    "Battery out. Every load, switch, fuse and the generator unplugged, inline connectors plugged.",
    "Meter on ohms, its leads held together: what it shows then is taken off every reading.",
    "End to end: one lead at each end of the wire. Wag the wire along its way while you look.",
    "To earth: one lead at either end, the other on the battery minus clamp of the loom. Leave out "
    "the wires that lead there by themselves. Then lay that lead along the free pins: a path to "
    "another wire is written 'touches 12'.",
    "Write what the meter shows, or 'open'.",
)
WHYS = (
    Why(
        "Length of a wire",
        ("lengths of the branches it passes, slack at both ends",),
        "cut = sum of branches + 2 x slack, up to whole centimetres",
        "the engine file, measured with a cord",
        "as good as the cord; bends in a thick bundle take a little more on the outside",
    ),
    Why(
        "Thickness of a bundle",
        ("outer diameters of its wires: copper area, strands, wall of the insulation",),
        "sqrt(sum d² / fill), fill 0.907 at the least and 0.65 by hand",
        "densest packing of circles (Thue); the hand-laid fill and 0.76 for strands are our "
        "assumption",
        "measure a piece of yours; tape or sleeve comes on top",
    ),
)
WHY_TEST = Why(
    "What fails together",
    ("which wires are open or reach earth, and which branches, connectors and joints they share",),
    "Bayes over sets of up to three shared faults; every wire's own fault summed out",
    "noisy-or: Pearl, Probabilistic Reasoning in Intelligent Systems (1988), 4.3.2; the prior odds "
    "are our assumption",
    "readings mistaken 3 in 1000; look at what is named first, then read again",
)
