"""One shopping list over all tasks: what each wants bought, less what has arrived since."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import cast

from tickover.book.bodies import StockChanged, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.plan.valve_plan import valve_assessment
from tickover.quantities import show
from tickover.tasks.mixture.from_file import has_mixture
from tickover.tasks.mixture.in_book import MIXTURE, book_advice, mixture_book
from tickover.tasks.valves.in_book import SHIM
from tickover.tasks.wiring.in_book import continuity_of, loom_sized
from tickover.tasks.wiring.made import not_made, wires_at_fault
from tickover.tasks.wiring.schedule import branch_lines, cutting_list, terminals
from tickover.tasks.wiring.sizing import Sizing

TO_BUY = "to buy"
ARRIVED = "arrived"
MOST = 10_000
"""Of one thing on the list; more is a slip of the finger."""
_SAME_SIZE = 1e-9
_OWN = "your own list"


@dataclass(frozen=True, slots=True)
class Want:
    """Something to buy.

    Parameters
    ----------
    item : str
        'shim', 'main jet', 'head gasket'.
    size : float or None
        [SI unit given in `unit`]; None where the item has no size.
    unit : str
        As in `StockChanged`: 'm' for lengths, empty for numbers stamped on jets.
    count : int
    price : float or None
        Of one [money]; None where nobody knows it.
    why, task : str
        For what, and which task wants it.
    since : int
        Number of the entry this want already reckons with; only later arrivals settle it.
    entry : str
        Id of the entry that asked for it; '' when a task worked it out.
    by : str
        Who asked for it.
    """

    item: str
    size: float | None
    unit: str
    count: int
    price: float | None
    why: str
    task: str
    since: int = 0
    entry: str = ""
    by: str = ""

    @property
    def key(self) -> tuple[str, float | None, str]:
        """What counts as the same thing in a shop."""
        size = None if self.size is None else round(self.size / _SAME_SIZE) * _SAME_SIZE
        return self.item.casefold(), size, self.unit


@dataclass(frozen=True, slots=True)
class Line:
    """A want and how many of it came since."""

    want: Want
    arrived: int

    @property
    def still(self) -> int:
        """How many are still to buy."""
        return max(self.want.count - self.arrived, 0)


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """Everything wanted, and what arrived that nothing asks for."""

    lines: tuple[Line, ...]
    surplus: tuple[Entry[StockChanged], ...]
    """Arrivals of things on the list beyond what was wanted: two people may have noted one."""
    others: tuple[Entry[StockChanged], ...]
    """Arrivals of things no line names any more: a task that wanted them is served."""

    @property
    def total(self) -> float:
        """What the priced lines still cost together [money]."""
        return sum(line.still * (line.want.price or 0.0) for line in self.lines)

    @property
    def unpriced(self) -> int:
        """Lines still to buy without a price."""
        return sum(line.still > 0 and line.want.price is None for line in self.lines)


Source = Callable[[EngineFile, State], tuple[Want, ...]]


def shims_wanted(engine: EngineFile, state: State) -> tuple[Want, ...]:
    """Shims the valve plan has to buy; what lies in the drawer it has used already."""
    if engine.valves is None:
        return ()
    plan = valve_assessment(engine, state).plan
    if plan is None:
        return ()
    unit = engine.show.unit("shim")
    found = []
    for item in plan.buy:
        places = [c.place for c in plan.changes if c.source == "buy" and c.to_m == item.size_m]
        one = None if item.price is None else item.price / item.count
        why = f"{show(item.size_m, unit, 'shim')} into {', '.join(places)}"
        found.append(
            Want(SHIM, item.size_m, "m", item.count, one, why, "valves", state.last_number)
        )
    return tuple(found)


def own_wanted(engine: EngineFile, state: State) -> tuple[Want, ...]:
    """What somebody put on the list by hand."""
    found = []
    for entry in state.works(TO_BUY):
        detail = entry.body.detail
        size, price = detail.get("size"), detail.get("price")
        count = detail.get("count", 1)
        found.append(
            Want(
                str(detail.get("item", "something")),
                float(size) if isinstance(size, (int, float)) else None,
                str(detail.get("unit", "")),
                count if isinstance(count, int) and count > 0 else 1,
                float(price) if isinstance(price, (int, float)) else None,
                str(detail.get("why", "")), _OWN, entry.number, entry.id, entry.by,
            )
        )  # fmt: skip
    return tuple(found)


def loom_wanted(engine: EngineFile, state: State) -> tuple[Want, ...]:
    """Wire by the metre, fuses, terminals and connectors for what is to make of a loom.

    A wire that was read lies in the machine. One that read wrong and is itself the likely cause is
    wanted again: its two ends where it has too much resistance, else wire and ends. What was bought
    before the first such reading does not settle it.
    """
    whole = loom_sized(engine)
    if whole is None:
        return ()
    return *_first_made(engine, state, whole), *_made_again(engine, state, whole)


def _made_again(engine: EngineFile, state: State, whole: Sizing) -> tuple[Want, ...]:
    """What single wires take when they are made again, each line named by its number."""
    found: list[Want] = []
    for fault in wires_at_fault(whole, state, continuity_of(engine, state)):
        if fault.first is not None:
            continue
        one = replace(whole, wires=(fault.wire,))
        number = fault.wire.run.number
        found += [
            replace(want, item=f"{want.item}, for wire {number} again",
                    why=f"it read {fault.words}; see its crimps first", since=fault.since)
            for want in (*(_wire_wants(engine, one) if fault.through else ()),
                         *_terminal_wants(one))
        ]  # fmt: skip
    return tuple(found)


def _first_made(engine: EngineFile, state: State, whole: Sizing) -> tuple[Want, ...]:
    sizing = replace(whole, wires=not_made(whole, state))
    if not sizing.wires:
        return ()
    task = "wiring"
    circuits = {wire.run.circuit for wire in sizing.wires}
    found = list(_wire_wants(engine, sizing))
    fuses: dict[float, list[str]] = {}
    for circuit in sizing.circuits:
        if circuit.fuse is not None and circuit.name in circuits:
            fuses.setdefault(circuit.fuse, []).append(circuit.name)
    if (
        engine.wiring is not None
        and engine.wiring.main_fuse_a is not None
        and (len(sizing.wires) == len(whole.wires))
    ):
        fuses.setdefault(engine.wiring.main_fuse_a, []).append("main fuse")
    found += [
        Want(f"fuse {rating:g} A", None, "", len(names), None, ", ".join(names), task)
        for rating, names in sorted(fuses.items())
    ]
    found += _terminal_wants(sizing)
    found += [
        Want(f"connector {line.connector}, {max(line.ways or 0, line.wires)} ways", None, "", 1,
             None, f"{line.start} to {line.end}", task)
        for line in branch_lines(engine, sizing)
        if line.connector and line.wires
    ]  # fmt: skip
    return tuple(found)


def _wire_wants(engine: EngineFile, sizing: Sizing) -> tuple[Want, ...]:
    return tuple(
        Want(f"wire {line.size.words} {line.colour_words}, by the metre", None, "",
             round(line.buy), None,
             f"{line.count} {'wire' if line.count == 1 else 'wires'}, with waste", "wiring")
        for line in cutting_list(engine, sizing)
    )  # fmt: skip


def _terminal_wants(sizing: Sizing) -> tuple[Want, ...]:
    return tuple(
        Want(f"{terminal}, {size}" if "mm" in size or "AWG" in size else terminal, None, "", count,
             None, "ends of wires", "wiring")
        for terminal, size, count in terminals(sizing)
    )  # fmt: skip


def jets_wanted(engine: EngineFile, state: State) -> tuple[Want, ...]:
    """What the mixture's advice wants fitted and the drawer of the engine file does not hold."""
    if not has_mixture(engine) or not state.readings(MIXTURE):
        return ()
    try:
        book = mixture_book(engine, state)
        advice = book_advice(book)
    except InputError:  # readings that contradict each other: the mixture page says which
        return ()
    drawer, setting = book.machine.drawer, advice.setting
    if advice.stop is not None or not advice.steps:
        return ()
    wanted = (
        [(f"pilot jet {j.mark}", j) for j in drawer.pilots if j.bore == setting.pilot_jet],
        [(f"main jet {j.mark}", j) for j in drawer.mains if j.bore == setting.main_jet],
        [(f"needle {h.needle.name}", h) for h in drawer.needles if h.needle == setting.needle],
        [(f"slide, cutaway {1e3 * s.cutaway:g} mm", s) for s in drawer.slides
         if s.cutaway == setting.cutaway],
    )  # fmt: skip
    why = ", ".join(f"{step.what} {step.was} to {step.to}" for step in advice.steps)
    return tuple(
        Want(name, None, "", drawer.carburettors - part.owned, part.price or None, why, MIXTURE)
        for name, part in (found[0] for found in wanted if found)
        if part.owned < drawer.carburettors
    )


