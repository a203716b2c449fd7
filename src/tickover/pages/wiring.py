"""The wiring page: circuits and fuses, each wire's size and what decides, loads against output."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.colours import COLOURS
from tickover.errors import InputError, Problem
from tickover.pages.drawing.one_line import LineNode
from tickover.pages.head import Head
from tickover.pages.proving import ProvingLine, lines_of, states_for
from tickover.pages.why import Why
from tickover.pages.wording import count_words, sentence
from tickover.physics.wire import WireSize
from tickover.tasks.wiring.in_book import NAMES, loom_described
from tickover.tasks.wiring.power import PowerBalance, Swapped, power_balance, swapped
from tickover.tasks.wiring.problems import loom_problems, starter_problems
from tickover.tasks.wiring.sizing import Sized, Sizing, extrapolated, size_loom
from tickover.tasks.wiring.starter import StarterWay, starter_way

CAUTIONS = (
    "Battery disconnected before any work on the loom, earth clamp off first, on last.",
    "A fuse at the battery before everything: a chafed live wire sets fire to a machine.",
    "A battery gives off gas that burns: no flame, no spark near it.",
    "Lamps, indicators and horn are a matter of local law and licensed inspection; lamp bodies "
    "are approved with the lamp they were made for.",
    "The machine's own service manual and its wiring diagram come first.",
)


@dataclass(frozen=True, slots=True)
class WireLine:
    """One wire as the page and the schedule show it."""

    number: str
    start: str
    end: str
    size: str
    colour: str
    tracer: str
    colour_words: str
    length: str
    cut_mm: int
    start_terminal: str
    end_terminal: str
    route: str
    connectors: str
    current: str
    carries: str
    fuse: str
    by_current: str
    by_fuse: str
    limit: str
    drop: str
    hot: str
    bundle: int
    too_thin: bool


@dataclass(frozen=True, slots=True)
class CircuitLine:
    """One circuit: its fuse and the diagram below it."""

    name: str
    current: str
    fuse: str
    given: bool
    weakest: str
    engine_off: bool
    nodes: tuple[LineNode, ...]
    wires: tuple[WireLine, ...]


@dataclass(frozen=True, slots=True)
class DropLine:
    """One load: current, volts lost out and back, allowed."""

    name: str
    circuit: str
    current: str
    drop: str
    allowed: str
    share: str
    met: bool


@dataclass(frozen=True, slots=True)
class WiringPage:
    """Everything the wiring page shows."""

    title: str
    verdict: str
    described: bool
    problems: tuple[Problem, ...]
    refused: str
    circuits: tuple[CircuitLine, ...]
    main: tuple[WireLine, ...]
    main_nodes: tuple[LineNode, ...]
    back: tuple[WireLine, ...]
    drops: tuple[DropLine, ...]
    balance: tuple[str, ...]
    lower: tuple[str, ...]
    starter: tuple[str, ...]
    assumed: tuple[str, ...]
    checks: tuple[ProvingLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    all_good: bool
    head: Head | None = None


def wiring_page(
    engine: EngineFile,
    state: State | None = None,
    text: str = "",
    powers: Mapping[str, float] | None = None,
    head: Head | None = None,
) -> WiringPage:
    """The page of circuits, sizes, fuses and balance.

    Parameters
    ----------
    engine : EngineFile
    state : State, optional
    text : str
        The engine file as written, for line numbers.
    powers : mapping, optional
        Load to the power of another lamp [W]; the `lower` of the engine file if left out.
    head : Head, optional
    """
    states = states_for(engine, state)
    lines = lines_of(engine, states, NAMES)
    sizing, way, refused = None, None, ""
    try:
        sizing = size_loom(engine) if loom_described(engine) else None
        way = starter_way(engine)
    except InputError as wrong:
        refused = str(wrong)
    problems = starter_problems(engine, way, text)
    if sizing is None:
        return WiringPage(
            "Wiring", "This loom cannot be sized." if refused else "No loom is described yet.",
            loom_described(engine), problems, refused, (), (), (), (), (), (), (),
            _starter_words(way), (), lines, WHYS, CAUTIONS, False, head,
        )  # fmt: skip
    problems = (*loom_problems(engine, sizing, text), *problems)
    wires = {id(w): wire_line(engine, sizing, w) for w in sizing.wires}

    def of(side: str, circuit: str = "") -> tuple[WireLine, ...]:
        return tuple(wires[id(w)] for w in sizing.wires
                     if w.run.side == side and w.run.circuit == circuit)  # fmt: skip

    circuits = tuple(
        CircuitLine(
            c.name, f"{c.current:.1f} A", "none" if c.fuse is None else f"{c.fuse:g} A", c.given,
            f"{c.least_ampacity:.1f} A", c.engine_off, _nodes(engine, sizing, f"fuse {c.name}"),
            of("feed", c.name),
        )
        for c in sizing.circuits
        if f"fuse {c.name}" in sizing.loom.devices  # one without loads yet is a problem's line
    )  # fmt: skip
    drops = tuple(
        DropLine(d.name, d.circuit, f"{d.current:.2f} A", f"{d.drop:.2f} V", f"{d.allowed:.2f} V",
                 f"{100 * d.drop / engine.system_volts:.1f} %", d.met)
        for d in sizing.loads
    )  # fmt: skip
    change = swapped(engine, powers)
    return WiringPage(
        title="Wiring",
        verdict=_verdict(sizing, problems),
        described=True,
        problems=problems,
        refused="",
        circuits=circuits,
        main=of("main"),
        main_nodes=_nodes(engine, sizing, "battery"),
        back=of("earth"),
        drops=drops,
        balance=_balance_words(power_balance(engine)),
        lower=_lower_words(change) if change is not None else (),
        starter=_starter_words(way),
        assumed=_assumed(engine, sizing),
        checks=lines,
        whys=WHYS,
        cautions=CAUTIONS,
        all_good=not problems and all(line.state in ("good", "accepted") for line in lines),
        head=head,
    )


def _verdict(sizing: Sizing, problems: tuple[Problem, ...]) -> str:
    words = (
        f"{count_words(len(sizing.wires))} wires on {count_words(len(sizing.circuits))} circuits"
    )
    if not problems:
        return sentence(f"{words}: sizes and fuses go together")
    things = "one thing does" if len(problems) == 1 else f"{count_words(len(problems))} things do"
    return sentence(f"{words}; {things} not go together")


def wire_line(engine: EngineFile, sizing: Sizing, wire: Sized) -> WireLine:
    """One wire in words."""
    run = wire.run
    devices = sizing.loom.devices
    points = [devices[run.start].at, devices[run.end].at]
    spelled = {p.casefold(): p for p in sizing.loom.points}
    here = points[0]
    route = [spelled.get(here, "")]
    plugs = [name for i in run.branches if (name := engine.branches[i].connector) is not None]
    for i in run.branches:
        branch = engine.branches[i]
        here = branch.end.casefold() if branch.start.casefold() == here else branch.start.casefold()
        route.append(spelled[here])

    def named(size: WireSize | None) -> str:
        return "none" if size is None else size.words

    return WireLine(
        run.number, run.start, run.end, wire.size.words, run.colour, run.tracer, run.colour_words,
        f"{run.cut:.2f} m", round(run.cut * 1e3), devices[run.start].terminal,
        devices[run.end].terminal, " - ".join(p for p in route if p), ", ".join(plugs),
        f"{run.current:.2f} A",
        f"{wire.ampacity:.1f} A", "none" if wire.fuse is None else f"{wire.fuse:g} A",
        named(wire.by_current), named(wire.by_fuse), wire.limit, f"{wire.drop:.3f} V",
        f"{wire.hot_k - 273.15:.0f} °C", wire.bundled, wire.too_thin,
    )  # fmt: skip


def _nodes(engine: EngineFile, sizing: Sizing, root: str) -> tuple[LineNode, ...]:
    """What hangs on a device, depth first; what was drawn already is named once more only."""
    side = "main" if root == "battery" else "feed"
    below: dict[str, list[Sized]] = {}
    back: dict[str, Sized] = {}
    circuit = "" if side == "main" else root.removeprefix("fuse ")
    for wire in sizing.wires:
        if wire.run.side == side and wire.run.circuit == circuit:
            below.setdefault(wire.run.start, []).append(wire)
        if wire.run.side == "earth":
            back.setdefault(wire.run.start, wire)
    kinds = {load.name: load.kind for load in engine.loads}
    nodes: list[LineNode] = []
    seen: set[str] = set()

    def walk(name: str, depth: int, wire: Sized | None) -> None:
        device = sizing.loom.devices[name]
        words = "" if wire is None else (
            f"{wire.run.number}: {wire.size.words} {wire.run.colour_words} {wire.run.cut:.2f} m"
        )  # fmt: skip
        beside = ""
        if name in kinds and name in back:
            home = back[name]
            beside = f"back {home.run.number}: {home.size.words} {home.run.colour_words}"
        if wire is None and side == "feed":
            fuse = next(c.fuse for c in sizing.circuits if c.name == circuit)
            words = "none carries it" if fuse is None else f"{fuse:g} A"
        nodes.append(LineNode(depth, device.kind, name, words, beside, True, kinds.get(name, "")))
        if name in seen:
            return
        seen.add(name)
        for each in below.get(name, ()):
            walk(each.run.end, depth + 1, each)

    walk(root, 0, None)
    return tuple(nodes)


def _balance_words(found: PowerBalance) -> tuple[str, ...]:
    """Loads against output in sentences."""
    rows = [
        f"Riding, each load by its share of time: {found.riding:.1f} A "
        f"({found.riding * found.volts:.0f} W at {found.volts:g} V). Everything at once: "
        f"{found.most:.1f} A."
    ]
    for where, output, left in (("At idle", found.idle, found.left_idle),
                                ("On the road", found.road, found.left_road)):  # fmt: skip
        if output is None or left is None:
            rows.append(f"{where} the generator's output is not known: measure it behind the "
                        "regulator.")  # fmt: skip
        elif left >= 0.0:
            rows.append(f"{where} it gives {output:.1f} A: {left:.1f} A are left to charge.")
        else:
            rows.append(f"{where} it gives {output:.1f} A: the battery gives the missing "
                        f"{-left:.1f} A.")  # fmt: skip
    if found.standing > 0.0 and found.reserve_h is not None:
        rows.append(
            f"At a standstill {found.standing:.2f} A are on: {found.reserve_h:.1f} h until the "
            "share of the battery kept for starting is reached."
        )
    elif found.standing > 0.0:
        rows.append(f"At a standstill {found.standing:.2f} A are on; the battery's capacity is "
                    "not known.")  # fmt: skip
    return tuple(rows)


def _lower_words(change: Swapped) -> tuple[str, ...]:
    """What other lamps change, in sentences."""
    lamps = ", ".join(f"{name} {old:.3g} to {new:.3g} W" for name, old, new in change.lamps)
    saved = change.before.riding - change.after.riding
    words = "less" if saved >= 0.0 else "more"
    rows = [f"{lamps}: {abs(saved):.1f} A {words} while riding."]
    if change.after.idle is not None and change.after.left_idle is not None:
        left = change.after.left_idle
        rows.append(f"At idle then {abs(left):.1f} A {'are left' if left >= 0 else 'are missing'}.")
    for name, old, new in change.fuses:
        rows.append(
            f"Fuse of {name}: {'none' if old is None else f'{old:g} A'} to "
            f"{'none' if new is None else f'{new:g} A'}."
        )
    if change.thinner:
        rows.append(f"{count_words(change.thinner)} wires could be thinner in a new loom; those "
                    "lying may stay.".capitalize())  # fmt: skip
    rows.append("A flasher that counts on its load changes its rate; a lamp body is approved "
                "with the lamp it was made for.")  # fmt: skip
    return tuple(rows)


def _starter_words(way: StarterWay | None) -> tuple[str, ...]:
    """The starter's way in sentences: each stretch, then all of them against what may be lost."""
    if way is None:
        return ()
    rows = []
    for each in way.stretches:
        lost = f"{1e3 * each.ohm:.2f} mΩ, loses {each.drop:.2f} V"
        if each.size is None:
            rows.append(f"{each.name}: {lost}.")
            continue
        how = "as it is lying" if each.given else "chosen"
        rows.append(f"{each.name}: {each.size.words}, {how}; {lost}; ten seconds warm it by "
                    f"{each.rise:.0f} K at most.")  # fmt: skip
    word = "" if way.met else ": too much"
    rows.append(f"Together {way.drop:.2f} V of {way.allowed:.2f} V at {way.current:.0f} A{word}. "
                "Lugs, relay contacts and bolted joints are in it only where a resistance is "
                "given: measure the drop at the starter.")  # fmt: skip
    return tuple(sentence(row) for row in rows)


