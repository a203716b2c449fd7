"""Each wire's size by drop, by current and by fuse; each circuit's fuse; what decides."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray

from tickover.cache.remembered import remembered
from tickover.decide.selection import Selection, select
from tickover.engine import EngineFile
from tickover.engine.tables.wiring import Wiring
from tickover.errors import InputError
from tickover.physics.wire import Standard, WireSize, resistance, size_named, sizes
from tickover.physics.wire_current import (
    Bundling,
    ampacity,
    beyond_table,
    conductor_temperature,
    fuse_for,
)
from tickover.tasks.wiring.loom import (
    CHARGING,
    Loom,
    Run,
    lay_loom,
    load_current,
    most_at_once,
)

Floats = NDArray[np.float64]
Limit = Literal["drop", "current", "fuse", "least size", "as it is lying"]
USUAL_DROP_V = 0.5
"""Out and back for 12 V: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Sized:
    """One wire with its size and why.

    Parameters
    ----------
    run : Run
    size : WireSize
    by_current, by_fuse : WireSize or None
        The thinnest that carries the current, and that the fuse protects; None if none does.
    limit : str
        What decides.
    ampacity : float
        As it lies in its bundle [A]
    fuse : float or None
        The one before it [A]
    hot_k : float
        Its copper at full current [K]
    ohm : float
        Hot, with its slack [ohm]
    drop : float
        At full current [V]
    bundled : int
        Wires in its fullest bundle.
    too_thin : bool
        Lying already, and less than current and fuse ask for.
    """

    run: Run
    size: WireSize
    by_current: WireSize | None
    by_fuse: WireSize | None
    limit: Limit
    ampacity: float
    fuse: float | None
    hot_k: float
    ohm: float
    drop: float
    bundled: int
    too_thin: bool


@dataclass(frozen=True, slots=True)
class CircuitSized:
    """One circuit: most at once [A], fuse [A], whether it was given, its smallest wire [A]."""

    name: str
    current: float
    fuse: float | None
    given: bool
    least_ampacity: float
    engine_off: bool


@dataclass(frozen=True, slots=True)
class LoadDrop:
    """One load: its current [A], volts lost on the way [V], volts allowed [V]."""

    name: str
    circuit: str
    current: float
    drop: float
    allowed: float

    @property
    def met(self) -> bool:
        """Whether it stays within."""
        return self.drop <= self.allowed * (1.0 + 1e-6)


@dataclass(frozen=True, slots=True)
class Sizing:
    """The whole loom, sized."""

    loom: Loom
    wires: tuple[Sized, ...]
    circuits: tuple[CircuitSized, ...]
    loads: tuple[LoadDrop, ...]
    choice: Selection
    copper: float
    """Volume of copper, lengths with slack [m3]"""


@dataclass(frozen=True, slots=True)
class _Bounds:
    """What the options of one wire are."""

    options: tuple[WireSize, ...]
    ampacities: tuple[float, ...]
    least: int
    by_current: int | None
    by_fuse: int | None
    fixed: int | None
    fuse: float | None
    bundled: int


def circuit_current(engine: EngineFile, name: str) -> float:
    """The most a circuit carries at once [A]."""
    tables = [load for load in engine.loads if load.circuit.casefold() == name.casefold()]
    volts = engine.system_volts
    taking = most_at_once((t for t in tables if t.kind != CHARGING), volts)
    return max(taking, most_at_once((t for t in tables if t.kind == CHARGING), volts))


def fuses_of(engine: EngineFile) -> dict[str, float | None]:
    """The fuse of each circuit, given or chosen [A]; None beyond the largest."""
    return {
        c.name: c.fuse_a if c.fuse_a is not None else fuse_for(circuit_current(engine, c.name))
        for c in engine.circuits
    }


_select = remembered(select, unless=lambda found: found.status == "time ran out")


@lru_cache(maxsize=16)
def size_loom(engine: EngineFile) -> Sizing:
    """Size every wire of an engine file.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    Sizing

    Raises
    ------
    InputError
        If there is no loom, or a size that is not sold.

    Notes
    -----
    Every wire is at least as thick as its current and the fuse before it ask for; of all such
    choices the one with the least copper that keeps every load within its drop, everything that
    can be on at once being on and the copper as hot as that makes it (`decide.selection`).
    """
    loom = lay_loom(engine)
    wiring = engine.wiring
    assert wiring is not None  # loom_of has asked for it
    fuses = fuses_of(engine)
    bounds = [_bounds(engine, wiring, loom, run, fuses) for run in loom.runs]
    ohms = [_ohms(wiring, run, bound) for run, bound in zip(loom.runs, bounds, strict=True)]
    allowed = [_allowed(engine, wiring, load.circuit) for load in engine.loads]
    choice = _chosen(loom, bounds, ohms, allowed)
    at = [_index(bound, option) for bound, option in zip(bounds, choice.options, strict=True)]
    wires = tuple(
        _sized(wiring, run, bound, float(row[k]), k)
        for run, bound, row, k in zip(loom.runs, bounds, ohms, at, strict=True)
    )
    drops = tuple(
        LoadDrop(load.name, load.circuit, load_current(load, engine.system_volts),
                 sum(wires[i].drop for i in loom.chains[n]), allowed[n])
        for n, load in enumerate(engine.loads)
    )  # fmt: skip
    circuits = tuple(
        CircuitSized(
            c.name, circuit_current(engine, c.name), fuses[c.name], c.fuse_a is not None,
            min((w.ampacity for w in wires if w.run.circuit == c.name), default=0.0), c.engine_off,
        )
        for c in engine.circuits
    )  # fmt: skip
    copper = sum(w.size.area * w.run.cut for w in wires)
    return Sizing(loom, wires, circuits, drops, choice, copper)


