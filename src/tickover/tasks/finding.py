"""Checks and what is found of them: the words every task and the plan share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Scope = Literal["same place", "same cylinder", "everywhere"]
StateWord = Literal["open", "good", "out", "undecided", "stale", "accepted"]
Stage = Literal["first start", "riding", "hand-over"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a check asks for: a yes, a value with limits, or a page of its own.

    `form` 'yes': done and found right, or not. 'value': a reading of this kind of quantity
    between `low` and `high` [SI], either of which may be open; `spread` is the instrument's
    standard uncertainty [SI]. 'page': entered on the page named by `page`.
    """

    form: Literal["yes", "value", "page"] = "yes"
    quantity: str = ""
    low: float | None = None
    high: float | None = None
    spread: float = 0.0
    prompt: str = ""
    page: str = ""


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
    wanted: Wanted = Wanted()

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
