"""Checks and what is found of them: the words every task and the plan share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

StateWord = Literal["open", "good", "out", "undecided", "stale", "accepted"]
Stage = Literal["first start", "riding", "hand-over"]


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to be proved.

    `name` and `place` together identify it ('valve clearance' at 'in4'; place '' for the whole
    machine). `needs` names checks to be done first. `required` says before what it must be good.
    `minutes` and `risk` (0 none .. 3 can wreck the engine) order the work.
    """

    name: str
    place: str
    title: str
    proves: str
    how: str
    required: frozenset[Stage]
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    minutes: float = 5.0
    risk: int = 1
    group: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """Name and place."""
        return self.name, self.place


@dataclass(frozen=True, slots=True)
class Finding:
    """What the readings say of one check, before staleness and acceptance.

    `proof` is the number of the latest book entry it rests on, 0 where there is none.
    """

    name: str
    place: str
    state: StateWord
    text: str
    proof: int = 0
    probability: float | None = None
