"""Readings of the book as evidence: what each would be on a simulated machine, and how sure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.book.bodies import Reading
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.tasks import starting
from tickover.tasks.charging import names
from tickover.tasks.charging.simulate import Machines
from tickover.tasks.charging.verdicts import lead_resistance, winding_at_20
from tickover.tasks.proving import condition, reading_ends

Floats = NDArray[np.float64]
_USUAL_SPEED_HZ = 50.0
_OPEN_OHM = 1e3


@dataclass(frozen=True, slots=True)
class Item:
    """One reading: its kind, what it belongs to, where it lies, how far off model and meter are.

    `low` and `high` are in volts, or for ohms and amperes their log10; `high` may be infinite.
    """

    kind: str
    words: str
    low: float
    high: float
    spread: float
    pair: int = 0
    speed: float = 0.0
    temperature: float | None = None


def charging_evidence(
    engine: EngineFile, state: State, void: frozenset[tuple[str, str]] = frozenset()
) -> tuple[Item, ...]:
    """Every reading the causes can be weighed by; `void` names those that work made so."""
    table = engine.charging
    scale = engine.system_volts / 12.0
    made: list[Item] = []

    def latest(name: str, place: str = "") -> Entry[Reading] | None:
        return None if (name, place) in void else state.latest(name, place)

    def seen(name: str, place: str = "") -> tuple[float, float] | None:
        entry = latest(name, place)
        if entry is None or entry.body.unit == "yes":
            return None
        return reading_ends(entry.body)

    rest, crank = seen(starting.AT_REST), seen(starting.CRANKING)
    if rest:
        made.append(Item("rest", starting.AT_REST, *rest, 0.08 * scale))
    if crank:
        made.append(Item("cranking", starting.CRANKING, *crank, 0.35 * scale))
    if table is None:
        return tuple(made)
    drain = seen(names.DRAIN)
    if drain:
        made.append(Item("drain", names.DRAIN, _log(drain[0], 1e-5), _log(drain[1], 1e-5), 0.15))
    for entry in state.readings(names.CHARGE):
        body = entry.body
        speed = names.place_speed(body.place)
        if speed and latest(names.CHARGE, body.place) == entry:
            made.append(
                Item("charge", f"{names.CHARGE} at {body.place}", *reading_ends(body), 0.12 * scale,
                     speed=speed, temperature=condition(body, "temperature_k"))
            )  # fmt: skip
    leads = lead_resistance(state)
    for n, place in enumerate(names.winding_pairs(table)):
        found = latest(names.VOLTS, place)
        if found is not None:
            low, high = reading_ends(found.body)
            speed = condition(found.body, "speed_hz") or table.ac_speed_hz or _USUAL_SPEED_HZ
            made.append(
                Item("volts", f"{names.VOLTS} {place}".strip(), low, high,
                     0.4 + 0.035 * max(low, 1.0), n, speed)
            )  # fmt: skip
        found = latest(names.WINDING, place)
        if found is not None:
            at_20 = winding_at_20(found.body, leads)
            low, high = _log(at_20.low, 1e-3), _log(at_20.high, 1e-3)
            spread = min(0.3, 0.02 + 0.03 / max(at_20.low, 0.05) / 2.3)
            made.append(Item("winding", f"{names.WINDING} {place}".strip(), low, high, spread, n))
    made += _beside(made, "volts", names.VOLTS, lambda v: v, 0.012)
    made += _beside(made, "winding", names.WINDING, lambda v: 10.0**v, 0.02)
    leak = seen(names.TO_EARTH)
    if leak:
        made.append(Item("to earth", names.TO_EARTH, _log(leak[0], 1e-2), _log(leak[1], 1e-2), 0.2))
    tried = latest(names.DIODES)
    if tried is not None and tried.body.unit == "yes":
        good = float(tried.body.low or 0.0)
        made.append(Item("diodes", names.DIODES, good, good, 1.0))
    field = seen(names.FIELD)
    if field and table.rotor == "wound":
        made.append(Item("field", names.FIELD, _log(field[0], 1e-2), _log(field[1], 1e-2), 0.08))
    for kind, name in (("feed", names.FEED), ("earth", names.RETURN)):
        drop = seen(name)
        if drop:
            made.append(Item(kind, name, *drop, 0.03 + 0.15 * drop[0],
                             speed=table.charges_from_hz))  # fmt: skip
    return tuple(made)


def _beside(
    items: list[Item], kind: str, name: str, plain: Callable[[float], float], least: float
) -> list[Item]:
    """Each further pair beside the first: what meter, speed and leads do to all of them is gone."""
    mine = [item for item in items if item.kind == kind]
    values = [plain(0.5 * (item.low + item.high)) for item in mine]
    if len(mine) != 3 or not all(np.isfinite(values)) or max(values) <= 0.0:
        return []
    if kind == "winding" and max(values) >= _OPEN_OHM:
        return []
    top = max(values)
    spread = least + (0.3 if kind == "volts" else 0.015) / top
    return [
        Item(f"{kind} beside", f"{name}: {k + 1} beside 1", share, share, spread, k)
        for k in (1, 2)
        for share in [(values[k] - values[0]) / top]
    ]


def shown(machines: Machines, item: Item) -> Floats:
    """What the machines would show at this reading, in the item's scale, shape (n,)."""
    if item.kind == "charge":
        return machines.charging(item.speed, item.temperature)
    if item.kind == "volts":
        return machines.alternating(item.pair, item.speed)
    if item.kind == "winding":
        return np.asarray(np.log10(np.maximum(machines.ohms[item.pair], 1e-3)))
    if item.kind in ("volts beside", "winding beside"):
        rows = machines.pairs if item.kind == "volts beside" else machines.ohms
        top = np.maximum(rows.max(axis=0), 1e-9)
        return np.asarray((rows[item.pair] - rows[0]) / top)
    if item.kind in ("feed", "earth"):
        feed, earth = machines.drops(item.speed)
        return feed if item.kind == "feed" else earth
    if item.kind == "field":
        return np.asarray(np.log10(machines.field))
    known: dict[str, Floats] = {
        "rest": machines.rest, "cranking": machines.cranking, "drain": machines.drain,
        "to earth": machines.to_earth, "diodes": machines.diodes,
    }  # fmt: skip
    return known[item.kind]


def log_likelihood(machines: Machines, item: Item) -> Floats:
    """Natural log of how well each machine goes with a reading, shape (n,)."""
    if item.kind == "diodes":
        return np.asarray(np.log(machines.diodes if item.low == 1.0 else 1.0 - machines.diodes))
    from scipy.special import ndtr

    value = shown(machines, item)
    if item.kind == "winding" and item.low >= 3.0:  # open is open, whatever the meter calls it
        return np.asarray(np.log(np.where(value >= 3.0, 0.98, 1e-4)))
    if not np.isfinite(item.high):
        return np.asarray(np.log(np.maximum(ndtr((value - item.low) / item.spread), 1e-9)))
    half = 0.5 * (item.high - item.low)
    sd = float(np.hypot(item.spread, half / np.sqrt(3.0)))
    z = (value - 0.5 * (item.low + item.high)) / sd
    # A tail thicker than a bell's: no single reading rules a cause out by itself.
    return np.asarray(np.log(0.99 * np.exp(-0.5 * z**2) + 0.01 * np.exp(-np.abs(z) / 4.0)))


def _log(value: float, least: float) -> float:
    return float(np.log10(max(value, least)))
