"""What can be wrong with charging: causes, how often they are met, and what puts them right.

The weights are workshop experience put into numbers: our assumption, from memory, no source. They
only order what the readings cannot tell apart.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One cause.

    `weight` is how often it is met.
    """

    key: str
    words: str
    remedy: str
    weight: float


FAULTS: tuple[FaultKind, ...] = (
    FaultKind("none", "nothing wrong", "nothing: leave it alone", 20.0),
    FaultKind("regulator high", "regulator lets too much through",
              "regulator; its sense wire and its earth first", 6.0),
    FaultKind("regulator low", "regulator holds too low, or passes nothing",
              "regulator; its feed and its earth first", 8.0),
    FaultKind("diode open", "a diode of the rectifier is open", "rectifier", 5.0),
    FaultKind("diode shorted", "a diode of the rectifier passes both ways", "rectifier", 4.0),
    FaultKind("winding open", "a winding or its wire is open",
              "plug and wire first, then the winding", 5.0),
    FaultKind("winding shorted", "turns of a winding are shorted", "rewind or another stator", 4.0),
    FaultKind("winding to earth", "a winding touches the frame",
              "find the chafed wire first, then the stator", 4.0),
    FaultKind("feed", "a connector or wire of the feed drops voltage",
              "clean and crimp anew: plug, fuse holder, main switch", 8.0),
    FaultKind("earth", "an earth drops voltage",
              "bright metal and a new eye: battery, engine, regulator", 7.0),
    FaultKind("battery worn", "battery sulphated or worn out", "another battery", 9.0),
    FaultKind("battery low", "battery only discharged: it stood, or something draws at rest",
              "charge it, then look for the drain", 8.0),
    FaultKind("rotor", "rotor weak: demagnetised, brushes, field or belt",
              "magnets, or brushes and field winding; belt", 3.0),
)  # fmt: skip
UNLISTED = 0.03
"""Prior probability that it is none of these, or two at once: our assumption."""
