"""Why the readings look as they do, ranked, and the next check that tells most for its effort."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.explain import Cause, Posterior, Seen, explain
from tickover.decide.information import entropy, rank_checks
from tickover.engine import EngineFile, Place
from tickover.tasks.valves import faults
from tickover.tasks.valves.assumptions import Assumptions
from tickover.tasks.valves.faults import Circumstances
from tickover.tasks.valves.readings import ClearanceReading, FittedShim
from tickover.tasks.valves.verdict import Verdict

Floats = NDArray[np.float64]

_SHOWN = 0.01
_MOST_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Explanation:
    """One possible reason, with two numbers kept apart.

    `probability` that it is at work; `probability_in_after`: if it is, that every valve it
    touches is in limits once its remedy is done.
    """

    what: str
    places: tuple[str, ...]
    probability: float
    probability_in_after: float
    predicts: str
    remedy: str


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check worth doing, what it may tell [bit] and what it costs [min]."""

    what: str
    places: tuple[str, ...]
    bits: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Understanding:
    """Explanations, checks, and the posterior the plan starts from."""

    explanations: tuple[Explanation, ...]
    checks: tuple[NextCheck, ...]
    posterior: Posterior
    rests_on: tuple[str, ...]
    """What the answer depends on, in words."""


def understand(
    engine: EngineFile,
    places: Sequence[Place],
    readings: Mapping[str, ClearanceReading],
    verdicts: Mapping[str, Verdict],
    shims: Mapping[str, FittedShim],
    circumstances: Circumstances,
    assume: Assumptions,
) -> Understanding:
    """Explain the readings of these places (each has limits and a reading).

    Parameters
    ----------
    engine : EngineFile
    places : sequence of Place
    readings, verdicts, shims : mapping
        By place name.
    circumstances : Circumstances
    assume : Assumptions
    """
    limits = [_limits(engine, place) for place in places]
    mean = np.array([(low + high) / 2 for low, high in limits])
    spread = np.array(
        [
            assume.head_work_spread_m
            if place.name in circumstances.head_work
            else assume.usual_spread_m
            for place in places
        ]
    )
    low = np.array([_end(readings[p.name].go_m, -np.inf) for p in places])
    high = np.array([_end(readings[p.name].no_go_m, np.inf) for p in places])
    suspects = {p.name for p in places if verdicts[p.name].state in ("out", "undecided")}
    causes, background = faults.valve_causes(engine, places, shims, circumstances, assume, suspects)
    posterior = explain(Seen(mean, spread, low, high, assume.feel_m), causes, background)
    found = _explanations(engine, places, limits, suspects, posterior, shims, assume)
    checks = _checks(engine, places, readings, verdicts, shims, suspects, posterior, assume)
    return Understanding(found, checks, posterior, _rests_on(places, shims, circumstances, found))


def _limits(engine: EngineFile, place: Place) -> tuple[float, float]:
    limits = engine.limits_m(place)
    assert limits is not None  # callers choose places with limits
    return limits