SOURCES: list[Source] = [shims_wanted, jets_wanted, loom_wanted, own_wanted]
"""Every task that wants something bought. Tasks add theirs here and nowhere else."""


def shopping_list(engine: EngineFile, state: State) -> ShoppingList:
    """Everything wanted, less what arrived after it was asked for.

    Parameters
    ----------
    engine : EngineFile
    state : State

    Returns
    -------
    ShoppingList
        Lines in the order of the tasks. An arrival settles the oldest want of the same thing
        first, and each arrival only once.
    """
    wants = [want for source in SOURCES for want in source(engine, state)]
    arrivals = [
        cast(Entry[StockChanged], entry)
        for entry in state.live
        if isinstance(entry.body, StockChanged)
        and entry.body.change > 0
        and entry.body.note.casefold().startswith(ARRIVED)
    ]
    left = {entry.id: entry.body.change for entry in arrivals}
    came = dict.fromkeys(range(len(wants)), 0)
    for index in sorted(came, key=lambda i: wants[i].since):
        want = wants[index]
        for entry in arrivals:
            if entry.number > want.since and _key(entry.body) == want.key:
                taken = min(left[entry.id], want.count - came[index])
                left[entry.id] -= taken
                came[index] += taken
    on_list = {want.key for want in wants}
    priced = [replace(w, price=_price(w, state)) if w.price is None else w for w in wants]
    unused = [entry for entry in arrivals if left[entry.id] > 0]
    # A computed want is gone once its task has found the thing in the drawer: no surplus that.
    surplus = [
        entry
        for entry in unused
        if any(w.entry and w.key == _key(entry.body) and w.since < entry.number for w in wants)
    ]
    return ShoppingList(
        tuple(Line(want, came[i]) for i, want in enumerate(priced)),
        tuple(surplus),
        tuple(entry for entry in unused if _key(entry.body) not in on_list),
    )


