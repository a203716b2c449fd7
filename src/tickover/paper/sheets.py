"""Every sheet by name: which page object it prints, and with which template."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tickover.book.chain import BuildRow
from tickover.book.state import State
from tickover.errors import InputError
from tickover.pages.building import engine_of, valves_page_of
from tickover.pages.sheets import valve_bench_sheet, valve_report
from tickover.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its template, the data of a build, and what it is for."""

    template: str
    data: Callable[[BuildRow, State], dict[str, Any]]
    words: str


SHEETS: dict[str, Sheet] = {
    "valves-bench": Sheet(
        "valve-bench",
        lambda build, state: valve_bench_sheet(engine_of(state), valves_page_of(build, state)),
        "valve clearances, to fill in with a pencil in working order",
    ),
    "valves": Sheet(
        "valve-report",
        lambda build, state: valve_report(engine_of(state), valves_page_of(build, state)),
        "valve clearances, what was found and what to fit",
    ),
}
"""Name to sheet. Tasks add theirs here."""


def print_sheet(
    name: str, build: BuildRow, state: State, *, paper: str = "a4", printed_at: str = ""
) -> bytes:
    """A sheet of a build as PDF.

    Raises
    ------
    InputError
        If there is no such sheet or paper size.
    """
    if name not in SHEETS:
        raise InputError("No such sheet", given=name, allowed=", ".join(SHEETS))
    sheet = SHEETS[name]
    return typeset(sheet.template, sheet.data(build, state), paper=paper, printed_at=printed_at)
