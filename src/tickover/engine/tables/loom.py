"""[[branches]], [[switches]], [[joints]], [[wires]]: where the loom runs and what it passes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Size
from tickover.engine.suggest import nearest_word
from tickover.engine.table import Clash, Table
from tickover.engine.tables.colours import Colour
from tickover.engine.tables.wiring import FRAME
from tickover.engine.words import Count, Text
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

BATTERY = "battery"


class Branch(Table):
    """One stretch of the loom between two points."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    start: Annotated[str, Text("The start of a branch", 40)] = Field(
        alias="from", description="A point of the loom."
    )
    end: Annotated[str, Text("The end of a branch", 40)] = Field(
        alias="to", description="The point at its other end."
    )
    length_m: Annotated[float, Size("The length of a branch", "length", 0.005, 5.0, 0.4)] = Field(
        alias="length", description="Along the loom, with a cord: 420 mm."
    )
    connector: Annotated[str | None, Text("The connector", 40)] = Field(
        default=None, description="A plug and socket that all its wires pass."
    )
    ways: Annotated[int | None, Count("The ways of a connector", 1, 100)] = Field(
        default=None, description="How many wires that connector takes."
    )


class Switch(Table):
    """A switch, relay or other thing that current passes through."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a switch", 40)] = Field(
        description="As in feed and fed_through: ignition switch."
    )
    at: Annotated[str, Text("Where it is", 40)] = Field(description="The point of the loom.")
    terminal: Annotated[str | None, Text("The terminal", 40)] = Field(
        default=None, description="On the wires that end at it."
    )


class Joint(Table):
    """Where wires are joined: a splice, an earth stud."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a joint", 40)] = Field(
        description="As in feed and earth: rear earth."
    )
    at: Annotated[str, Text("Where it is", 40)] = Field(description="The point of the loom.")
    terminal: Annotated[str | None, Text("The terminal", 40)] = Field(
        default=None, description="crimped splice, if left out."
    )


