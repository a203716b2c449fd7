"""Which reading comes next: what each open one would tell, by the machines that fit so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tickover.decide.information import rank_checks
from tickover.engine import EngineFile
from tickover.tasks import starting
from tickover.tasks.charging import names
from tickover.tasks.charging.evidence import Item
from tickover.tasks.charging.faults import FAULTS
from tickover.tasks.charging.simulate import Known, Machines

Floats = NDArray[np.float64]
_LEAST_BITS = 0.005  # less does not change what anybody would do


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check not done yet: what it tells for its effort, and what each outcome would mean."""

    name: str
    words: str
    minutes: float
    bits: float
    outcomes: tuple[tuple[str, str], ...]
    """(what would be seen, the likeliest cause then)."""


@dataclass(frozen=True, slots=True)
class _Candidate:
    name: str
    words: str
    minutes: float
    outcomes: tuple[str, ...]
    speed: float = 0.0


def _candidates(engine: EngineFile, items: Sequence[Item]) -> list[_Candidate]:
    table = engine.charging
    if table is None:
        return []
    done = {item.kind for item in items}
    scale = engine.system_volts / 12.0
    three = "all three pairs" if table.phases == 3 else "its two wires"
    ladder = (
        ("rest", starting.AT_REST, "battery at rest", 4.0,
         (f"below {12.0 * scale:.1f} V", f"{12.0 * scale:.1f} to {12.4 * scale:.1f} V",
          f"{12.4 * scale:.1f} V and more")),
        ("cranking", starting.CRANKING, "dip while cranking", 3.0,
         (f"below {9.6 * scale:.1f} V", f"{9.6 * scale:.1f} V and more")),
        ("drain", names.DRAIN, "drain at rest", 5.0, ("more than allowed", "within")),
        ("volts", names.VOLTS, f"AC volts of {three}, plug apart", 7.0,
         ("uneven", "even and low", "even and right")),
        ("winding", names.WINDING, f"winding resistance, {three}", 5.0,
         ("uneven or open", "even")),
        ("to earth", names.TO_EARTH, "winding to earth", 2.0, ("a path", "none")),
        ("diodes", names.DIODES, "rectifier diodes with the meter", 8.0, ("wrong", "right")),
        ("feed", names.FEED, "drop along the feed while charging", 3.0, ("too much", "little")),
        ("earth", names.RETURN, "drop along the earth while charging", 3.0,
         ("too much", "little")),
    )  # fmt: skip
    made = [
        _Candidate(kind, words, minutes, outcomes,
                   table.ac_speed_hz or 50.0 if kind == "volts" else table.charges_from_hz)
        for kind, _, words, minutes, outcomes in ladder
        if kind not in done
    ]  # fmt: skip
    if table.rotor == "wound" and "field" not in done:
        made.append(_Candidate("field", "field winding", 6.0, ("wrong", "right")))
    read = [item.speed for item in items if item.kind == "charge"]
    for speed in table.speeds_hz:
        if not any(abs(speed - other) < 0.15 * speed for other in read):
            made.append(
                _Candidate("charge", f"charging voltage at {names.speed_place(speed)}", 3.0,
                           ("no charge", "low", "right", "too high"), speed)
            )  # fmt: skip
    return made