def _index(bound: _Bounds, option: int) -> int:
    return bound.fixed if bound.fixed is not None else bound.least + option


def _bounds(
    engine: EngineFile, wiring: Wiring, loom: Loom, run: Run, fuses: dict[str, float | None]
) -> _Bounds:
    standard = cast(Standard, wiring.standard)
    options = sizes(standard)
    bundled = max((loom.bundled[b] for b in run.branches), default=1)
    ampacities = tuple(
        ampacity(s, wiring.around_k, int(wiring.insulation), bundled,
                 cast(Bundling, wiring.bundling))
        for s in options
    )  # fmt: skip
    fuse = _fuse_before(engine, wiring, run, fuses)
    by_current = _first(ampacities, run.current)
    by_fuse = _first(ampacities, fuse) if fuse is not None else 0
    least = options.index(size_named(wiring.least_size, standard)) if wiring.least_size else 0
    last = len(options) - 1
    asked = max(least, last if by_current is None else by_current,
                last if by_fuse is None else by_fuse)  # fmt: skip
    fixed = None
    if run.pinned:
        try:
            fixed = options.index(size_named(run.pinned, standard))
        except InputError as wrong:
            raise InputError(
                wrong.problem, given=run.pinned, allowed=wrong.allowed,
                where=f"wire {run.number}, {run.start} to {run.end}",
            ) from None  # fmt: skip
    return _Bounds(options, ampacities, asked, by_current, by_fuse, fixed, fuse, bundled)


def _first(ampacities: tuple[float, ...], current: float) -> int | None:
    return next((k for k, c in enumerate(ampacities) if c >= current * (1.0 - 1e-9)), None)


def _fuse_before(
    engine: EngineFile, wiring: Wiring, run: Run, fuses: dict[str, float | None]
) -> float | None:
    """The fuse that has to melt before this wire does [A]."""
    if run.side == "main":
        return wiring.main_fuse_a
    if run.side == "feed":
        return fuses[run.circuit]
    names = {c.name.casefold(): c.name for c in engine.circuits}
    found = [fuses[names[engine.loads[i].circuit.casefold()]] for i in run.loads]
    return max((f for f in found if f is not None), default=None)


def _ohms(wiring: Wiring, run: Run, bound: _Bounds) -> Floats:
    """Hot resistance of the wire in each size, slack included [ohm]."""
    row = []
    for size, most in zip(bound.options, bound.ampacities, strict=True):
        hot = conductor_temperature(run.current, most, wiring.around_k, int(wiring.insulation))
        row.append(resistance(size, run.cut, min(hot, 523.15)))
    return np.array(row)


def _allowed(engine: EngineFile, wiring: Wiring, circuit: str) -> float:
    for each in engine.circuits:
        if each.name.casefold() == circuit.casefold() and each.drop_v is not None:
            return each.drop_v
    if wiring.drop_v is not None:
        return wiring.drop_v
    return USUAL_DROP_V * engine.system_volts / 12.0


def _chosen(
    loom: Loom, bounds: list[_Bounds], ohms: list[Floats], allowed: list[float]
) -> Selection:
    costs, weights = [], []
    for run, bound, row in zip(loom.runs, bounds, ohms, strict=True):
        at = slice(bound.least, None)
        if bound.fixed is not None:
            at = slice(bound.fixed, bound.fixed + 1)
        costs.append(np.array([s.area * 1e6 * run.cut for s in bound.options[at]]))
        weights.append(run.current * row[at])
    # A load that even the thickest wires leave short gets those, and is said; the others decide.
    rows, limits = [], []
    hopeless: set[int] = set()
    for chain, limit in zip(loom.chains, allowed, strict=True):
        if sum(float(weights[i].min()) for i in chain) > limit:
            hopeless.update(chain)
        else:
            rows.append(chain)
            limits.append(limit)
    for i in hopeless:
        thickest = int(np.argmin(weights[i]))
        costs[i] = np.where(np.arange(costs[i].size) == thickest, 0.0, costs[i] + 1e6)
    return _select(costs, weights, rows, limits)


def _sized(wiring: Wiring, run: Run, bound: _Bounds, ohm: float, k: int) -> Sized:
    limit: Limit
    asks = [k_ for k_ in (bound.by_current, bound.by_fuse) if k_ is not None]
    short = len(asks) < 2
    if bound.fixed is not None:
        limit = "as it is lying"
    elif k > bound.least:
        limit = "drop"
    elif bound.by_current is None or (bound.by_fuse is not None and k == bound.by_current
                                      and bound.by_current > bound.by_fuse):  # fmt: skip
        limit = "current"
    elif bound.by_fuse is None or (k == bound.by_fuse and k > 0):
        limit = "fuse"
    else:
        limit = "current" if k == bound.by_current and k > 0 else "least size"
    return Sized(
        run, bound.options[k],
        None if bound.by_current is None else bound.options[bound.by_current],
        None if bound.by_fuse is None else bound.options[bound.by_fuse],
        limit, bound.ampacities[k], bound.fuse,
        conductor_temperature(run.current, bound.ampacities[k], wiring.around_k,
                              int(wiring.insulation)),
        ohm, run.current * ohm, bound.bundled,
        short or k < max(asks),
    )  # fmt: skip


def extrapolated(sizing: Sizing) -> tuple[str, ...]:
    """Sizes in use whose current lies beyond the table, by name."""
    return tuple(dict.fromkeys(w.size.words for w in sizing.wires if beyond_table(w.size.area)))