def _end(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _inside(grid: Floats, density: Floats, limits: tuple[float, float]) -> float:
    return float(density[(grid >= limits[0]) & (grid <= limits[1])].sum())


def _after_refit(
    grid: Floats,
    density: Floats,
    limits: tuple[float, float],
    shim: FittedShim | None,
    engine: EngineFile,
    assume: Assumptions,
) -> float:
    """Best chance of being in limits with any one size fitted (or the screw set)."""
    low, high = limits
    if not faults.shims_matter(engine):
        from tickover.decide.intervals import probability_inside

        target = low + assume.preferred * (high - low)
        return float(probability_inside(low, high, target, target, 2 * assume.feel_m))
    cumulative = np.cumsum(density)
    if shim is not None and engine.shims is not None and engine.shims.sizes_m:
        moves = shim.size_m - np.array(engine.shims.sizes_m)
    else:
        moves = np.linspace(-1e-3, 1e-3, 401)
    reached = np.interp(high - moves, grid, cumulative) - np.interp(low - moves, grid, cumulative)
    return float(np.clip(reached.max(), 0.0, 1.0))  # fmt: skip


def _explanations(
    engine: EngineFile,
    places: Sequence[Place],
    limits: list[tuple[float, float]],
    suspects: set[str],
    posterior: Posterior,
    shims: Mapping[str, FittedShim],
    assume: Assumptions,
) -> tuple[Explanation, ...]:
    nodes, node_weight = posterior.background_nodes()
    usual_node = float(nodes[int(np.argmax(node_weight))])

    def one(what: str, items: tuple[int, ...], probability: float, after: float) -> Explanation:
        remedy = faults.REMEDIES[what]
        if what in (faults.WRONG_SHIM, faults.SITS_DEEPER, faults.NOTHING) and not (
            faults.shims_matter(engine)
        ):
            remedy = faults.REMEDY_BY_SCREW
        names = tuple(places[i].name for i in items)
        return Explanation(what, names, probability, min(after, 1.0), faults.PREDICTS[what], remedy)

    def after_cause(k: int, cause: Cause) -> float:
        chance = 1.0
        for item in cause.items:
            if places[item].name not in suspects and cause.label == faults.CAMSHAFT:
                continue
            grid = posterior.grid(item)
            undone = cause.label in (faults.TRANSPOSED, faults.CAMSHAFT) or cause.passing
            density = posterior.density(item, k, usual_node, grid, before=undone)
            if undone:
                chance *= _inside(grid, density, limits[item])
            else:
                chance *= _after_refit(
                    grid, density, limits[item], shims.get(places[item].name), engine, assume
                )
        return chance

    found = []
    touched = [
        (float(posterior.probability[k]), k, cause)
        for k, cause in enumerate(posterior.causes)
        if any(places[item].name in suspects for item in cause.items)
    ]
    for probability, k, cause in sorted(touched, key=lambda row: -row[0])[:_MOST_SHOWN]:
        if probability >= _SHOWN:
            found.append(one(cause.label, cause.items, probability, after_cause(k, cause)))
    everyone = tuple(range(len(places)))
    odd = [i for i in everyone if places[i].name in suspects]
    if suspects and posterior.background >= _SHOWN:
        chance = 1.0
        for item in odd:
            grid = posterior.grid(item)
            parts = [
                (float(weight), posterior.density(item, None, float(node), grid))
                for node, weight in zip(nodes[1:], node_weight[1:], strict=True)
                if weight > 0.02 * node_weight[1:].max()
            ]
            total = sum(weight for weight, _ in parts)
            chance *= sum(w * _inside(grid, d, limits[item]) for w, d in parts) / total
        found.append(one(faults.NOT_COLD, everyone, posterior.background, chance))
    if not suspects or posterior.nothing >= _SHOWN:
        chance = 1.0
        for item in odd:
            grid = posterior.grid(item)
            density = posterior.density(item, None, 0.0, grid)
            chance *= _after_refit(
                grid, density, limits[item], shims.get(places[item].name), engine, assume
            )
        found.append(
            one(faults.NOTHING, tuple(odd), posterior.nothing if suspects else 1.0, chance)
        )
    return tuple(sorted(found, key=lambda item: -item.probability))


def _checks(
    engine: EngineFile,
    places: Sequence[Place],
    readings: Mapping[str, ClearanceReading],
    verdicts: Mapping[str, Verdict],
    shims: Mapping[str, FittedShim],
    suspects: set[str],
    posterior: Posterior,
    assume: Assumptions,
) -> tuple[NextCheck, ...]:
    worth: list[NextCheck] = []
    for name in sorted(suspects):
        state = verdicts[name]
        if state.state == "undecided" and state.deciding_m and state.probability_in is not None:
            bits = entropy([state.probability_in, 1 - state.probability_in])
            worth.append(NextCheck("try the deciding blade", (name,), bits, assume.minutes_blade))
    causes = [
        (k, cause) for k, cause in enumerate(posterior.causes)
        if float(posterior.probability[k]) > 1e-4
        and any(places[item].name in suspects for item in cause.items)
    ]  # fmt: skip
    if suspects:
        labels = [(cause.label, cause.items) for _, cause in causes]
        labels += [(faults.NOT_COLD, ()), (faults.NOTHING, ())]
        weights = [float(posterior.probability[k]) for k, _ in causes]
        weights += [max(posterior.background, 1e-9), max(posterior.nothing, 1e-9)]
        options = _check_tables(engine, places, labels, verdicts, shims, suspects, assume)
        tables = [
            [[hit[j] for j in range(len(labels))], [1 - hit[j] for j in range(len(labels))]]
            for _, _, _, hit in options
        ]
        ranked = rank_checks(weights, tables, [minutes for _, _, minutes, _ in options])
        for value in ranked:
            what, names, minutes, _ = options[value.check]
            worth.append(NextCheck(what, names, value.bits, minutes))
    return tuple(sorted(worth, key=lambda check: -check.bits / check.minutes))


def _check_tables(
    engine: EngineFile,
    places: Sequence[Place],
    labels: list[tuple[str, tuple[int, ...]]],
    verdicts: Mapping[str, Verdict],
    shims: Mapping[str, FittedShim],
    suspects: set[str],
    assume: Assumptions,
) -> list[tuple[str, tuple[str, ...], float, list[float]]]:
    """Checks with P(telling outcome | each label): rough figures of our own, in one place."""
    open_cam = assume.minutes_camshaft if faults.camshafts_must_come_out(engine) else 0.0
    options: list[tuple[str, tuple[str, ...], float, list[float]]] = []

    def add(what: str, names: tuple[str, ...], minutes: float, hit: list[float]) -> None:
        options.append((what, names, minutes, hit))

    def likely(what: str, item: int | None, yes: float, no: float) -> list[float]:
        return [
            yes if label == what and (item is None or item in items) else no
            for label, items in labels
        ]

    for i, place in enumerate(places):
        if place.name not in suspects:
            continue
        add("read again with the lobe pointing away", (place.name,), assume.minutes_reread,
            likely(faults.OFF_BASE, i, 0.97, 0.03))  # fmt: skip
        if verdicts[place.name].which != "tight":
            add("snap the valve onto its seat and read again", (place.name,), assume.minutes_snap,
                likely(faults.NOT_SEATING, i, 0.7, 0.03))  # fmt: skip
        if faults.shims_matter(engine):
            known = shims[place.name].known_by if place.name in shims else ""
            if known != "micrometer":
                add("take the shim out and measure it", (place.name,),
                    assume.minutes_measure_shim + open_cam,
                    likely(faults.WRONG_SHIM, i, 0.6, 0.05))  # fmt: skip
    for label, items in labels:
        if label != faults.TRANSPOSED:
            continue
        names = tuple(places[i].name for i in items)
        known_by = [shims[name].known_by if name in shims else "" for name in names]
        if all(word == "micrometer" for word in known_by):
            continue
        chance = 0.1 if "" in known_by else 0.5
        hit = [0.97 if (name, at) == (label, items) else chance for name, at in labels]
        add("measure both shims", names, 2 * assume.minutes_measure_shim + open_cam, hit)
    add("let the engine stand until it is cold and read all again",
        tuple(place.name for place in places), assume.minutes_cool,
        likely(faults.NOT_COLD, None, 0.8, 0.05))  # fmt: skip
    for label, items in labels:
        if label == faults.CAMSHAFT:
            add("look at the camshaft's caps, bearings and marking",
                tuple(places[i].name for i in items), 15.0,
                [0.8 if (name, at) == (label, items) else 0.02 for name, at in labels])  # fmt: skip
    return options


def _rests_on(
    places: Sequence[Place],
    shims: Mapping[str, FittedShim],
    circumstances: Circumstances,
    found: Sequence[Explanation],
) -> tuple[str, ...]:
    words = []
    worked = sorted(circumstances.head_work)
    if worked:
        words.append(
            f"Seat or valve work is in the book for {', '.join(worked)}, so a changed height "
            "there is likely from the start."
        )
    if circumstances.warm is None:
        words.append("Nobody said whether the engine was cold.")
    elif circumstances.warm:
        words.append("The engine was said to be warm; limits hold for a cold one.")
    top = found[0] if found else None
    if top is not None and top.what == faults.TRANSPOSED:
        guessed = [
            name for name in top.places
            if name not in shims or shims[name].known_by != "micrometer"
        ]  # fmt: skip
        if guessed:
            words.append(
                f"The shims of {' and '.join(guessed)} are not measured; with both measured this "
                "answer would be firm."
            )
    return tuple(words)
