"""All loads against the generator at idle and on the road, and the battery at a standstill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.engine.tables.wiring import Load
from tickover.errors import InputError
from tickover.quantities import parse
from tickover.tasks.wiring.loom import CHARGING, load_current, most_at_once
from tickover.tasks.wiring.sizing import fuses_of, size_loom


@dataclass(frozen=True, slots=True)
class PowerBalance:
    """What is taken and what is given [A]; the reserve [h].

    `riding` counts each load by its share of a ride, `most` everything at once, `standing` what
    is on with the engine off. None: the engine file does not say.
    """

    riding: float
    most: float
    standing: float
    idle: float | None
    road: float | None
    reserve_h: float | None
    volts: float

    @property
    def left_idle(self) -> float | None:
        """Left over at idle, riding loads on [A]; negative: the battery gives it."""
        return None if self.idle is None else self.idle - self.riding

    @property
    def left_road(self) -> float | None:
        """Left over on the road [A]."""
        return None if self.road is None else self.road - self.riding


@dataclass(frozen=True, slots=True)
class Swapped:
    """The same machine with other lamps: what is in, balance, fuses and wires that change."""

    lamps: tuple[tuple[str, float, float], ...]
    """Name, power before, power after [W]"""
    before: PowerBalance
    after: PowerBalance
    fuses: tuple[tuple[str, float | None, float | None], ...]
    """Circuit, fuse before and after, where they differ [A]"""
    thinner: int
    """Wires that would be thinner in a new loom."""


def power_balance(engine: EngineFile) -> PowerBalance:
    """Loads against charging output and battery.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    PowerBalance

    Notes
    -----
    Riding: the sum of currents, each by its share of time, of a choice the mean over its options
    weighted by their shares, at most one at a time being on. Reserve: capacity x usable share over
    the standing current; that a battery gives less at high current is left out, standing loads
    being small.
    """
    wiring, battery = engine.wiring, engine.battery
    volts = engine.system_volts
    taking = [load for load in engine.loads if load.kind != CHARGING]
    riding = sum(load_current(load, volts) * _share(load, taking) for load in taking)
    off = {c.name.casefold() for c in engine.circuits if c.engine_off}
    standing = most_at_once(
        (load for load in taking if load.engine_off or load.circuit.casefold() in off), volts
    )
    reserve = None
    if wiring is not None and battery is not None and battery.capacity_ah and standing > 0.0:
        reserve = battery.capacity_ah * wiring.reserve / standing
    idle, road = _output(engine)
    return PowerBalance(riding, most_at_once(taking, volts), standing, idle, road, reserve, volts)


def _output(engine: EngineFile) -> tuple[float | None, float | None]:
    """The generator at idle and on the road: of [wiring], else the ends of [charging] output."""
    wiring, charging = engine.wiring, engine.charging
    points = charging.output if charging is not None else ()
    idle = wiring.generator_idle_a if wiring is not None else None
    road = wiring.generator_road_a if wiring is not None else None
    if points:
        idle = points[0][1] if idle is None else idle
        road = points[-1][1] if road is None else road
    return idle, road


def _share(load: Load, taking: list[Load]) -> float:
    """Share of a ride a load is on; where the options of a choice overfill it, in proportion."""
    if load.choice is None:
        return load.duty
    group = load.choice.casefold().partition("/")[0].strip()
    options: dict[str, float] = {}
    for each in taking:
        if each.choice is not None:
            other, _, option = each.choice.casefold().partition("/")
            if other.strip() == group:
                options[option.strip()] = max(options.get(option.strip(), 0.0), each.duty)
    whole = sum(options.values())
    return load.duty / max(1.0, whole)


def swap_words(engine: EngineFile, swaps: tuple[str, ...]) -> dict[str, float]:
    """Powers by load from 'tail lamp = 1 W'.

    Raises
    ------
    InputError
        No such load, no power.
    """
    names = {load.name.casefold(): load.name for load in engine.loads if load.kind != CHARGING}
    found: dict[str, float] = {}
    for text in swaps:
        name, sign, power = text.partition("=")
        known = names.get(" ".join(name.split()).casefold())
        if not sign or known is None:
            raise InputError("This names no load", given=text, allowed=", ".join(names.values()),
                             instead="'tail lamp = 1 W'")  # fmt: skip
        found[known] = parse(power.strip(), "power", "W", known).value_si
        if not 0.0 < found[known] <= 1000.0:
            raise InputError("That is no power of a lamp", given=text, allowed="up to 1000 W")
    return found


def swapped(engine: EngineFile, powers: Mapping[str, float] | None = None) -> Swapped | None:
    """What changes with other lamps; None where none is named.

    Parameters
    ----------
    engine : EngineFile
    powers : mapping, optional
        Load to power [W]; the `lower` of the engine file if left out.

    Returns
    -------
    Swapped or None

    Raises
    ------
    InputError
        As `size_loom`.
    """
    if powers is None:
        powers = {load.name: load.lower_w for load in engine.loads if load.lower_w is not None}
    if not powers:
        return None
    volts = engine.system_volts
    rows, loads = [], []
    for load in engine.loads:
        power = powers.get(load.name)
        if power is not None:
            rows.append((load.name, load_current(load, volts) * volts, power))
            load = load.model_copy(update={"rated_w": power, "real_a": None})
        loads.append(load)
    other = engine.model_copy(update={"loads": tuple(loads)})
    before, after = fuses_of(engine), fuses_of(other)
    free = {c.name for c in engine.circuits if c.fuse_a is None}
    old, new = size_loom(engine), size_loom(other)
    return Swapped(
        tuple(rows), power_balance(engine), power_balance(other),
        tuple((name, fuse, after[name]) for name, fuse in before.items()
              if name in free and after[name] != fuse),
        sum(b.size.area < a.size.area for a, b in zip(old.wires, new.wires, strict=True)),
    )  # fmt: skip
