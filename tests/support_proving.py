"""Machines for the tests of proving: a triple with everything, a twin with little."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from support_book import state_of

from tickover.book.bodies import Body
from tickover.book.state import State
from tickover.engine import EngineFile, load_engine_file, parse_engine_file
from tickover.plan.checks import CheckState, check_states
from tickover.tasks.answers import check_reading, find_check, proving_checks

TRIPLE = Path(__file__).parents[1] / "examples" / "engines" / "triple-240.toml"
TWIN = '[engine]\nname = "Invented 400 twin"\nlayout = "inline"\ncylinders = 2\ncrank = "360 deg"\n'


def triple() -> EngineFile:
    """The example with every table."""
    return load_engine_file(TRIPLE)


def twin(*tables: str) -> EngineFile:
    """A twin with these tables and nothing else."""
    return parse_engine_file(TWIN + "\n".join(tables), "twin.toml")


def reading(engine: EngineFile, line: str) -> Body:
    """The entry a line makes: 'spark plug1 yes'."""
    return check_reading(engine, *find_check(proving_checks(engine), line))


def after(engine: EngineFile, *entries: str | Any) -> State:
    """The state after lines and other bodies."""
    return state_of([reading(engine, e) if isinstance(e, str) else e for e in entries])


def item(engine: EngineFile, state: State, name: str, place: str = "") -> CheckState:
    """One check as it stands."""
    return next(i for i in check_states(engine, state) if i.check.key == (name, place))


def word(engine: EngineFile, name: str, place: str = "") -> Callable[..., str]:
    """The state word of one check after some entries."""
    return lambda *entries: item(engine, after(engine, *entries), name, place).state
