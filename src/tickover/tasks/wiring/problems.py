"""What the sums find wrong with a loom as it is described, with the line of the engine file."""

from __future__ import annotations

from tickover.engine import EngineFile
from tickover.engine.source import key_lines
from tickover.errors import Problem
from tickover.physics.wire_current import FUSES, LOADING, fuse_for
from tickover.tasks.wiring.schedule import branch_lines
from tickover.tasks.wiring.sizing import Sized, Sizing, circuit_current
from tickover.tasks.wiring.starter import StarterWay

Key = tuple[str | int, ...]


def loom_problems(engine: EngineFile, sizing: Sizing, text: str = "") -> tuple[Problem, ...]:
    """Fuses above what their wires carry, fuses that would melt, connectors too small.

    Parameters
    ----------
    engine : EngineFile
    sizing : Sizing
    text : str
        The engine file as written, for line numbers; without it there are none.

    Returns
    -------
    tuple of Problem
        In the order of the lines.
    """
    lines = key_lines(text) if text else {}
    found: list[Problem] = []

    def add(key: Key, words: str, given: str = "", allowed: str = "", instead: str = "") -> None:
        line = next((lines[key[:n]] for n in range(len(key), 0, -1) if key[:n] in lines), None)
        dotted = ".".join(str(part) for part in key if isinstance(part, str))
        found.append(Problem(line, dotted, words, given, allowed, instead))

    for i, circuit in enumerate(engine.circuits):
        wires = [w for w in sizing.wires if w.run.circuit == circuit.name]
        if not wires:
            add(("circuits", i), f"No load is on the circuit {circuit.name}",
                instead=f'circuit = "{circuit.name}" in one of the [[loads]]')  # fmt: skip
            continue
        _circuit(add, i, circuit.fuse_a, circuit.name, circuit_current(engine, circuit.name), wires)
    wiring = engine.wiring
    main = [w for w in sizing.wires if w.run.side == "main"]
    if wiring is not None:
        needed = max((w.run.current for w in main), default=0.0)
        if wiring.main_fuse_a is None and main:
            add(
                ("wiring",),
                "No main fuse: nothing protects the wires before the fuses",
                instead=f'main_fuse = "{_next_fuse(needed)}" under [wiring], at the battery',
            )
        elif wiring.main_fuse_a is not None:
            _fuse_on_wires(add, ("wiring", "main_fuse"), "The main fuse", wiring.main_fuse_a, main)
            if wiring.main_fuse_a * LOADING < needed:
                add(("wiring", "main_fuse"),
                    "The main fuse may melt with everything on", f"{wiring.main_fuse_a:g} A",
                    f"{needed:.1f} A at once, four fifths of a fuse for long",
                    f'main_fuse = "{_next_fuse(needed)}"')  # fmt: skip
    for wire in sizing.wires:
        if wire.too_thin and wire.run.pinned:
            asks = max(wire.run.current, wire.fuse or 0.0)
            add(wire.run.pinned_by, f"Wire {wire.run.number}, {wire.run.start} to {wire.run.end}, "
                "carries less than is asked of it", f"{wire.size.words}, {wire.ampacity:.1f} A",
                f"{asks:.1f} A or more",
                f"{_thicker(wire)}, or a smaller fuse")  # fmt: skip
    told = {c.name for c in engine.circuits if c.fuse_a is not None}
    for wire in _beyond_all_sizes(sizing, told, wiring is not None and bool(wiring.main_fuse_a)):
        here = [i for i, c in enumerate(engine.circuits) if c.name == wire.run.circuit]
        add(("circuits", here[0]) if here else ("wiring",),
            f"No wire of this standard carries what wire {wire.run.number}, {wire.run.start} to "
            f"{wire.run.end}, has to", f"{max(wire.run.current, wire.fuse or 0.0):.1f} A",
            f"up to {wire.ampacity:.1f} A with {wire.size.words}",
            "two circuits in place of one, or insulation that bears more heat")  # fmt: skip
    for i in sizing.loom.unused:
        wire_table = engine.wires[i]
        add(
            ("wires", i),
            "There is no such wire in this loom",
            f"{wire_table.start} to {wire_table.end}",
            "two ends as the schedule says them",
        )
    for i, line in enumerate(branch_lines(engine, sizing)):
        if line.overfull:
            add(("branches", i, "ways"), f"More wires pass {line.connector} than it takes",
                f"{line.wires} wires", f"{line.ways} ways")  # fmt: skip
    for load in sizing.loads:
        if not load.met:
            at = next(i for i, each in enumerate(engine.loads) if each.name == load.name)
            add(("loads", at), f"{load.name[:1].upper()}{load.name[1:]} loses more than is allowed "
                "even with the thickest wires that may be chosen",
                f"{load.drop:.2f} V", f"{load.allowed:.2f} V",
                "a shorter way, a relay, or a greater drop if that is right")  # fmt: skip
    return tuple(sorted(found, key=lambda p: p.line or 0))


