"""Opening the book and finding the build a command is about."""

from __future__ import annotations

import getpass
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow
    from tickover.book.state import State
    from tickover.book.store import Store
    from tickover.engine import EngineFile


def now() -> str:
    """Now, in universal time, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def writer() -> str:
    """Who writes from this terminal."""
    try:
        return f"{getpass.getuser()} (terminal)"
    except (KeyError, OSError):
        return "terminal"


@dataclass(frozen=True, slots=True)
class TerminalBench:
    """A build in an open book."""

    store: Store
    build: BuildRow

    @property
    def state(self) -> State:
        """The build's state now."""
        return self.store.state(self.build.id)

    @property
    def engine(self) -> EngineFile:
        """The build's engine file now."""
        from tickover.engine import parse_engine_file

        kept = self.state.engine_file
        if kept is None:
            raise InputError(f"The build {self.build.id} has no engine file")
        return parse_engine_file(kept.body.text, kept.body.name)


@contextmanager
def open_store(where: str | None) -> Iterator[Store]:
    """The book, closed again afterwards."""
    from tickover.book.store import Store

    with Store.open(where) as store:
        yield store


@contextmanager
def chosen_build(where: str | None, name: str) -> Iterator[TerminalBench]:
    """The build meant: by id, by name, by their beginning, or the only one there is."""
    with open_store(where) as store:
        yield TerminalBench(store, find_build(store, name or os.environ.get("TICKOVER_BUILD", "")))


def find_build(store: Store, name: str) -> BuildRow:
    """One build by what somebody typed.

    Raises
    ------
    InputError
        None or several fit; says which there are.
    """
    builds = store.builds()
    shown = ", ".join(f"{build.id} ({build.name})" for build in builds) or "no build yet"
    if not builds:
        raise InputError("The book has no build yet", instead="tickover new --engine E.toml")
    if not name:
        if len(builds) == 1:
            return builds[0]
        raise InputError("Say which build", allowed=shown, instead="--build and the id")
    wanted = name.casefold()
    for fits in (
        [b for b in builds if b.id == name],
        [b for b in builds if b.name.casefold() == wanted],
        [b for b in builds if b.id.startswith(wanted) or b.name.casefold().startswith(wanted)],
    ):
        if len(fits) == 1:
            return fits[0]
    raise InputError("No single build fits", given=name, allowed=shown)
