"""Shims in the engine, shims in the drawer."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.wording import money, place_words
from tickover.quantities import show
from tickover.tasks.valves.in_book import ValveBook


@dataclass(frozen=True, slots=True)
class FittedLine:
    """The shim at one valve; `size` is empty when not known."""

    place: str
    name: str
    size: str
    known_by: str


@dataclass(frozen=True, slots=True)
class DrawerLine:
    """One size in the drawer."""

    size: str
    size_m: float
    count: int
    price: str


@dataclass(frozen=True, slots=True)
class DrawerPage:
    """Everything the drawer page shows."""

    head: Head
    unit: str
    uses_shims: bool
    fitted: tuple[FittedLine, ...]
    drawer: tuple[DrawerLine, ...]
    sizes: str


def drawer_page(engine: EngineFile, known: ValveBook, head: Head) -> DrawerPage:
    """The page from what the book knows."""
    unit = engine.show.unit("shim")
    fitted = tuple(
        FittedLine(
            place.name,
            place_words(place.name).capitalize(),
            show(known.shims[place.name].size_m, unit, "shim") if place.name in known.shims else "",
            known.shims[place.name].known_by if place.name in known.shims else "",
        )
        for place in engine.places()
    )
    rows: dict[int, DrawerLine] = {}
    for shim in known.drawer:
        key = round(shim.size_m * 1e9)
        before = rows[key].count if key in rows else 0
        price = money(shim.price) if shim.price is not None else ""
        rows[key] = DrawerLine(
            show(shim.size_m, unit, "shim"), shim.size_m, before + shim.count,
            price or (rows[key].price if key in rows else ""),
        )  # fmt: skip
    sizes = ""
    if engine.shims is not None and engine.shims.sizes_m:
        low, high = min(engine.shims.sizes_m), max(engine.shims.sizes_m)
        sizes = f"{show(low, unit, 'shim', with_unit=False)} to {show(high, unit, 'shim')}"
    return DrawerPage(
        head=head,
        unit=unit,
        uses_shims=engine.shims is not None,
        fitted=fitted,
        drawer=tuple(rows[key] for key in sorted(rows)),
        sizes=sizes,
    )
