"""The demo builds, told as they would have been written down; everything in them is invented.

One stands: a triple with a recut seat, one exhaust valve closed up by it, one reading that cannot
be told yet, a drawer of mixed shims, one shim to buy and one loose end. The other runs and is being
dialled in: a weak cylinder, a mixture too rich in the middle, carburettors out of balance, a tired
battery, a loom.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib import resources
from itertools import groupby
from typing import TYPE_CHECKING

from tickover.book.bodies import (
    Body,
    LooseEndOpened,
    Note,
    StartAttempt,
    StockChanged,
    Work,
)
from tickover.book.state import LooseEnd
from tickover.demo import lane
from tickover.demo.told import TOLD
from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.similar import examples
from tickover.tasks.quickline import understand_line

if TYPE_CHECKING:
    from tickover.book.store import Store

NAME = "Hill-climb 539 triple (demo, invented)"
BY = "demo"

_RUNNING_INVENTED = (
    "Demonstration: machine, readings and prices are invented. The recordings were made by the "
    "synthesiser, not by a real engine."
)
_DAY_ONE = "2026-03-02T18:05:00+00:00"
_STORY: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "2026-03-09T17:40:00+00:00",
        (
            "shim in1 2.55", "shim ex1 2.65", "shim in2 2.60", "shim ex2 2.70",
            "shim in3 2.575", "shim ex3 2.625",
        ),
    ),
    (
        "2026-03-10T18:20:00+00:00",
        (
            "in1 0.10 / 0.11 mm", "ex1 0.14 / 0.15 mm", "in2 0.07 / 0.09 mm",
            "ex2 no gap 0.03 mm", "in3 0.11 / 0.12 mm", "ex3 0.15 / 0.16 mm",
        ),
    ),
)  # fmt: skip
_DRAWER_MM = ((2.40, 1), (2.50, 1), (2.525, 1), (2.625, 2), (2.65, 1), (2.75, 3), (2.90, 1))


def demo_text() -> str:
    """The demo's engine file."""
    return resources.files(__package__).joinpath("demo.toml").read_text(encoding="utf-8")


def demo_engine() -> EngineFile:
    """The demo's engine file, read."""
    return parse_engine_file(demo_text(), "demo.toml")


def open_demo(store: Store) -> str:
    """The id of the demo build in this store; written into it once."""
    for build in store.builds():
        if build.name == NAME:
            return build.id
    build = store.create_build(NAME, demo_text(), _DAY_ONE, BY, engine_name="demo.toml")
    engine = demo_engine()

    def keep(at: str, *bodies: Body) -> None:
        store.append(build.id, bodies, at=at, by=BY)

    keep(
        _DAY_ONE,
        Note("Demonstration: machine, readings and prices are invented."),
        Work("head off", ()),
        Work("valve or seat work", ("ex2",), {"what": "exhaust seat 2 recut"}),
        *(
            StockChanged("shim", round(size * 1e-3, 9), "m", count, known_by="mark")
            for size, count in _DRAWER_MM
        ),
    )
    for at, lines in _STORY:
        keep(at, *_meant(engine, lines))
    keep("2026-03-10T19:02:00+00:00", LooseEndOpened("breather hose off"))
    return build.id


def open_demos(store: Store) -> str:
    """Both demo builds in this store, written into it once; the id of the one that stands."""
    open_running_demo(store)
    return open_demo(store)


def running_text() -> str:
    """The engine file of the build that runs: an example's, and an invented loom after it."""
    loom = resources.files(__package__).joinpath("loom.toml").read_text(encoding="utf-8")
    return f"{examples()[lane.EXAMPLE]}\n{loom}"


def open_running_demo(store: Store) -> str:
    """The id of the build that runs; written into this store once."""
    for build in store.builds():
        if build.name == lane.NAME:
            return build.id
    text = running_text()
    engine = parse_engine_file(text, f"{lane.EXAMPLE}.toml")
    day, _ = lane.STORY[0]
    build = store.create_build(lane.NAME, text, day, BY, engine_name=f"{lane.EXAMPLE}.toml")
    store.append(build.id, Note(_RUNNING_INVENTED), at=day, by=BY)
    for at, lines in lane.STORY:
        if at == lane.STARTED:
            coughed = StartAttempt("coughed", {"seconds": 4.0})
            ran = StartAttempt("ran", {"seconds": 90.0, "note": "oil light out after 3 s"})
            store.append(build.id, [coughed, ran], at=at, by=BY)
        for told, together in groupby(lines, key=_apart):
            state = store.state(build.id)
            bodies = (
                TOLD[told](store, engine, state)
                if told in TOLD else _meant(engine, together, state.open_loose_ends)
            )  # fmt: skip
            store.append(build.id, bodies, at=at, by=BY)
    return build.id


def _apart(line: str) -> str:
    """What a line is kept together with: what is put back must be in the book as loose before."""
    return line if line in TOLD else line[:8] if line.startswith("put back") else ""


def _meant(engine: EngineFile, lines: Iterable[str], ends: Sequence[LooseEnd] = ()) -> list[Body]:
    """What each line means, with what it brings along."""
    understood = [understand_line(engine, line, warm=False, open_ends=ends) for line in lines]
    return [body for each in understood for body in (each.body, *each.more)]
