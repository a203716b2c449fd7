"""A small machine of three own checks, a book and its build row, for the day of the first start."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from support_book import state_of

from tickover.book.bodies import Reading
from tickover.book.chain import BuildRow, first_row
from tickover.book.state import State

SMALL = """
[engine]
name = "Invented single"
layout = "single"
[controls]
cold_start = false
[[checks]]
name = "valve caps"
stale_after = ["caps off"]
[[checks]]
name = "oil drained"
needs = ["valve caps"]
stale_after = ["caps off", "sump off"]
[[checks]]
name = "mirror"
required = "riding"
"""
ROW: BuildRow = first_row("small-x", "Shed single", "2031-01-01T00:00:00Z", "tester")
AT = "2031-04-05T18:30:00+00:00"


def names_required(state: State, stage: str = "first start") -> list[tuple[str, str]]:
    """Every check required before a stage."""
    from tickover.pages.building import states_of

    return [item.check.key for item in states_of(state) if stage in item.check.required]


def yes(name: str, place: str = "", answer: float = 1.0) -> Reading:
    """A check tried and found right, or wrong."""
    return Reading(name, place, answer, answer, "yes", "yes" if answer else "no")


def small(bodies: Iterable[Any] = (), extra: str = "") -> State:
    """The small machine after these entries."""
    return state_of(bodies, SMALL + extra)