def want_entry(
    item: str,
    count: int = 1,
    size: float | None = None,
    unit: str = "",
    price: float | None = None,
    why: str = "",
) -> Work:
    """The entry that puts something on the list.

    Raises
    ------
    InputError
        No name, a count below one or beyond reason, a negative price.
    """
    if not item.strip():
        raise InputError("What is to be bought has no name", instead="'main jet 118'")
    _count(count)
    if price is not None and not 0 <= price < 1e9:
        raise InputError("A price cannot be that", given=str(price), allowed="0 or more")
    detail = {"item": item.strip(), "count": count, "size": size, "unit": unit, "price": price,
              "why": why.strip()}  # fmt: skip
    return Work(TO_BUY, (), detail)


def arrived_entry(want: Want, count: int = 1, price: float | None = None) -> StockChanged:
    """The entry for something on the list that came; it goes into the drawer.

    Raises
    ------
    InputError
        A count below one or beyond reason, a negative price.
    """
    _count(count)
    known_by = "mark" if want.item == SHIM else ""
    return StockChanged(
        want.item, want.size, want.unit, count, price if price is not None else want.price,
        known_by, ARRIVED,
    )  # fmt: skip


def _count(count: int) -> None:
    if not 1 <= count <= MOST:
        raise InputError("So many cannot be bought", given=str(count), allowed=f"1 to {MOST}")


def _key(body: StockChanged) -> tuple[str, float | None, str]:
    return Want(body.item, body.size, body.unit, 1, None, "", "").key


def _price(want: Want, state: State) -> float | None:
    """What the drawer remembers to have cost."""
    rows = [r for r in state.stock(want.item) if r.price is not None]
    same = [r for r in rows if Want(r.item, r.size, r.unit, 1, None, "", "").key == want.key]
    return same[-1].price if same else None