def starter_problems(
    engine: EngineFile, way: StarterWay | None, text: str = ""
) -> tuple[Problem, ...]:
    """Starter cables that lose too much, with the line of the one that loses most."""
    if way is None or way.met:
        return ()
    worst = max(range(len(way.stretches)), key=lambda i: way.stretches[i].drop)
    lines = key_lines(text) if text else {}
    lying = any(each.given for each in way.stretches)
    instead = "a thicker or shorter cable there" if lying else "shorter cables"
    return (
        Problem(
            lines.get(("starter_cables", worst)), "starter_cables",
            f"The starter's cables lose too much, most of it {way.stretches[worst].name}",
            f"{way.drop:.2f} V", f"{way.allowed:.2f} V", instead,
        ),
    )  # fmt: skip


def _beyond_all_sizes(sizing: Sizing, given: set[str], main_given: bool) -> list[Sized]:
    """The worst wire of each circuit, of the main wires and of those back, that no size suits.

    Where a fuse is given that is told of the fuse already.
    """
    worst: dict[tuple[str, str], Sized] = {}
    for wire in sizing.wires:
        fuse_told = wire.run.circuit in given or (wire.run.side == "main" and main_given)
        if wire.run.pinned or (wire.by_current and (wire.by_fuse or fuse_told)):
            continue
        key = (wire.run.side, wire.run.circuit)
        if key not in worst or wire.run.current > worst[key].run.current:
            worst[key] = wire
    return list(worst.values())


def _circuit(
    add: object, i: int, fuse: float | None, name: str, current: float, wires: list[Sized]
) -> None:
    assert callable(add)
    if fuse is not None:
        _fuse_on_wires(add, ("circuits", i, "fuse"), f"The fuse of {name}", fuse, wires)
        if fuse * LOADING < current - 1e-9:
            add(("circuits", i, "fuse"), f"The fuse of {name} may melt with everything on",
                f"{fuse:g} A", f"{current:.1f} A at once, four fifths of a fuse for long",
                f'fuse = "{_next_fuse(current)}"')  # fmt: skip
    elif current > FUSES[-1] * LOADING:
        add(("circuits", i), f"No blade fuse carries {name}", f"{current:.1f} A",
            f"{FUSES[-1] * LOADING:g} A for long", "two circuits in place of this one")  # fmt: skip


def _fuse_on_wires(add: object, key: Key, what: str, fuse: float, wires: list[Sized]) -> None:
    """One sentence for the weakest wire after a fuse."""
    assert callable(add)
    weak = min(wires, key=lambda w: w.ampacity, default=None)
    if weak is None or weak.ampacity >= fuse * (1.0 - 1e-9):
        return
    add(key, f"{what} is above what wire {weak.run.number}, {weak.run.start} to {weak.run.end}, "
        "carries", f"{fuse:g} A", f"up to {weak.ampacity:.1f} A with {weak.size.words}",
        f"a smaller fuse, or {_thicker(weak)} there")  # fmt: skip


def _thicker(wire: Sized) -> str:
    sizes = [s for s in (wire.by_current, wire.by_fuse) if s is not None]
    if len(sizes) < 2:
        return "more than one wire of the thickest size"
    return max(sizes, key=lambda s: s.area).words


def _next_fuse(current: float) -> str:
    fuse = fuse_for(current)
    return "no blade fuse, but several feeds with one each" if fuse is None else f"{fuse:g} A"
