"""Balancing carburettors: which screw next, how far, and when the odd one is not a carburettor.

A rack is a tree. The cable pulls one slide; every other hangs on a neighbour by a screw, and a
screw moves everything beyond it. Each turn that is read again teaches what a turn is worth here,
and what one screw teaches counts for the others, because they are cut alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.quantities import parse

Floats = NDArray[np.float64]

TOLERANCE_PA = 2700.0
"""Spread that passes as balanced: 2 cm of mercury (common practice, no source)."""

# Vacuum for a turn of a synchronising screw, from crank-resolved runs of invented racks: 4..7 kPa
# (2.5..12) for 0.1 mm of slide, a screw of 0.5 mm pitch on a lever of about one to two.
_GAIN_PA = 14000.0
_COMMON, _OWN, _DRIFT = 0.6, 0.25, 0.08
_NOISE_PA = 350.0
_SMALLEST_TURN, _EIGHTH = 1.0 / 16.0, 1.0 / 8.0
_LARGEST_TURN = 1.0
_VALVE_LIKE_PA = 1800.0
"""A cylinder that fills 5 % worse shows about this at idle; no screw mends it."""


@dataclass(frozen=True, slots=True)
class Screw:
    """A synchronising screw: what it hangs on, and what hangs on it.

    Parameters
    ----------
    name : str
        As on the sheet: "screw 1-2".
    near, far : str
        Carburettor nearer to the cable, and the one it moves.
    """

    name: str
    near: str
    far: str


@dataclass(frozen=True, slots=True)
class Rack:
    """Carburettors and the screws between them.

    Parameters
    ----------
    carburettors : tuple of str
        In the order they stand.
    base : str
        The one the cable pulls.
    screws : tuple of Screw
        One fewer than carburettors; turning a screw in opens what is beyond it.
    """

    carburettors: tuple[str, ...]
    base: str
    screws: tuple[Screw, ...]

    def __post_init__(self) -> None:
        if self.base not in self.carburettors:
            raise InputError(
                "The cable pulls a carburettor that is not on the rack",
                given=self.base,
                allowed=", ".join(self.carburettors),
                instead=f"'{self.carburettors[0]}'" if self.carburettors else "",
            )
        reached = {self.base}
        waiting = list(self.screws)
        while waiting:
            next_ones = [s for s in waiting if s.near in reached and s.far not in reached]
            if not next_ones:
                break
            for screw in next_ones:
                reached.add(screw.far)
                waiting.remove(screw)
        if waiting or reached != set(self.carburettors):
            raise InputError(
                "The screws do not make a tree from the cable to every carburettor",
                given=", ".join(f"{s.near} to {s.far}" for s in self.screws) or "no screws",
                allowed="each carburettor but the cable's hangs on exactly one screw",
                instead="one screw for each, nearer carburettor first",
            )

    def beyond(self, screw: Screw) -> frozenset[str]:
        """Every carburettor the screw moves."""
        found = {screw.far}
        grew = True
        while grew:
            more = {s.far for s in self.screws if s.near in found} - found
            grew = bool(more)
            found |= more
        return frozenset(found)


def row_rack(count: int, base: int = 1) -> Rack:
    """A rack in a row: each carburettor hangs on its neighbour nearer to the cable.

    Parameters
    ----------
    count : int
        Number of carburettors.
    base : int
        The one the cable pulls, from 1.

    Returns
    -------
    Rack

    Examples
    --------
    >>> [s.name for s in row_rack(4, base=2).screws]
    ['screw 2-1', 'screw 2-3', 'screw 3-4']
    """
    names = tuple(f"carb{k + 1}" for k in range(count))
    screws = [Screw(f"screw {k + 1}-{k}", names[k], names[k - 1]) for k in range(base - 1, 0, -1)]
    screws += [Screw(f"screw {k}-{k + 1}", names[k - 1], names[k]) for k in range(base, count)]
    return Rack(names, names[base - 1], tuple(screws))


@dataclass(frozen=True, slots=True)
class VacuumRound:
    """Vacuum of all carburettors at one moment, and what was turned since the round before.

    Parameters
    ----------
    vacuum : mapping of str to float
        Depression below the room [Pa]
    turned : str
        Name of the screw turned since the last round, empty at the first.
    turns : float
        How far, in is positive [turns]
    """

    vacuum: Mapping[str, float]
    turned: str = ""
    turns: float = 0.0


@dataclass(frozen=True, slots=True)
class Balance:
    """What to do with the rack.

    Parameters
    ----------
    spread : float
        Highest minus lowest vacuum [Pa]
    balanced : bool
    screw : str
        The next to turn, empty when balanced.
    turns : float
        In is positive [turns]
    likely : tuple of float
        Turns between which the right place lies with 80 % [turns]
    expected : mapping of str to float
        Vacuum expected after it [Pa]
    still_to_do : int
        Screws to turn, this one with them.
    gain : mapping of str to float
        Vacuum for a turn, as learnt [Pa/turn]
    suspicions : tuple of str
        When the odd one may not be the carburettor.
    notes : tuple of str
    """

    spread: float
    balanced: bool
    screw: str
    turns: float
    likely: tuple[float, float]
    expected: Mapping[str, float]
    still_to_do: int
    gain: Mapping[str, float]
    suspicions: tuple[str, ...]
    notes: tuple[str, ...]


def parse_vacuum(text: str, room_pa: float = 101325.0, where: str = "") -> float:
    """A vacuum in any unit as depression below the room.

    Parameters
    ----------
    text : str
        "22 cmHg", "-8.5 inHg", "29 kPa", "720 mbar abs"; 'abs' for an absolute pressure.
    room_pa : float
        Pressure of the room, for absolute readings [Pa]
    where : str
        For the message.

    Returns
    -------
    float
        [Pa]

    Raises
    ------
    InputError
        If no engine can pull it.

    Examples
    --------
    >>> print(f"{parse_vacuum('22 cmHg'):.0f} {parse_vacuum('-8.5 inHg'):.0f} Pa")
    29331 28784 Pa
    >>> print(f"{parse_vacuum('720 mbar abs'):.0f} Pa")
    29325 Pa
    """
    plain = text.strip()
    absolute = plain.lower().endswith("abs")
    if absolute:
        plain = plain[:-3].strip()
    value = float(parse(plain.lstrip("-−"), "pressure").value_si)
    depression = room_pa - value if absolute else value
    if not 500.0 <= depression <= 95000.0:
        raise InputError(
            "No running cylinder pulls this vacuum",
            given=text,
            allowed="0.5 to 95 kPa below the room (0.4 to 71 cmHg)",
            instead="the gauge's figure with its unit, and 'abs' after an absolute pressure",
            where=where,
        )
    return depression


def balance(
    rack: Rack,
    rounds: Sequence[VacuumRound],
    tolerance: float = TOLERANCE_PA,
    raised: Mapping[str, float] | None = None,
    evidence: Mapping[str, Sequence[str]] | None = None,
) -> Balance:
    """Which screw next, how far, and what it should do.

    Parameters
    ----------
    rack : Rack
    rounds : sequence of VacuumRound
        All rounds so far, in order.
    tolerance : float
        Spread that will do [Pa]
    raised : mapping, optional
        Vacuum of all carburettors at a raised speed (about 3000 rpm) [Pa]
    evidence : mapping, optional
        Carburettor to what else is known of its cylinder: "clearance tight", "compression low".

    Returns
    -------
    Balance

    Raises
    ------
    InputError
        If a look lacks a carburettor or names a screw that is not there.

    Notes
    -----
    Fewest screws: the tree is cut at the fewest screws such that what stays rigid agrees within
    the tolerance; only those have to be turned. Of those the largest difference comes first. The
    amount is the difference over the gain, and the gain is learnt as ln gain of all screws
    together: an observed change corrects its own screw, and the others through what they share.
    """
    if not rounds:
        raise InputError(
            "There is no vacuum reading yet",
            allowed="one reading for each carburettor",
            instead="'carb1 22 cmHg, carb2 20 cmHg'",
        )
    for round_ in rounds:
        missing = [c for c in rack.carburettors if c not in round_.vacuum]
        if missing:
            raise InputError(
                "A round of the gauges lacks a carburettor",
                given=", ".join(round_.vacuum),
                allowed="all of " + ", ".join(rack.carburettors),
                instead=f"the vacuum of {missing[0]} too",
            )
        if round_.turned and round_.turned not in {s.name for s in rack.screws}:
            raise InputError(
                "There is no such screw on this rack",
                given=round_.turned,
                allowed=", ".join(s.name for s in rack.screws),
                instead=f"'{rack.screws[0].name}'",
            )
    mean, cov, dead = _learn(rack, rounds)
    gain = {s.name: float(np.exp(mean[i])) for i, s in enumerate(rack.screws)}
    vacuum = dict(rounds[-1].vacuum)
    spread = max(vacuum.values()) - min(vacuum.values())
    suspicions = [
        f"{name} did nothing when it was turned: a slide that sticks, a slack cable, a hose off"
        for name in dead
    ]
    suspicions += _not_the_carburettor(rack, rounds, gain, raised, evidence or {})
    if spread <= tolerance or len(rack.carburettors) == 1:
        return Balance(
            spread, True, "", 0.0, (0.0, 0.0), vacuum, 0, gain, tuple(suspicions),
            ("Balanced. Idle speed last, with the one stop screw for all.",),
        )  # fmt: skip
    wanted = _plan(rack, vacuum, tolerance)
    turnable = {n: d for n, d in wanted.items() if n not in dead} or wanted
    name = max(turnable, key=lambda n: (abs(turnable[n]), n))
    number = [s.name for s in rack.screws].index(name)
    # In opens what is beyond, and an open slide pulls less: vacuum too high wants 'in'.
    full = turnable[name] / gain[name]
    turns = math.copysign(min(abs(full), _LARGEST_TURN), full)
    step = _EIGHTH if abs(turns) >= 0.25 else _SMALLEST_TURN
    turns = round(turns / step) * step or math.copysign(_SMALLEST_TURN, full)
    sd = math.sqrt(cov[number, number])
    edges = sorted((turns * math.exp(-1.2816 * sd), turns * math.exp(1.2816 * sd)))
    expected = dict(vacuum)
    for carburettor in rack.beyond(rack.screws[number]):
        expected[carburettor] = vacuum[carburettor] - gain[name] * turns
    return Balance(
        spread=spread,
        balanced=False,
        screw=name,
        turns=turns,
        likely=(edges[0], edges[1]),
        expected=expected,
        still_to_do=len(wanted),
        gain=gain,
        suspicions=tuple(suspicions),
        notes=(
            "Blip the throttle once after each turn, let it settle, read all gauges again.",
            "Leave the idle stop alone until the rack is balanced.",
        ),
    )


def _learn(rack: Rack, rounds: Sequence[VacuumRound]) -> tuple[Floats, Floats, list[str]]:
    """ln gain of every screw, its covariance, and screws that do nothing."""
    n = len(rack.screws)
    mean = np.full(n, math.log(_GAIN_PA))
    cov = np.full((n, n), _COMMON**2) + np.eye(n) * _OWN**2
    nothing: dict[str, int] = {}
    for before, after in pairwise(rounds):
        if not after.turned or after.turns == 0.0:
            continue
        number = [s.name for s in rack.screws].index(after.turned)
        screw = rack.screws[number]
        beyond = rack.beyond(screw)
        rest = [c for c in rack.carburettors if c not in beyond]
        moved = float(
            np.mean([before.vacuum[c] - after.vacuum[c] for c in beyond])
            - np.mean([before.vacuum[c] - after.vacuum[c] for c in rest])
        )
        per_turn = moved / after.turns
        if per_turn <= 0.1 * math.exp(mean[number]):
            clear = abs(after.turns) * math.exp(mean[number]) > 4.0 * _NOISE_PA
            nothing[screw.name] = nothing.get(screw.name, 0) + (1 if clear else 0)
            continue
        nothing.pop(screw.name, None)
        noise = max(_NOISE_PA * math.sqrt(1 / len(beyond) + 1 / len(rest)) / abs(moved), 0.06)
        seen = cov[:, number] / (cov[number, number] + noise**2)
        mean = mean + seen * (math.log(per_turn) - mean[number])
        cov = cov - np.outer(seen, cov[number, :])
        # A gain is not quite a constant: it falls as the slide comes up.
        cov = cov + np.eye(n) * _DRIFT**2
    return mean, cov, [name for name, count in nothing.items() if count >= 1]


def _plan(rack: Rack, vacuum: Mapping[str, float], tolerance: float) -> dict[str, float]:
    """Screws to turn, and by how much vacuum what is beyond each should fall [Pa]."""
    for count in range(len(rack.screws) + 1):
        best: tuple[float, dict[str, float]] | None = None
        for cut in combinations(rack.screws, count):
            parts = _parts(rack, cut)
            inside = max(_range(vacuum, part) for part in parts)
            if inside > 0.8 * tolerance:
                continue
            middle = {
                c: 0.5 * (max(vacuum[x] for x in part) + min(vacuum[x] for x in part))
                for part in parts
                for c in part
            }
            lowers = {s.name: middle[s.far] - middle[s.near] for s in cut}
            size = sum(abs(x) for x in lowers.values())
            if best is None or size < best[0]:
                best = (size, lowers)
        if best is not None:
            return best[1] or _largest(rack, vacuum)
    return _largest(rack, vacuum)


def _largest(rack: Rack, vacuum: Mapping[str, float]) -> dict[str, float]:
    difference = {s.name: vacuum[s.far] - vacuum[s.near] for s in rack.screws}
    name = max(difference, key=lambda n: abs(difference[n]))
    return {name: difference[name]}


def _parts(rack: Rack, cut: Sequence[Screw]) -> list[frozenset[str]]:
    """What stays rigid when some screws are free to turn."""
    group = {c: c for c in rack.carburettors}

    def root(c: str) -> str:
        while group[c] != c:
            c = group[c]
        return c

    for screw in rack.screws:
        if screw not in cut:
            group[root(screw.far)] = root(screw.near)
    found: dict[str, set[str]] = {}
    for c in rack.carburettors:
        found.setdefault(root(c), set()).add(c)
    return [frozenset(part) for part in found.values()]


def _range(vacuum: Mapping[str, float], part: frozenset[str]) -> float:
    values = [vacuum[c] for c in part]
    return max(values) - min(values)


def _not_the_carburettor(
    rack: Rack,
    rounds: Sequence[VacuumRound],
    gain: Mapping[str, float],
    raised: Mapping[str, float] | None,
    evidence: Mapping[str, Sequence[str]],
) -> list[str]:
    """Reasons to look at the cylinder before the screw."""
    found = []
    vacuum = rounds[-1].vacuum
    middle = float(np.median(list(vacuum.values())))
    for carburettor, facts in evidence.items():
        if facts and carburettor in vacuum and middle - vacuum[carburettor] > 0.5 * _VALVE_LIKE_PA:
            found.append(
                f"{carburettor} pulls less, and its cylinder has: {', '.join(facts)}. A cylinder "
                "that fills 5 percent worse shows 1.8 kPa; mend that before turning screws"
            )
    if raised is not None and len(raised) == len(vacuum) and len(raised) >= 3:
        middle_raised = float(np.median(list(raised.values())))
        for carburettor in rack.carburettors:
            low = middle - vacuum[carburettor]
            high = middle_raised - raised[carburettor]
            if low > _VALVE_LIKE_PA / 2 and high > 0.6 * low:
                found.append(
                    f"{carburettor} is as far off at raised speed as at idle: a slide out of step "
                    "shows mostly at idle, so look at clearances, compression and air leaks there"
                )
    total: dict[str, float] = {}
    for round_ in rounds:
        if round_.turned:
            total[round_.turned] = total.get(round_.turned, 0.0) + round_.turns
    for name, turns in total.items():
        if abs(turns) > 2.0:
            found.append(
                f"{name} has been turned {abs(turns):.1f} turns: no rack that was set on the bench "
                "is that far out; look at the cylinder, the hose and the slide"
            )
    return found


def balance_json(result: Balance) -> dict[str, object]:
    """The result as plain values, pressures in kPa."""
    return {
        "spread_kpa": round(result.spread / 1000.0, 3),
        "balanced": result.balanced,
        "screw": result.screw,
        "turns": round(result.turns, 4),
        "turns_likely": [round(t, 4) for t in result.likely],
        "expected_kpa": {c: round(v / 1000.0, 3) for c, v in result.expected.items()},
        "still_to_do": result.still_to_do,
        "kpa_per_turn": {n: round(g / 1000.0, 3) for n, g in result.gain.items()},
        "suspicions": list(result.suspicions),
        "notes": list(result.notes),
    }
