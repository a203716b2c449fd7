"""Invented racks of carburettors, balanced by our rule and by the rule to beat."""

from __future__ import annotations

import itertools
import math

import numpy as np

from tickover.tasks.balance import TOLERANCE_PA, Rack, VacuumRound, balance


class InventedRack:
    """Slides on a rack: vacuum falls with lift, each screw with a gain of its own."""

    def __init__(self, rng: np.random.Generator, rack: Rack) -> None:
        self.rack = rack
        self.rng = rng
        common = 14000.0 * math.exp(0.5 * rng.standard_normal())
        self.gain = {s.name: common * math.exp(0.22 * rng.standard_normal()) for s in rack.screws}
        self.at = {c: 29000.0 + rng.normal(0.0, 400.0) for c in rack.carburettors}
        for screw in rack.screws:
            self.turn(screw.name, rng.normal(0.0, 0.5))

    def turn(self, name: str, turns: float) -> None:
        screw = next(s for s in self.rack.screws if s.name == name)
        for c in self.rack.beyond(screw):
            # Less vacuum, less to lose: the gain falls as the slide comes up.
            bend = min(max(self.at[c] / 29000.0, 0.35), 1.6)
            self.at[c] = min(max(self.at[c] - self.gain[name] * bend * turns, 6000.0), 70000.0)

    def look(self, turned: str = "", turns: float = 0.0) -> VacuumRound:
        seen = {c: v + self.rng.normal(0.0, 250.0) for c, v in self.at.items()}
        return VacuumRound(seen, turned, turns)


def adjustments(rule, seed: int, rack: Rack, most: int = 25) -> int:
    rng = np.random.default_rng(seed)
    real = InventedRack(rng, rack)
    rounds = [real.look()]
    for count in range(most):
        chosen = rule(rack, rounds)
        if chosen is None:
            return count
        name, turns = chosen
        real.turn(name, turns)
        rounds.append(real.look(name, turns))
    return most


def ours(rack, rounds):
    found = balance(rack, rounds)
    return None if found.balanced else (found.screw, found.turns)


def largest_difference(rack, rounds):
    """The rule to beat: the largest difference across a screw first, its own secant gain."""
    now = rounds[-1].vacuum
    if max(now.values()) - min(now.values()) <= TOLERANCE_PA:
        return None
    difference = {s.name: now[s.far] - now[s.near] for s in rack.screws}
    name = max(difference, key=lambda n: abs(difference[n]))
    screw = next(s for s in rack.screws if s.name == name)
    gain = 14000.0
    for before, after in itertools.pairwise(rounds):
        if after.turned == name:
            moved = (before.vacuum[screw.far] - before.vacuum[screw.near]) - (
                after.vacuum[screw.far] - after.vacuum[screw.near]
            )
            if moved / after.turns > 1000.0:
                gain = moved / after.turns
    return name, max(-1.0, min(1.0, difference[name] / gain))