def _assumed(engine: EngineFile, sizing: Sizing) -> tuple[str, ...]:
    """What the sizes rest on."""
    wiring = engine.wiring
    assert wiring is not None  # there is a sizing
    rows = [
        f"{wiring.around_k - 273.15:.0f} °C round the loom, insulation for {wiring.insulation:.0f} "
        "°C; everything on at once, of a choice the most.",
        "Bundles as in the table of 33 wires and more"
        if wiring.bundling == "full"
        else "Bundles by their number of wires, with factors of one secondary text (no standard "
        "behind them)",
    ]
    if wiring.drop_v is None:
        rows.append("0.5 V lost at most out and back for 12 V: common practice, no source. A "
                    "marine rule says 3 % for what matters (third party).")  # fmt: skip
    beyond = extrapolated(sizing)
    if beyond:
        rows.append(f"{', '.join(beyond)} lie beyond the table, which ends at AWG 24 and 10: "
                    "its last line goes on.")  # fmt: skip
    if sizing.choice.status == "time ran out":
        rows.append(f"Sizes for the drop may hold {100 * sizing.choice.gap:.1f} % more copper "
                    "than need be: the search ran out of time.")  # fmt: skip
    rows.append("Switch contacts and crimps are not in the drop: measure it at the load.")
    return tuple(sentence(row) for row in rows)


