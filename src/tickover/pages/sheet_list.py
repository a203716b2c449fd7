"""The sheets to print: those a machine has a use for, in working order, and what the rest need."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.wording import count_words, listed, sentence

Needs = Callable[[EngineFile], str]
"""What a sheet needs and an engine file leaves out, in words; '' when nothing."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A sheet: its name, its title, one line of what it is for."""

    name: str
    title: str
    use: str


@dataclass(frozen=True, slots=True)
class SheetsPage:
    """Everything the page of the sheets shows."""

    head: Head | None
    title: str
    verdict: str
    groups: tuple[tuple[str, tuple[SheetLine, ...]], ...]
    """When they are used, and the sheets in the order of the work."""
    missing: tuple[tuple[SheetLine, str], ...]
    """Sheets without a use on this machine, and what each would need."""


def _table(*names: str, shown: str = "") -> Needs:
    """One of some tables of the engine file must be there; the first is the one to name."""
    return lambda engine: (
        "" if any(getattr(engine, name) for name in names) else shown or f"[{names[0]}]"
    )


def _nothing(engine: EngineFile) -> str:
    return ""


def _swept(engine: EngineFile) -> str:
    measures = {"bore": engine.engine.bore_m, "stroke": engine.engine.stroke_m}
    bare = [key for key, value in measures.items() if value is None]
    return f"{listed(bare)} in [engine]" if bare else ""


def _loom(engine: EngineFile) -> str:
    described = engine.wiring is not None and engine.loads and engine.branches
    return "" if described else "[wiring], [[loads]] and [[branches]]"


def _several_carburettors(engine: EngineFile) -> str:
    table = engine.carburettors
    count = engine.engine.cylinders if table is None else table.count(engine)
    return "" if count > 1 else "a second carburettor"


def _advance(engine: EngineFile) -> str:
    known = engine.ignition is not None and engine.ignition.advance
    return "" if known else "advance in [ignition]"


_LISTED: tuple[tuple[str, tuple[tuple[SheetLine, Needs], ...]], ...] = (
    (
        "On the stand, to fill in",
        (
            (SheetLine("fits-bench", "Build measurements",
                       "bores, pistons and gaps, a box for each reading"),
             _table("fits", shown="[[fits]]")),
            (SheetLine("torque-bench", "Tightening",
                       "torques, the order drawn, a box for every round"),
             _table("fasteners", shown="[[fasteners]]")),
            (SheetLine("valves-bench", "Valve clearances",
                       "where to turn, which valves to read there, which blades to pick up"),
             _table("valves")),
            (SheetLine("cam-timing-bench", "Cam timing",
                       "piston stop and degree wheel, each event twice"), _table("cams")),
            (SheetLine("ratio-bench", "Compression ratio",
                       "chamber, gasket, deck and dome of each cylinder"), _swept),
            (SheetLine("compression-bench", "Compression and leak-down",
                       "dry, wet, and where the air comes out"), _swept),
            (SheetLine("cable-bench", "Cables to make",
                       "lengths to cut, solder, proof pull"), _table("cables", shown="[[cables]]")),
            (SheetLine("loom-schedule", "Loom schedule",
                       "every wire, fuses, branches, cutting list, diagrams"), _loom),
            (SheetLine("loom-board", "Loom board",
                       "the loom laid flat at full size, on sheets to tape together"), _loom),
            (SheetLine("loom-test", "Loom test", "continuity wire by wire"), _loom),
            (SheetLine("electrics-bench", "Battery, switches and spark",
                       "stop switch, interlocks, timing, leads, plugs"),
             _table("battery", "ignition", "interlocks")),
            (SheetLine("oil-bench", "Oil", "in, primed, flowing, switch and pressure"),
             _table("oil")),
            (SheetLine("fuel-bench", "Fuel, intake and exhaust", "from the tank to the bowls"),
             _table("fuel", "exhaust")),
        ),
    ),
    (
        "First start",
        (
            (SheetLine("start-card", "Start card",
                       "one page: cautions, positions in order, when to stop"), _nothing),
        ),
    ),
    (
        "Running, to fill in",
        (
            (SheetLine("charging-bench", "Charging",
                       "battery, alternator, regulator, switches, senders"),
             _table("charging", "battery", "contacts", "senders")),
            (SheetLine("balance-bench", "Carburettor balance", "what the gauges show, screw by "
                       "screw"), _several_carburettors),
            (SheetLine("mixture-bench", "Mixture", "openings to read in three rounds"),
             _table("carburettors")),
            (SheetLine("strobe-bench", "Timing under the strobe",
                       "speeds beside the curve of the book"), _advance),
            (SheetLine("speed-bench", "Speed", "roll-outs, timed runs, speeds held"),
             _table("wheels", "gearing", "speedometer")),
            (SheetLine("noise-bench", "Stationary noise", "baffles in and out"), _table("noise")),
            (SheetLine("run-in", "Running in", "what to do again, and when"), _nothing),
        ),
    ),
    (
        "To read and to keep",
        (
            (SheetLine("valves", "Valve report", "what was found and what to fit"),
             _table("valves")),
            (SheetLine("compression", "Compression report", "what was found, cylinder by "
                       "cylinder"), _swept),
            (SheetLine("shopping", "Shopping list", "over all tasks"), _nothing),
            (SheetLine("record", "Build record", "the whole story, for hand-over"), _nothing),
        ),
    ),
)  # fmt: skip

SHEET_LINES = {line.name: line for _, rows in _LISTED for line, _ in rows}
"""Every sheet by name, in working order."""


def sheets_page(
    engine: EngineFile | None, head: Head | None = None, *, blank: frozenset[str] | None = None
) -> SheetsPage:
    """The sheets of a machine in the order of the work.

    Parameters
    ----------
    engine : EngineFile or None
        Without one, every sheet there is.
    head : Head, optional
    blank : frozenset of str, optional
        Names to keep to, where only these can be printed.

    Examples
    --------
    >>> from tickover.engine import parse_engine_file
    >>> page = sheets_page(parse_engine_file('[engine]\\nname = "Bare"\\nlayout = "single"', "b"))
    >>> print(page.verdict)
    Four for this machine, in working order.
    """
    groups: list[tuple[str, tuple[SheetLine, ...]]] = []
    missing: list[tuple[SheetLine, str]] = []
    for heading, rows in _LISTED:
        kept: list[SheetLine] = []
        for line, needs in rows:
            if blank is not None and line.name not in blank:
                continue
            left_out = needs(engine) if engine is not None else ""
            if left_out:
                missing.append((line, left_out))
            else:
                kept.append(line)
        if kept:
            groups.append((heading, tuple(kept)))
    count = sum(len(lines) for _, lines in groups)
    said = f"{count_words(count)} for this machine" if engine is not None else f"all {count}"
    return SheetsPage(
        head=head,
        title="Sheets to print",
        verdict=sentence(f"{said}, in working order"),
        groups=tuple(groups),
        missing=tuple(missing),
    )
