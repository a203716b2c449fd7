"""The demo builds, told as they would have been written down; everything in them is invented.

One stands: a triple with a recut seat, one exhaust valve closed up by it, one reading that cannot
be told yet, a drawer of mixed shims, one shim to buy and one loose end. The other runs and is being
dialled in: a weak cylinder, a mixture too rich in the middle, carburettors out of balance, a tired
battery, a loom.
"""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING

from tickover.book.bodies import (
    Body,
    LooseEndOpened,
    Note,
    StartAttempt,
    StockChanged,
    Work,
)
from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.similar import examples
from tickover.tasks.quickline import understand_line

if TYPE_CHECKING:
    from tickover.book.store import Store

NAME = "Hill-climb 539 triple (demo, invented)"
BY = "demo"

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


RUNNING = "Lane 539 triple (demo, invented)"
_RUNNING_FROM = "triple-240"
"""The example this machine's engine file is; its name there is another."""

_RUNNING_STORY: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "2026-04-04T15:10:00+00:00",
        (
            "in1 0.10 / 0.12 mm", "ex1 0.15 / 0.17 mm", "in2 0.09 / 0.11 mm",
            "ex2 0.14 / 0.16 mm", "in3 0.10 / 0.12 mm", "ex3 0.15 / 0.17 mm",
            "torque head bolts 22 Nm done", "check spark plug1 yes", "check spark plug2 yes",
            "check spark plug3 yes", "battery at rest 12.4 V at 18 C",
        ),
    ),
    (
        "2026-04-05T09:30:00+00:00",
        (
            "compression cyl1 dry 152 psi", "compression cyl2 dry 128 psi",
            "compression cyl3 dry 150 psi",
        ),
    ),
    (
        "2026-04-11T10:05:00+00:00",
        (
            "strobe 1500 11", "strobe 4000 34", "vacuum carb1 24 cmHg", "vacuum carb2 21.5 cmHg",
            "vacuum carb3 23.6 cmHg", "mixture 1/4 4600 0.84", "mixture 3/4 6500 0.80",
            "charging voltage 3000 rpm 13.2 V at 18 C", "alternator winding 1-2 0.66 ohm at 20 C",
        ),
    ),
)  # fmt: skip


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
        keep(at, *(understand_line(engine, line, warm=False).body for line in lines))
    keep("2026-03-10T19:02:00+00:00", LooseEndOpened("breather hose off"))
    return build.id


def open_demos(store: Store) -> str:
    """Both demo builds in this store, written into it once; the id of the one that stands."""
    open_running_demo(store)
    return open_demo(store)


def open_running_demo(store: Store) -> str:
    """The id of the build that runs; written into this store once."""
    for build in store.builds():
        if build.name == RUNNING:
            return build.id
    text = examples()[_RUNNING_FROM]
    engine = parse_engine_file(text, f"{_RUNNING_FROM}.toml")
    day, *_ = (at for at, _ in _RUNNING_STORY)
    build = store.create_build(RUNNING, text, day, BY, engine_name=f"{_RUNNING_FROM}.toml")
    said = Note("Demonstration: machine, readings and prices are invented.")
    store.append(build.id, said, at=day, by=BY)
    for at, lines in _RUNNING_STORY:
        understood = [understand_line(engine, line, warm=False) for line in lines]
        bodies = [body for each in understood for body in (each.body, *each.more)]
        store.append(build.id, bodies, at=at, by=BY)
        if at == _RUNNING_STORY[1][0]:
            store.append(build.id, StartAttempt("coughed", {"seconds": 4.0}), at=at, by=BY)
            ran = StartAttempt("ran", {"seconds": 90.0, "note": "oil light out after 3 s"})
            store.append(build.id, ran, at=at, by=BY)
    return build.id