def colour_words(code: str) -> str:
    """'YE/RD' in words.

    >>> colour_words("YE/RD")
    'yellow, red tracer'
    """
    main, _, tracer = code.partition("/")
    return COLOURS[main] + (f", {COLOURS[tracer]} tracer" if tracer else "")


def wiring_json(page: WiringPage) -> dict[str, Any]:
    """The page as plain data."""
    return asdict(page)


WHYS = (
    Why(
        "Size by current",
        ("copper area, insulation, temperature round it, wires in its fullest bundle",),
        "I = I table x sqrt((T insulation - T around)/(T insulation - 70 C)) x bundle factor",
        "AC 43.13-1B, table 11-9 (70 C, 33 wires and more, a fifth of the harness in use); between "
        "its gauges straight lines of the logarithms; the temperature term from the heat balance",
        "on the careful side for a small loom; beyond AWG 24 and 10 the last line goes on",
    ),
    Why(
        "Size by drop",
        ("every wire from the battery to the load and back, everything on, copper hot",),
        "sum of I R20 L (234.5 + t)/254.5 over the way <= allowed; least copper of all choices",
        "IEC 60228 class 5 or ASTM B258 with AC 43.13-1B; t from the same heat balance",
        "the standard's greatest resistance, so the drop is an upper one; contacts not in it",
    ),
    Why(
        "Starter cables",
        ("current while cranking, length and size of each cable, resistance of what is no cable",),
        "sum of I R20 L (234.5 + t)/254.5 + I R <= allowed; least copper of all choices; none that "
        "ten seconds warm by 40 K: (K A)^2 ln((234.5 + t end)/(234.5 + t)) = I^2 s",
        "IEC 60228 class 5; IEC 60949, K = 226 A s^0.5/mm2 (third party); 0.5 V for 12 V is "
        "common practice, no source",
        "ten seconds and 40 K are our assumption; contacts are not in it unless given",
    ),
    Why(
        "Fuse",
        ("the most its loads take at once, and what its weakest wire carries",),
        "fuse >= 1.25 x current, and no greater than what the wires after it carry",
        "common practice, no single rule; ratings as secondary lists of ISO 8820-3 have them",
        "a cold lamp or a motor draws many times its current for a moment",
    ),
)
