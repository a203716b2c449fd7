"""From circuits, loads and branches to the wires that follow: ends, route, current, length."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from tickover.engine import EngineFile
from tickover.engine.tables.loom import BATTERY
from tickover.engine.tables.wiring import FRAME, Load, Wiring
from tickover.errors import InputError

Side = Literal["main", "feed", "earth"]
MINUS = "battery minus"
CHARGING = "charging"
_CUT_STEP = 0.01
"""Wires are cut to whole centimetres, upwards."""


@dataclass(frozen=True, slots=True)
class Device:
    """Something a wire ends at.

    Parameters
    ----------
    name : str
        As the schedule says it: 'light switch', 'fuse lights', 'battery minus'.
    kind : str
        'battery', 'bus', 'fuse', 'switch', 'joint', 'load' or 'frame'
    at : str
        Its point, in small letters; '' for the frame, which is everywhere.
    terminal : str
        On wires that end there.
    """

    name: str
    kind: str
    at: str
    terminal: str


@dataclass(frozen=True, slots=True)
class Run:
    """One wire.

    Parameters
    ----------
    number : str
    start, end : str
        Devices, away from the battery for feeds, towards it for earths.
    side : str
    circuit : str
        '' for what several circuits share.
    loads : tuple of int
        Indices of the loads whose current it carries.
    current : float
        Most at once [A]
    branches : tuple of int
        Passed, in order.
    path : float
        Along the branches [m]
    cut : float
        With slack at both ends [m]
    colour, tracer : str
        IEC 60757 codes; tracer may be empty.
    pinned : str
        Size somebody wants of it; '' where it is to be chosen.
    pinned_by : tuple
        Key of the engine file that says so.
    """

    number: str
    start: str
    end: str
    side: Side
    circuit: str
    loads: tuple[int, ...]
    current: float
    branches: tuple[int, ...]
    path: float
    cut: float
    colour: str
    tracer: str = ""
    pinned: str = ""
    pinned_by: tuple[str | int, ...] = ()

    @property
    def colour_words(self) -> str:
        """Main and tracer, with a stroke between: 'YE/RD'."""
        return f"{self.colour}/{self.tracer}" if self.tracer else self.colour


@dataclass(frozen=True, slots=True)
class Loom:
    """All wires of a machine, in the order they are numbered and tested."""

    runs: tuple[Run, ...]
    devices: dict[str, Device]
    chains: tuple[tuple[int, ...], ...]
    """For each load the wires its current passes, out and back."""
    points: tuple[str, ...]
    """As first spelled, in the order of the branches."""
    unused: tuple[int, ...]
    """[[wires]] that no wire answers to."""
    bundled: tuple[int, ...]
    """Wires in each branch."""

    def through(self, branch: int) -> tuple[int, ...]:
        """Indices of the wires that pass a branch."""
        return tuple(i for i, run in enumerate(self.runs) if branch in run.branches)


def load_current(load: Load, volts: float) -> float:
    """What a load takes: as measured, else rated power over the voltage [A]."""
    if load.real_a is not None:
        return load.real_a
    return (load.rated_w or 0.0) / volts


def most_at_once(loads: Iterable[Load], volts: float) -> float:
    """The most these loads take together, those of one choice never at the same time.

    Parameters
    ----------
    loads : iterable of Load
    volts : float
        [V]

    Returns
    -------
    float
        [A]
    """
    groups: dict[str, dict[str, float]] = {}
    total = 0.0
    for load in loads:
        current = load_current(load, volts)
        if load.choice is None:
            total += current
            continue
        group, _, option = load.choice.casefold().partition("/")
        options = groups.setdefault(group.strip(), {})
        options[option.strip()] = options.get(option.strip(), 0.0) + current
    return total + sum(max(options.values()) for options in groups.values())


class _Tree:
    """Branches as a tree: the way between two points."""

    def __init__(self, engine: EngineFile) -> None:
        self.near: dict[str, list[tuple[str, int]]] = {}
        self.spelled: dict[str, str] = {}
        for i, branch in enumerate(engine.branches):
            a, b = branch.start.casefold(), branch.end.casefold()
            self.near.setdefault(a, []).append((b, i))
            self.near.setdefault(b, []).append((a, i))
            self.spelled.setdefault(a, branch.start)
            self.spelled.setdefault(b, branch.end)
        root = next(iter(self.near), "")
        self.up: dict[str, tuple[str, int]] = {}
        self.depth = {root: 0}
        stack = [root]
        while stack:
            here = stack.pop()
            for there, i in self.near.get(here, ()):
                if there not in self.depth:
                    self.depth[there] = self.depth[here] + 1
                    self.up[there] = (here, i)
                    stack.append(there)

    def way(self, a: str, b: str) -> tuple[int, ...]:
        """Branches from a to b, in order."""
        ahead: list[int] = []
        back: list[int] = []
        while a != b:
            if self.depth[a] >= self.depth[b]:
                a, i = self.up[a]
                ahead.append(i)
            else:
                b, i = self.up[b]
                back.append(i)
        return (*ahead, *reversed(back))


@lru_cache(maxsize=16)
def lay_loom(engine: EngineFile) -> Loom:
    """The wires that follow from an engine file.

    Parameters
    ----------
    engine : EngineFile
        With [wiring], [[circuits]], [[loads]] and [[branches]].

    Returns
    -------
    Loom

    Raises
    ------
    InputError
        If one of these is left out.

    Notes
    -----
    Two loads that leave a device for the same next one on one circuit share that wire; wires back
    are shared likewise over all circuits. A shared wire carries the most of its loads at once.
    """
    if engine.wiring is None or not engine.loads or not engine.branches:
        raise InputError(
            "This machine has no loom yet",
            allowed="[wiring], [[circuits]], [[loads]] and [[branches]] in the engine file",
            instead="them as the guide of the wiring shows",
        )
    return _Builder(engine, engine.wiring).loom()


class _Builder:
    """Collects wires by their ends while the loads are gone through."""

    def __init__(self, engine: EngineFile, wiring: Wiring) -> None:
        self.engine, self.wiring = engine, wiring
        self.tree = _Tree(engine)
        self.volts = engine.system_volts
        self.circuits = {c.name.casefold(): (i, c) for i, c in enumerate(engine.circuits)}
        self.devices: dict[str, Device] = {}
        self.named: dict[str, Device] = {}
        self.ends: dict[tuple[str, str, str], list[int]] = {}
        self.sides: dict[tuple[str, str, str], tuple[Side, str]] = {}
        self.chains: list[list[tuple[str, str, str]]] = []
        for switch in engine.switches:
            self._device(switch.name, "switch", switch.at, switch.terminal or wiring.terminal)
        for joint in engine.joints:
            self._device(joint.name, "joint", joint.at, joint.terminal or "crimped splice")
        for load in engine.loads:
            self._device(load.name, "load", load.at, load.terminal or wiring.terminal)
        self._device(BATTERY, "battery", wiring.battery, "ring on the post")
        self._device(MINUS, "battery", wiring.battery, "ring on the post")
        self._device(FRAME, "frame", "", "ring under a screw")

    def _device(self, name: str, kind: str, at: str, terminal: str) -> str:
        made = Device(name, kind, at.casefold(), terminal)
        self.devices.setdefault(name, made)
        self.named.setdefault(name.casefold(), self.devices[name])
        return self.named[name.casefold()].name

    def loom(self) -> Loom:
        """All of it."""
        for i, load in enumerate(self.engine.loads):
            self.chains.append(self._chain(i, load))
        keys = self._in_order()
        where = {key: n for n, key in enumerate(keys)}
        used: set[int] = set()
        runs = tuple(self._run(n, key, used) for n, key in enumerate(keys, 1))
        bundled = [0] * len(self.engine.branches)
        for run in runs:
            for branch in run.branches:
                bundled[branch] += 1
        return Loom(
            runs, self.devices, tuple(tuple(where[k] for k in chain) for chain in self.chains),
            tuple(self.tree.spelled.values()),
            tuple(i for i in range(len(self.engine.wires)) if i not in used), tuple(bundled),
        )  # fmt: skip

    def _in_order(self) -> list[tuple[str, str, str]]:
        """Main wires first, then circuit by circuit, then the way back."""
        rank = {"main": 0, "feed": 1, "earth": 2}
        circuit = {name: i for name, (i, _) in self.circuits.items()}
        return sorted(
            self.ends,
            key=lambda k: (rank[self.sides[k][0]], circuit.get(self.sides[k][1].casefold(), -1)),
        )

    def _chain(self, i: int, load: Load) -> list[tuple[str, str, str]]:
        _, circuit = self.circuits[load.circuit.casefold()]
        wiring = self.wiring
        before = [BATTERY, *(self.named[n.casefold()].name for n in circuit.fed_through)]
        bus = self._device(f"fuses from {before[-1]}", "bus", wiring.fuses, wiring.terminal)
        fuse = self._device(f"fuse {circuit.name}", "fuse", wiring.fuses, wiring.terminal)
        feed = [fuse, *(self.named[n.casefold()].name for n in load.feed),
                self.named[load.name.casefold()].name]  # fmt: skip
        earth = load.earth if load.earth is not None else wiring.earth
        back = [feed[-1], *(self.named[n.casefold()].name for n in earth)]
        if back[-1] == BATTERY:
            back[-1] = MINUS
        keys = [self._pass("main", "", i, pair) for pair in _pairs([*before, bus])]
        keys += [self._pass("feed", circuit.name, i, pair) for pair in _pairs(feed)]
        keys += [self._pass("earth", "", i, pair) for pair in _pairs(back)]
        return keys

    def _pass(
        self, side: Side, circuit: str, load: int, pair: tuple[str, str]
    ) -> tuple[str, str, str]:
        key = (*pair, circuit)
        self.ends.setdefault(key, []).append(load)
        self.sides.setdefault(key, (side, circuit))
        return key

    def _run(self, n: int, key: tuple[str, str, str], used: set[int]) -> Run:
        start, end, _ = key
        side, circuit_name = self.sides[key]
        a, b = self.devices[start].at, self.devices[end].at
        way = self.tree.way(a, b) if a and b else ()
        path = math.fsum(self.engine.branches[i].length_m for i in way)
        cut = math.ceil((path + 2.0 * self.wiring.slack_m) / _CUT_STEP - 1e-6) * _CUT_STEP
        loads = self.ends[key]
        tables = [self.engine.loads[i] for i in loads]
        taking = most_at_once((t for t in tables if t.kind != CHARGING), self.volts)
        giving = most_at_once((t for t in tables if t.kind == CHARGING), self.volts)
        colour, tracer, size, by = self.wiring.earth_colour, "", "", ()
        if side == "main":
            colour = "RD"
        pinned_by: tuple[str | int, ...] = by
        if circuit_name:
            at, circuit = self.circuits[circuit_name.casefold()]
            colour, tracer, size = circuit.colour, circuit.tracer or "", circuit.size or ""
            pinned_by = ("circuits", at, "size") if size else ()
        run = Run(
            str(n), start, end, side, circuit_name, tuple(loads), max(taking, giving), way, path,
            cut, colour, tracer, size, pinned_by,
        )  # fmt: skip
        return self._wanted(run, used)

    def _wanted(self, run: Run, used: set[int]) -> Run:
        for i, wire in enumerate(self.engine.wires):
            if (wire.start.casefold(), wire.end.casefold()) == (
                run.start.casefold(), run.end.casefold()
            ):  # fmt: skip
                used.add(i)
                if wire.colour is not None:
                    run = replace(run, colour=wire.colour, tracer=wire.tracer or "")
                elif wire.tracer is not None:
                    run = replace(run, tracer=wire.tracer)
                if wire.size is not None:
                    run = replace(run, pinned=wire.size, pinned_by=("wires", i, "size"))
                if wire.number is not None:
                    run = replace(run, number=wire.number)
        return run


def _pairs(names: Sequence[str]) -> list[tuple[str, str]]:
    return list(pairwise(names))
