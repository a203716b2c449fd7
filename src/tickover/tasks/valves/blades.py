"""Which two feeler blades to pick up for a limit, from the set the user owns."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile

_SAME_M = 1e-9


@dataclass(frozen=True, slots=True)
class BladePair:
    """The blade that must go and the blade that must not, for one limit.

    `go_m` is the smallest blade at or above the lower limit; `no_go_m` the largest at or below
    the upper one. Either is None when the set has no such blade. `same` says that one blade
    would have to serve both ends, so a good valve cannot be told by this set alone.
    """

    low_m: float
    high_m: float
    go_m: float | None
    no_go_m: float | None

    @property
    def complete(self) -> bool:
        """Whether the set can prove a clearance within these limits."""
        return self.go_m is not None and self.no_go_m is not None and self.go_m < self.no_go_m


def owned_blades(engine: EngineFile) -> tuple[float, ...]:
    """Thicknesses of the user's set, rising [m]; empty when the engine file names none."""
    return tuple(sorted(set(engine.blades.set_m))) if engine.blades else ()


def pick_blades(low_m: float, high_m: float, blades: tuple[float, ...]) -> BladePair:
    """The two blades to pick up for limits low_m to high_m.

    Without a described set the limits themselves are named: any set that has those two blades
    will do.

    Examples
    --------
    >>> pair = pick_blades(0.00013, 0.00018, (0.00010, 0.00015, 0.00020))
    >>> pair.complete
    False
    """
    if not blades:
        return BladePair(low_m, high_m, low_m, high_m)
    go = min((blade for blade in blades if blade >= low_m - _SAME_M), default=None)
    no_go = max((blade for blade in blades if blade <= high_m + _SAME_M), default=None)
    return BladePair(low_m, high_m, go, no_go)


def deciding_blade(
    go_m: float | None,
    no_go_m: float | None,
    limits: tuple[float, float],
    blades: tuple[float, ...],
) -> float | None:
    """The one blade that splits an undecided reading best at a limit; None if the set has none.

    A blade decides if it lies strictly inside the reading and at, or beyond, the limit the
    reading straddles, so that one of its two answers settles the valve.
    """  # fmt: skip
    low = go_m if go_m is not None else 0.0
    high = no_go_m if no_go_m is not None else float("inf")
    straddled = [limit for limit in limits if low + _SAME_M < limit < high - _SAME_M]
    if not straddled:
        return None
    candidates = blades or limits
    inside = [b for b in candidates if low + _SAME_M < b < high - _SAME_M]
    if not inside:
        return None
    return min(inside, key=lambda b: (min(abs(b - limit) for limit in straddled), b))