def _outcome(machines: Machines, candidate: _Candidate, known: Known, drop: float) -> Floats:
    """Which outcome each machine would give, shape (n,); for diodes the chance of 'right'."""
    scale = known.volts / 12.0
    kind = candidate.name
    if kind == "rest":
        return _as(np.digitize(machines.rest, [12.0 * scale, 12.4 * scale]))
    if kind == "cranking":
        return _as(machines.cranking >= 9.6 * scale)
    if kind == "drain":
        return _as(machines.drain <= np.log10(known.drain))
    if kind == "to earth":
        return _as(machines.to_earth >= np.log10(known.to_earth))
    if kind == "diodes":
        return machines.diodes
    if kind in ("feed", "earth"):
        feed, earth = machines.drops(candidate.speed)
        return _as((feed if kind == "feed" else earth) <= drop)
    if kind == "field":
        low, high = known.field or (0.5, 100.0)
        return _as((machines.field >= 0.9 * low) & (machines.field <= 1.1 * high))
    if kind == "winding":
        rows = machines.ohms[: known.phases]
        odd = np.abs(rows / np.median(rows, axis=0) - 1.0).max(axis=0) > 0.08
        return _as(~(odd | (rows.max(axis=0) > 1e3)))
    if kind == "volts":
        rows = np.stack([machines.alternating(k, candidate.speed) for k in range(known.phases)])
        odd = np.abs(rows / rows.mean(axis=0) - 1.0).max(axis=0) > 0.06
        least = known.ac_per_hz[0] * candidate.speed if known.ac_per_hz else 0.0
        even = np.where(rows.mean(axis=0) < 0.95 * least, 1.0, 2.0)
        return _as(np.where(odd, 0.0, even))
    posts = machines.charging(candidate.speed, None)
    low, high = known.window
    return _as(np.digitize(posts, [13.0 * scale, low - 0.05 * scale, high + 0.1 * scale]))


def _as(outcome: NDArray[Any]) -> Floats:
    return np.asarray(outcome, dtype=np.float64)


def next_checks(
    engine: EngineFile,
    known: Known,
    machines: Sequence[Machines],
    logs: Sequence[Floats],
    posterior: Floats,
    items: Sequence[Item],
) -> tuple[NextCheck, ...]:
    """The checks that tell most for their minutes, best first.

    Parameters
    ----------
    engine : EngineFile
    known : Known
    machines : sequence of Machines
        One for each cause.
    logs : sequence of array, shape (n,)
        How well each machine goes with what was read.
    posterior : array, shape (causes + 1,)
        [1]
    items : sequence of Item
        What was read: not asked for again.

    Returns
    -------
    tuple of NextCheck
        At most four; none that would tell nothing.
    """
    candidates = _candidates(engine, items)
    if not candidates:
        return ()
    drop = engine.charging.drop_v if engine.charging is not None else 0.2
    tables = []
    for candidate in candidates:
        columns = []
        for each, log in zip(machines, logs, strict=True):
            weights = np.exp(log - log.max())
            weights /= weights.sum()
            value = _outcome(each, candidate, known, drop)
            if candidate.name == "diodes":
                right = float(weights @ value)
                column = np.array([1.0 - right, right])
            else:
                column = np.bincount(
                    value.astype(int), weights=weights, minlength=len(candidate.outcomes)
                )
            columns.append(0.97 * column + 0.03 / column.size)  # a slip: any outcome alike
        table = np.array(columns).T
        tables.append(np.column_stack([table, table @ (posterior[:-1] / posterior[:-1].sum())]))
    values = rank_checks(posterior, tables, [candidate.minutes for candidate in candidates])
    made = []
    for worth in values[:4]:
        if worth.bits < _LEAST_BITS:
            continue
        candidate, table = candidates[worth.check], tables[worth.check]
        after = table[:, :-1] * posterior[:-1]
        made.append(
            NextCheck(
                _NAMES[candidate.name], candidate.words, candidate.minutes, worth.bits,
                tuple(
                    (outcome, FAULTS[int(np.argmax(after[k]))].words)
                    for k, outcome in enumerate(candidate.outcomes)
                    if worth.outcomes[k] > 0.02
                ),
            )
        )  # fmt: skip
    return tuple(made)


_NAMES = {
    "rest": starting.AT_REST, "cranking": starting.CRANKING, "drain": names.DRAIN,
    "volts": names.VOLTS, "winding": names.WINDING, "to earth": names.TO_EARTH,
    "diodes": names.DIODES, "feed": names.FEED, "earth": names.RETURN, "field": names.FIELD,
    "charge": names.CHARGE,
}  # fmt: skip
