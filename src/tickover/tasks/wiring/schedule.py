"""What is cut and bought: branches with their thickness, wire by size and colour, terminals."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.physics.bands import Band
from tickover.physics.wire import WireSize
from tickover.physics.wire_bundle import bundle_diameter, wire_diameter
from tickover.tasks.wiring.sizing import Sized, Sizing

_BUY_STEP = 1.0
"""Wire is bought by the metre, upwards."""


@dataclass(frozen=True, slots=True)
class BranchLine:
    """One branch: its length [m], wires, diameter by hand and least [m], connector and its ways."""

    start: str
    end: str
    length: float
    wires: int
    diameter: Band
    connector: str
    ways: int | None
    numbers: tuple[str, ...]

    @property
    def overfull(self) -> bool:
        """Whether more wires pass the connector than it takes."""
        return self.ways is not None and self.wires > self.ways


@dataclass(frozen=True, slots=True)
class CutLine:
    """Wire of one size and colour: how many, longest, all, and with waste in whole metres [m]."""

    size: WireSize
    colour: str
    tracer: str
    count: int
    longest: float
    total: float
    buy: float

    @property
    def colour_words(self) -> str:
        """Main and tracer."""
        return f"{self.colour}/{self.tracer}" if self.tracer else self.colour


@dataclass(frozen=True, slots=True)
class Clash:
    """Two wires of one colour and different circuits that end at one thing, or share a plug."""

    where: str
    colour: str
    numbers: tuple[str, ...]


def branch_lines(engine: EngineFile, sizing: Sizing) -> tuple[BranchLine, ...]:
    """The branches in the order of the engine file."""
    wall = engine.wiring.insulation_wall_m if engine.wiring is not None else 0.0
    lines = []
    inside: list[list[Sized]] = [[] for _ in engine.branches]
    for wire in sizing.wires:
        for i in wire.run.branches:
            inside[i].append(wire)
    for i, branch in enumerate(engine.branches):
        wires = inside[i]
        thick = bundle_diameter([wire_diameter(w.size, wall) for w in wires])
        lines.append(
            BranchLine(branch.start, branch.end, branch.length_m, len(wires), thick,
                       branch.connector or "", branch.ways, tuple(w.run.number for w in wires))
        )  # fmt: skip
    return tuple(lines)


def cutting_list(engine: EngineFile, sizing: Sizing) -> tuple[CutLine, ...]:
    """Wire to cut and to buy, thickest first.

    Notes
    -----
    Bought: (1 + waste) times the sum of the lengths cut, up to whole metres.
    """
    waste = engine.wiring.waste if engine.wiring is not None else 0.0
    groups: dict[tuple[float, str, str], list[Sized]] = {}
    for wire in sizing.wires:
        key = (-wire.size.area, wire.run.colour, wire.run.tracer)
        groups.setdefault(key, []).append(wire)
    lines = []
    for (_, colour, tracer), wires in sorted(groups.items()):
        total = math.fsum(w.run.cut for w in wires)
        buy = math.ceil(total * (1.0 + waste) / _BUY_STEP - 1e-9) * _BUY_STEP
        lines.append(CutLine(wires[0].size, colour, tracer, len(wires),
                             max(w.run.cut for w in wires), total, buy))  # fmt: skip
    return tuple(lines)


def terminals(sizing: Sizing) -> tuple[tuple[str, str, int], ...]:
    """Terminal, wire size in words, how many; a splice once for each joint."""
    counted: Counter[tuple[str, str]] = Counter()
    spliced: set[str] = set()
    for wire in sizing.wires:
        for name in (wire.run.start, wire.run.end):
            device = sizing.loom.devices[name]
            if device.kind == "joint" and device.terminal == "crimped splice":
                if name not in spliced:
                    spliced.add(name)
                    counted[device.terminal, "for a joint"] += 1
                continue
            counted[device.terminal, wire.size.words] += 1
    return tuple((terminal, size, n) for (terminal, size), n in sorted(counted.items()))


def colour_clashes(sizing: Sizing) -> tuple[Clash, ...]:
    """Wires that look alike where they could be exchanged: feeds of different circuits."""
    ends: dict[tuple[str, str], list[Sized]] = {}
    for wire in sizing.wires:
        if wire.run.side == "earth":
            continue
        for name in (wire.run.start, wire.run.end):
            if sizing.loom.devices[name].kind in ("switch", "load"):
                ends.setdefault((name, wire.run.colour_words), []).append(wire)
    return tuple(
        Clash(where, colour, tuple(w.run.number for w in wires))
        for (where, colour), wires in ends.items()
        if len({w.run.circuit for w in wires}) > 1
    )
