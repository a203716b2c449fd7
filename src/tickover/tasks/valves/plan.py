"""Which shim goes where: the exact best use of the engine, the drawer and the shop."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.assignment import Choice, assign
from tickover.decide.explain import Posterior
from tickover.engine import EngineFile, Place
from tickover.tasks.valves.assumptions import Assumptions
from tickover.tasks.valves.faults import camshafts_must_come_out, shims_matter
from tickover.tasks.valves.readings import ClearanceReading, DrawerShim, FittedShim

Floats = NDArray[np.float64]

_DRAWS = 4000
_WORST = 1e-6


@dataclass(frozen=True, slots=True)
class Change:
    """One valve that gets another shim. Lengths in m.

    `source` is 'fitted at PLACE', 'stock' or 'buy'. `predicted_m` holds 80 percent of what the
    next reading may be. `rests_on` is 'reading', 'bound' (the clearance had only one end) or
    'prior experience' (an explanation, not the reading, carries the figure).
    """

    place: str
    from_m: float
    to_m: float
    source: str
    predicted_m: tuple[float, float]
    probability_in: float
    rests_on: str
    read_again_first: bool
    """Fit this one, read again, and only then trust the rest of the plan for this valve."""


@dataclass(frozen=True, slots=True)
class Purchase:
    """A size to buy; `price` is for all of them, None when nobody knows it."""

    size_m: float
    count: int
    price: float | None


@dataclass(frozen=True, slots=True)
class ShimPlan:
    """The plan: changes, purchases, and what it leads to."""

    changes: tuple[Change, ...]
    buy: tuple[Purchase, ...]
    price: float
    price_known: bool
    valves_disturbed: int
    camshafts_opened: tuple[str, ...]
    probability_all_in: float
    probability_by_place: Mapping[str, float]
    optimal: bool
    unplanned: tuple[str, ...]
    """Valves left out: no reading, or the size of the shim there is not known."""
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Valve:
    """A valve of the plan with the density of its lasting clearance on an even grid."""

    place: Place
    limits: tuple[float, float]
    shim: FittedShim
    reading: ClearanceReading
    grid: Floats
    chance: Floats
    probe: bool = False

    @property
    def mean(self) -> float:
        return float(self.grid @ self.chance)

    def inside(self, moved: Floats, spread: float, limits: tuple[float, float]) -> Floats:
        """P(low <= clearance + moved <= high) for an array of moves, blurred by `spread`."""
        step = float(self.grid[1] - self.grid[0])
        chance = self.chance
        grid = self.grid
        if spread > step / 4:
            half = max(1, math.ceil(4 * spread / step))
            kernel = np.exp(-0.5 * (step * np.arange(-half, half + 1) / spread) ** 2)
            chance = np.convolve(chance, kernel / kernel.sum())
            grid = grid[0] + step * np.arange(-half, self.grid.size + half)
        cumulative = np.concatenate([[0.0], np.cumsum(chance)])
        edges = np.concatenate([grid - step / 2, [grid[-1] + step / 2]])
        low = np.interp(limits[0] - moved, edges, cumulative)
        high = np.interp(limits[1] - moved, edges, cumulative)
        return np.asarray(np.clip(high - low, 0.0, 1.0), dtype=np.float64)


def _shortfall(probability: Floats, wanted: float) -> NDArray[np.int64]:
    lack = math.log(wanted) - np.log(np.maximum(probability, _WORST))
    return np.asarray(np.rint(100 * np.maximum(lack, 0.0)), dtype=np.int64)


def shim_plan(
    engine: EngineFile,
    places: Sequence[Place],
    readings: Mapping[str, ClearanceReading],
    shims: Mapping[str, FittedShim],
    drawer: Sequence[DrawerShim],
    posterior: Posterior,
    assume: Assumptions,
    seed: int,
) -> ShimPlan | None:
    """The best plan, or None for an engine without shims or without anything to plan.

    Parameters
    ----------
    engine : EngineFile
    places : sequence of Place
        The valves with a reading, in the order of the posterior's items.
    readings, shims : mapping
        By place. A valve whose shim is unknown cannot be planned and is named.
    drawer : sequence of DrawerShim
    posterior : Posterior
        The clearances as the explanations leave them.
    assume : Assumptions
    seed : int
        For the joint probability.

    Notes
    -----
    Lexicographic, in whole numbers: shortfall of probability against the wanted one, price,
    camshafts opened, valves disturbed, distance from the preferred point. The optimum is exact
    (decide.assignment). Which figures it rests on is told with each change.
    """
    if engine.shims is None or not shims_matter(engine):
        return None
    valves = [
        _as_valve(engine, item, place, readings[place.name], shims[place.name], posterior, assume)
        for item, place in enumerate(places)
        if place.name in shims
    ]
    items = [item for item, place in enumerate(places) if place.name in shims]
    unplanned = tuple(
        place.name
        for place in engine.places()
        if place.name not in readings or place.name not in shims
    )
    if not valves:
        return None
    stock = _merged(drawer)
    sizes = _buyable(engine, drawer)
    choices, optimal, valves = _solve(engine, valves, stock, sizes, assume)
    new, old_spread, new_spread, sources = _resolve(valves, choices, stock, sizes, assume)
    joint, by_place, bands = _predict(
        valves, items, choices, new, posterior, old_spread, new_spread, seed
    )
    changes = tuple(
        Change(
            place=valve.place.name,
            from_m=valve.shim.size_m,
            to_m=float(new[i]),
            source=sources[i],
            predicted_m=bands[i],
            probability_in=by_place[valve.place.name],
            rests_on=_rests_on(valve, items[i], posterior),
            read_again_first=valve.probe or valve.reading.bound_only,
        )
        for i, valve in enumerate(valves)
        if choices[i].kind != "kept"
    )
    buy = _purchases(valves, choices, sizes)
    opened: tuple[str, ...] = ()
    if camshafts_must_come_out(engine):
        disturbed = {change.place for change in changes}
        opened = tuple(sorted({v.place.camshaft for v in valves if v.place.name in disturbed}))
    return ShimPlan(
        changes=changes,
        buy=buy,
        price=round(sum(item.price or 0.0 for item in buy), 2),
        price_known=all(item.price is not None for item in buy),
        valves_disturbed=len(changes),
        camshafts_opened=opened,
        probability_all_in=joint,
        probability_by_place=by_place,
        optimal=optimal,
        unplanned=unplanned,
        notes=_notes(valves, changes, unplanned, shims),
    )


def _as_valve(
    engine: EngineFile,
    item: int,
    place: Place,
    reading: ClearanceReading,
    shim: FittedShim,
    posterior: Posterior,
    assume: Assumptions,
) -> _Valve:
    limits = engine.limits_m(place)
    assert limits is not None  # callers plan only limited valves
    grid, chance = posterior.mixture(item)
    valve = _Valve(place, limits, shim, reading, grid, chance)
    if reading.go_m is None:
        # Even the luckiest shim would not do often enough: first make a gap that can be read.
        step = float(grid[1] - grid[0])
        best = float(valve.inside(np.arange(-1.5e-3, 1.5e-3, step), 0.0, limits).max())
        if best < 0.6:
            valve = _Valve(place, limits, shim, reading, grid, chance, probe=True)
    return valve


def _merged(drawer: Sequence[DrawerShim]) -> list[tuple[float, int]]:
    counts: dict[int, int] = {}
    for shim in drawer:
        key = round(shim.size_m * 1e9)
        counts[key] = counts.get(key, 0) + shim.count
    return [(key * 1e-9, count) for key, count in sorted(counts.items()) if count > 0]


def _buyable(engine: EngineFile, drawer: Sequence[DrawerShim]) -> list[tuple[float, float | None]]:
    assert engine.shims is not None
    prices: dict[int, float | None] = {
        round(size * 1e9): engine.shims.price for size in engine.shims.sizes_m
    }
    for shim in drawer:
        if shim.price is not None:
            prices[round(shim.size_m * 1e9)] = shim.price
    return [(key * 1e-9, price) for key, price in sorted(prices.items())]


def _solve(
    engine: EngineFile,
    valves: list[_Valve],
    stock: list[tuple[float, int]],
    sizes: list[tuple[float, float | None]],
    assume: Assumptions,
) -> tuple[tuple[Choice, ...], bool, list[_Valve]]:
    count = len(valves)
    held = np.array([valve.shim.size_m for valve in valves])
    in_drawer = np.array([size for size, _ in stock])
    in_shop = np.array([size for size, _ in sizes])
    levels = 5

    def table(columns: int) -> NDArray[np.int64]:
        return np.zeros((levels, count, columns), dtype=np.int64)

    keep, pool, shop = table(count), table(in_drawer.size), table(in_shop.size)
    fresh = assume.fresh_shim_m
    for i, valve in enumerate(valves):
        own_spread = assume.shim_spread_m(valve.shim.known_by)
        spreads = np.array(
            [math.hypot(own_spread, assume.shim_spread_m(v.shim.known_by)) for v in valves]
        )
        _fill(keep, i, valve, held, spreads, assume)
        stay = valve.inside(np.zeros(1), 0.0, valve.limits)
        keep[0, i, i] = int(_short(valve, np.zeros(1), stay, assume)[0])
        keep[3:, i, i] = 0
        with_fresh = np.array([math.hypot(own_spread, fresh)])
        _fill(pool, i, valve, in_drawer, np.repeat(with_fresh, in_drawer.size), assume)
        _fill(shop, i, valve, in_shop, np.repeat(with_fresh, in_shop.size), assume)
        shop[1, i] = [round(100 * (price if price is not None else 1.0)) for _, price in sizes]
    groups: list[list[int]] = []
    group_cost = None
    if camshafts_must_come_out(engine):
        names = sorted({valve.place.camshaft for valve in valves})
        groups = [[i for i, v in enumerate(valves) if v.place.camshaft == name] for name in names]
        group_cost = np.zeros((levels, len(groups)), dtype=np.int64)
        group_cost[2] = 1
    result = assign(
        keep,
        pool if in_drawer.size else None,
        np.array([number for _, number in stock]) if in_drawer.size else None,
        shop if in_shop.size else None,
        groups=groups,
        group_cost=group_cost,
    )
    return result.choices, result.status == "optimal", valves


def _short(valve: _Valve, moved: Floats, inside: Floats, assume: Assumptions) -> NDArray[np.int64]:
    """Shortfall against what the plan wants of a valve: in limits, or first a readable gap."""
    if not valve.probe:
        return _shortfall(inside, assume.wanted_probability)
    return _shortfall(valve.inside(moved, 0.0, _READABLE_M), assume.wanted_gap)


_READABLE_M = (40e-6, 600e-6)
"""Gaps that a common set of blades can measure."""


def _fill(
    costs: NDArray[np.int64],
    i: int,
    valve: _Valve,
    sizes: Floats,
    spreads: Floats,
    assume: Assumptions,
) -> None:
    if not sizes.size:
        return
    moved = valve.shim.size_m - sizes
    inside = np.empty(sizes.size)
    for spread in np.unique(spreads):
        chosen = spreads == spread
        inside[chosen] = valve.inside(moved[chosen], float(spread), valve.limits)
    costs[0, i] = _short(valve, moved, inside, assume)
    costs[3, i] = 1
    low, high = valve.limits
    target = low + assume.preferred * (high - low)
    costs[4, i] = np.rint(1e6 * np.abs(valve.mean + moved - target)).astype(np.int64)


def _resolve(
    valves: list[_Valve],
    choices: tuple[Choice, ...],
    stock: list[tuple[float, int]],
    sizes: list[tuple[float, float | None]],
    assume: Assumptions,
) -> tuple[Floats, Floats, Floats, list[str]]:
    new, spread, sources = [], [], []
    for choice in choices:
        if choice.kind in ("kept", "held"):
            giver = valves[choice.index]
            new.append(giver.shim.size_m)
            spread.append(assume.shim_spread_m(giver.shim.known_by))
            sources.append(f"fitted at {giver.place.name}")
        elif choice.kind == "pool":
            new.append(stock[choice.index][0])
            spread.append(assume.fresh_shim_m)
            sources.append("stock")
        else:
            new.append(sizes[choice.index][0])
            spread.append(assume.fresh_shim_m)
            sources.append("buy")
    old_spread = np.array([assume.shim_spread_m(valve.shim.known_by) for valve in valves])
    return np.array(new), old_spread, np.array(spread), sources


def _predict(
    valves: list[_Valve],
    items: list[int],
    choices: tuple[Choice, ...],
    new: Floats,
    posterior: Posterior,
    old_spread: Floats,
    new_spread: Floats,
    seed: int,
) -> tuple[float, dict[str, float], list[tuple[float, float]]]:
    """Joint and single probabilities by Monte Carlo: a shim that moves takes its error along."""
    generator = np.random.default_rng(seed)
    lasting = posterior.draws(generator, _DRAWS)[:, items]
    old_error = generator.standard_normal((_DRAWS, len(valves))) * old_spread
    after = lasting.copy()
    for i, choice in enumerate(choices):
        if choice.kind == "kept":
            continue
        if choice.kind == "held":
            error = old_error[:, choice.index]
        else:
            error = generator.standard_normal(_DRAWS) * new_spread[i]
        after[:, i] += valves[i].shim.size_m + old_error[:, i] - new[i] - error
    low = np.array([valve.limits[0] for valve in valves])
    high = np.array([valve.limits[1] for valve in valves])
    good = (after >= low) & (after <= high)
    ends = np.quantile(after, [0.1, 0.9], axis=0)
    return (
        float(good.all(axis=1).mean()),
        {valve.place.name: float(good[:, i].mean()) for i, valve in enumerate(valves)},
        [(float(ends[0, i]), float(ends[1, i])) for i in range(len(valves))],
    )


def _rests_on(valve: _Valve, item: int, posterior: Posterior) -> str:
    if valve.reading.bound_only:
        return "bound"
    passing = posterior.background + sum(
        float(posterior.probability[k])
        for k, cause in enumerate(posterior.causes)
        if cause.passing and item in cause.items
    )
    return "prior experience" if passing > 0.3 else "reading"


def _purchases(
    valves: list[_Valve],
    choices: tuple[Choice, ...],
    sizes: list[tuple[float, float | None]],
) -> tuple[Purchase, ...]:
    wanted: dict[int, int] = {}
    for choice in choices:
        if choice.kind == "bought":
            wanted[choice.index] = wanted.get(choice.index, 0) + 1
    return tuple(
        Purchase(
            sizes[index][0],
            count,
            None if sizes[index][1] is None else round(count * float(sizes[index][1] or 0.0), 2),
        )
        for index, count in sorted(wanted.items())
    )


def _notes(
    valves: list[_Valve],
    changes: tuple[Change, ...],
    unplanned: tuple[str, ...],
    shims: Mapping[str, FittedShim],
) -> tuple[str, ...]:
    notes = []
    for valve in valves:
        name = valve.place.name
        changed = next((change for change in changes if change.place == name), None)
        if valve.reading.go_m is None and changed is not None:
            notes.append(
                f"{name} had no gap: its reading is only a bound, so "
                + (
                    "this shim is there to make a gap; read it again before the final one is "
                    "chosen."
                    if valve.probe
                    else "read it again after the change before you trust its figure."
                )
            )
        elif valve.reading.go_m is None:
            notes.append(f"{name} had no gap: fit a known thinner shim and read it again.")
        elif valve.reading.no_go_m is None and changed is not None:
            notes.append(f"{name} was read from one side only; find the blade that does not go.")
    by_mark = [change.place for change in changes if shims[change.place].known_by != "micrometer"]
    if by_mark:
        notes.append(
            f"Measure the shims out of {', '.join(by_mark)} with a micrometer: their marks alone "
            "leave the sums loose."
        )
    if any(change.source in ("stock", "buy") for change in changes):
        notes.append("Measure each shim before it goes in; the sums count on it.")
    unknown = [name for name in unplanned if name not in shims and name]
    if unknown:
        notes.append(f"Not planned, reading or shim size missing: {', '.join(unknown)}.")
    return tuple(notes)