class Wire(Table):
    """What somebody wants of one wire that follows from the loads."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    start: Annotated[str, Text("The start of a wire", 40)] = Field(
        alias="from", description="Where it comes from, as the schedule says."
    )
    end: Annotated[str, Text("The end of a wire", 40)] = Field(
        alias="to", description="Where it goes."
    )
    size: Annotated[str | None, Text("The size", 12)] = Field(
        default=None, description="As it is lying: 1.5, or AWG 16."
    )
    colour: Annotated[str | None, Colour("The main colour")] = Field(
        default=None, description="IEC 60757 code."
    )
    tracer: Annotated[str | None, Colour("The tracer")] = Field(
        default=None, description="Second colour."
    )
    number: Annotated[str | None, Text("The number", 8)] = Field(
        default=None, description="As marked on it."
    )


def wiring_clashes(whole: EngineFile) -> Iterator[Clash]:
    """What in circuits, loads and loom contradicts itself or another."""
    if not (whole.circuits or whole.loads or whole.branches):
        return
    yield from _tree(whole)
    yield from _names(whole)
    yield from _places(whole)
    yield from _circuits(whole)
    yield from _chains(whole)


def _tree(whole: EngineFile) -> Iterator[Clash]:
    """The branches make one tree: no ring, no island."""
    root: dict[str, str] = {}

    def top(point: str) -> str:
        while root.setdefault(point, point) != point:
            point = root[point]
        return point

    rings = False
    for i, branch in enumerate(whole.branches):
        a, b = top(branch.start.casefold()), top(branch.end.casefold())
        if a == b:
            rings = True
            yield Clash(("branches", i), InputError(
                "This branch closes a ring: between two points there is one way only",
                given=f"{branch.start} to {branch.end}",
                allowed="a tree of branches"))  # fmt: skip
        root[a] = b
    tops = {top(point) for point in list(root)}
    if len(tops) > 1 and not rings:
        first = top(whole.branches[0].start.casefold())
        for i, branch in enumerate(whole.branches):
            if top(branch.start.casefold()) != first:
                yield Clash(
                    ("branches", i),
                    InputError(
                        "No route leads to this branch from the first one",
                        given=f"{branch.start} to {branch.end}",
                        instead="the branch between, or one of the points as the others spell it",
                    ),
                )
                break  # fmt: skip


def _names(whole: EngineFile) -> Iterator[Clash]:
    """One name, one thing."""
    seen: dict[str, str] = {BATTERY: "the battery", FRAME: "the frame"}
    for table in ("loads", "switches", "joints"):
        for i, each in enumerate(getattr(whole, table)):
            key = each.name.casefold()
            if key in seen:
                yield Clash((table, i, "name"), InputError(
                    "Two things of the loom have this name", given=each.name,
                    allowed=f"a name that is not that of {seen[key]}"))  # fmt: skip
            seen[key] = f"one of [[{table}]]"
    circuits: set[str] = set()
    for i, circuit in enumerate(whole.circuits):
        if circuit.name.casefold() in circuits:
            yield Clash(("circuits", i, "name"),
                        InputError("Two circuits have this name", given=circuit.name))  # fmt: skip
        circuits.add(circuit.name.casefold())


def _places(whole: EngineFile) -> Iterator[Clash]:
    """Everything sits on a point that a branch leads to."""
    if not (whole.loads or whole.switches or whole.joints):
        return
    points = {p.casefold(): p for branch in whole.branches for p in (branch.start, branch.end)}
    if not points:
        yield Clash(("loads",), InputError(
            "The loom has no branches, so nothing says where its wires run",
            instead='[[branches]] with from, to and length'))  # fmt: skip
        return
    rows: list[tuple[tuple[str | int, ...], str]] = []
    for table in ("loads", "switches", "joints"):
        rows += [((table, i, "at"), each.at) for i, each in enumerate(getattr(whole, table))]
    if whole.wiring is not None:
        rows += [(("wiring", "battery"), whole.wiring.battery),
                 (("wiring", "fuses"), whole.wiring.fuses)]  # fmt: skip
    else:
        yield Clash(("loads",), InputError("The table [wiring] is missing",
                    instead="[wiring] with battery and fuses, the points where they are"),
                    )  # fmt: skip
    for key, at in rows:
        if at.casefold() not in points:
            near = nearest_word(at, tuple(points.values()))
            yield Clash(key, InputError(
                "There is no route to this point: no branch leads there", given=at,
                allowed=", ".join(list(points.values())[:30]),
                instead=f'"{near}" (did you mean that?)' if near else "a branch that ends there",
            ))  # fmt: skip


def _circuits(whole: EngineFile) -> Iterator[Clash]:
    """Every load on a circuit, every lamp for this voltage."""
    names = {circuit.name.casefold(): circuit.name for circuit in whole.circuits}
    volts = whole.system_volts
    for i, load in enumerate(whole.loads):
        if load.circuit.casefold() not in names:
            near = nearest_word(load.circuit, tuple(names.values())) if load.circuit else None
            yield Clash(("loads", i, "circuit") if load.circuit else ("loads", i), InputError(
                f"The load {load.name} is on no circuit", given=load.circuit,
                allowed=", ".join(names.values()) or "a [[circuits]] table for it",
                instead=f'circuit = "{near or next(iter(names.values()), "lights")}"'),
            )  # fmt: skip
        if load.rated_w is None and load.real_a is None:
            yield Clash(("loads", i), InputError(
                f"The load {load.name} takes no current", allowed="rated in W, or real in A",
                instead='rated = "21 W"'))  # fmt: skip
        if load.volts_v is not None and abs(load.volts_v - volts) > 0.26 * volts:
            yield Clash(("loads", i, "volts"), InputError(
                f"The load {load.name} is made for another voltage than this machine's",
                given=f"{load.volts_v:g} V on a {volts:g} V machine",
                instead=f'one for {volts:g} V, or volts = "{load.volts_v:g} V" in [battery]'),
            )  # fmt: skip
        if load.rated_w and load.real_a and not 0.25 < load.real_a * volts / load.rated_w < 4.0:
            yield Clash(("loads", i, "real"), InputError(
                f"The real current of {load.name} is nowhere near its rated power",
                given=f"{load.real_a:g} A and {load.rated_w:g} W",
                allowed=f"about {load.rated_w / volts:.3g} A at {volts:g} V",
                instead="amperes as the meter showed them, not the watts"))  # fmt: skip
        if load.lower_w is not None and load.rated_w is not None and load.lower_w >= load.rated_w:
            yield Clash(("loads", i, "lower"), InputError(
                "The lower power is not lower", given=f"{load.lower_w:g} W",
                allowed=f"below {load.rated_w:g} W"))  # fmt: skip


def _chains(whole: EngineFile) -> Iterator[Clash]:
    """Every name passed on the way is a switch or a joint."""
    passed = [each.name for each in whole.switches] + [each.name for each in whole.joints]
    through = {name.casefold(): name for name in passed}
    ends = {BATTERY: BATTERY, **{j.name.casefold(): j.name for j in whole.joints}}
    rows: list[tuple[tuple[str | int, ...], tuple[str, ...], bool]] = []
    for i, circuit in enumerate(whole.circuits):
        rows.append((("circuits", i, "fed_through"), circuit.fed_through, False))
    for i, load in enumerate(whole.loads):
        rows.append((("loads", i, "feed"), load.feed, False))
        if load.earth is not None and tuple(e.casefold() for e in load.earth) != (FRAME,):
            rows.append((("loads", i, "earth"), load.earth, True))
    if whole.wiring is not None:
        rows.append((("wiring", "earth"), whole.wiring.earth, True))
    for key, names, back in rows:
        known = ends if back else through
        strange = next((name for name in names if name.casefold() not in known), None)
        if strange is not None:
            near = nearest_word(strange, tuple(known.values()))
            what = "battery, or one of the [[joints]]" if back else "a switch or a joint"
            yield Clash(key, InputError(
                f"On this way stands something that is not {what}", given=strange,
                allowed=", ".join(list(known.values())[:30]) or "[[switches]] and [[joints]]",
                instead=f'"{near}" (did you mean that?)' if near else ""))  # fmt: skip
        elif back and names and names[-1].casefold() != BATTERY:
            yield Clash(key, InputError("The way back does not end at the battery",
                        given=", ".join(names),
                        instead='"battery" as the last of them'))  # fmt: skip
