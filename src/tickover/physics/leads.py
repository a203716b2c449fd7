"""Plug leads against the firing order: which are exchanged, and how to put them right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class LeadCheck:
    """How plug leads are connected against the firing order.

    Parameters
    ----------
    right : bool
        Every cylinder gets its spark in its turn (or in the turn of the cylinder it shares a
        coil with, which is as good).
    moved : tuple of (tower, expected, found)
        Towers, numbered from 1 in the order they fire, with the cylinder that belongs there and
        the one whose lead is there.
    turned_by : int
        Not 0 if all leads are right after turning the whole set by so many towers: the cap or
        rotor is turned, or cylinder 1 was counted from the wrong tower.
    exchanges : tuple of (cylinder, cylinder)
        Leads to swap with each other, in this order, to put everything right.
    """

    right: bool
    moved: tuple[tuple[int, int, int], ...]
    turned_by: int
    exchanges: tuple[tuple[int, int], ...]


def check_leads(
    firing_order: Sequence[int],
    found: Sequence[int],
    shared_coils: Iterable[tuple[int, int]] = (),
) -> LeadCheck:
    """Compare where the plug leads go with the firing order.

    Parameters
    ----------
    firing_order : sequence of int
        Cylinders in the order they fire
    found : sequence of int
        Cylinder whose lead is on the tower that fires first, second, ...
    shared_coils : iterable of (cylinder, cylinder)
        Cylinders whose plugs spark together from one coil: their two leads may be exchanged.

    Returns
    -------
    LeadCheck

    Raises
    ------
    InputError
        If the two lists do not name the same cylinders, each once.

    Notes
    -----
    Tower by tower, taking first the exchange that puts two leads right at once. Without shared
    coils no shorter list exists (cycles of a permutation).

    Examples
    --------
    >>> check = check_leads((1, 3, 4, 2), (1, 2, 4, 3))
    >>> check.right, check.moved, check.exchanges
    (False, ((2, 3, 2), (4, 2, 3)), ((3, 2),))
    """
    order, there = tuple(firing_order), tuple(found)
    if not order or len(set(order)) != len(order) or sorted(order) != sorted(there):
        raise InputError(
            "Both lists must name every cylinder once",
            given=f"{'-'.join(map(str, order))} and {'-'.join(map(str, there))}",
        )
    same = {cylinder: cylinder for cylinder in order}
    for one, other in shared_coils:
        if one not in same or other not in same or one == other:
            raise InputError("A coil serves two cylinders of this engine", given=f"{one}, {other}")
        same[other] = same[one]
    moved = tuple(
        (tower, belongs, lead)
        for tower, (belongs, lead) in enumerate(zip(order, there, strict=True), start=1)
        if same[belongs] != same[lead]
    )
    turns = range(1, len(order))
    turned = next((k for k in turns if there == order[k:] + order[:k]), 0)
    return LeadCheck(not moved, moved, turned if moved else 0, _exchanges(order, there, same))


def _exchanges(
    order: tuple[int, ...], there: tuple[int, ...], same: dict[int, int]
) -> tuple[tuple[int, int], ...]:
    now, swaps = list(there), []
    for tower, belongs in enumerate(order):
        if same[now[tower]] == same[belongs]:
            continue
        # of leads that would do here, take one that is not right where it is
        candidates = [
            t
            for t in range(tower + 1, len(now))
            if same[now[t]] == same[belongs] and same[now[t]] != same[order[t]]
        ]
        home = next((t for t in candidates if same[order[t]] == same[now[tower]]), candidates[0])
        swaps.append((now[home], now[tower]))
        now[tower], now[home] = now[home], now[tower]
    return tuple(swaps)
