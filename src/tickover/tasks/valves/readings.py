"""What was measured at the valves: clearances as intervals, shims, and the drawer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import parse, parse_range, show, whole_number
from tickover.tasks.valves.assumptions import USUAL, Assumptions
from tickover.tasks.valves.blades import owned_blades

KNOWN_BY = ("micrometer", "mark", "")
_LARGEST_M = 3e-3
_SMALLEST_M = 8e-6


@dataclass(frozen=True, slots=True)
class ClearanceReading:
    """One clearance as the blades told it: thickest that goes, thinnest that does not.

    `go_m` None: nothing goes, down to `no_go_m`. `no_go_m` None: no thicker blade was tried.
    """

    place: str
    go_m: float | None
    no_go_m: float | None
    typed: str = ""
    unit: str = "mm"
    warm: bool | None = None
    entry: str = ""
    distance_m: float | None = None
    """How far the engine had run when it was read [m]."""

    @property
    def bound_only(self) -> bool:
        """Whether the reading is open at one end."""
        return self.go_m is None or self.no_go_m is None


@dataclass(frozen=True, slots=True)
class FittedShim:
    """The shim at a valve, and how its size is known ('micrometer', 'mark' or '')."""

    place: str
    size_m: float
    known_by: str = ""


@dataclass(frozen=True, slots=True)
class DrawerShim:
    """A size that lies in the drawer (count) or can be bought (price), or both."""

    size_m: float
    count: int
    price: float | None = None
    known_by: str = "mark"


def _length(text: str, unit: str, what: str, place: str) -> tuple[float, str]:
    typed = parse(text, "clearance", unit, what)
    value = typed.value_si
    if value < 0:
        raise InputError(
            f"{what} at {place} cannot be negative", given=text,
            allowed="zero and above; a valve with no gap has no blade that goes",
            instead="nothing for 'goes' and your thinnest blade for 'does not go'",
        )  # fmt: skip
    if value > _LARGEST_M or 0 < value < _SMALLEST_M:
        other = "thou" if typed.unit != "thou" else "mm"
        raise InputError(
            f"{what} at {place} of {show(value, 'mm', 'clearance')} is not a valve clearance",
            given=text, allowed="0.01 to 3 mm",
            instead=f"the unit behind the number, perhaps '{text.split()[0]} {other}'",
        )  # fmt: skip
    return value, typed.unit


def clearance_reading(
    engine: EngineFile,
    place: str,
    go: str = "",
    no_go: str = "",
    value: str = "",
    unit: str = "",
    warm: bool | None = None,
    entry: str = "",
    assumptions: Assumptions = USUAL,
) -> ClearanceReading:
    """A clearance reading from typed text.

    Parameters
    ----------
    engine : EngineFile
    place : str
        'in1', 'ex3', 'in1a' ...
    go, no_go : str
        Thickest blade that goes, thinnest that does not. Empty `go` with a `no_go`: no gap.
    value : str
        A single value, or a range such as '6-7 thou', instead of the two blades.
    unit : str
        For numbers typed without one; the build's own when left out.

    Raises
    ------
    InputError
        Unknown place, letters for a number, negative blade, go not below no-go, nothing given.
    """
    name = engine.place(place).name
    unit = unit or engine.show.unit("clearance")
    if value.strip():
        if go.strip() or no_go.strip():
            raise InputError(
                f"Two ways of reading {name} at once", given=f"{go} {no_go} {value}",
                allowed="either the two blades or a single value",
            )  # fmt: skip
        return _single(engine, name, value, unit, warm, entry, assumptions)
    if not go.strip() and not no_go.strip():
        raise InputError(
            f"Nothing was read at {name}", allowed="the blade that goes, the blade that does not",
            instead="'0.10' and '0.13', or only the thinnest blade under 'does not go' for no gap",
        )  # fmt: skip
    low = _length(go, unit, "The blade that goes", name) if go.strip() else None
    high = _length(no_go, unit, "The blade that does not go", name) if no_go.strip() else None
    if low and high and low[0] >= high[0]:
        raise InputError(
            f"At {name} the blade that goes is not thinner than the one that does not",
            given=f"{go} goes, {no_go} does not", allowed="goes below does not go",
            instead=f"'{no_go}' and '{go}'" if low[0] > high[0] else "two different blades",
        )  # fmt: skip
    used = (high or low or (0.0, unit))[1]
    typed = f"{go.strip() or '-'} / {no_go.strip() or '-'}"
    return ClearanceReading(
        name, low[0] if low else None, high[0] if high else None, typed, used, warm, entry
    )


def _single(
    engine: EngineFile,
    place: str,
    text: str,
    unit: str,
    warm: bool | None,
    entry: str,
    assumptions: Assumptions,
) -> ClearanceReading:
    typed = parse_range(text, "clearance", unit, "The clearance")
    _length(f"{float(typed.high) * 1e3:.6f} mm", "mm", "The clearance", place)
    low, high = typed.low_si, typed.high_si
    if low < 0:
        raise InputError(
            f"The clearance at {place} cannot be negative", given=text,
            instead="nothing for 'goes' and your thinnest blade for 'does not go'",
        )  # fmt: skip
    if low == high:
        # A blade that "fits" lies half a step from its neighbours on both sides.
        half = assumptions.half_step_m if typed.unit != "thou" else 12.7e-6
        blades = owned_blades(engine)
        thinner = max((blade for blade in blades if blade < low - 1e-9), default=None)
        thicker = min((blade for blade in blades if blade > low + 1e-9), default=None)
        below = (low - thinner) / 2 if thinner is not None else half
        above = (thicker - low) / 2 if thicker is not None else half
        low, high = max(0.0, low - below), high + above
    return ClearanceReading(place, low, high, text.strip(), typed.unit, warm, entry)


def fitted_shim(engine: EngineFile, place: str, size: str, unit: str, known_by: str) -> FittedShim:
    """The shim at a valve from typed text, held against the sizes of the engine file.

    Raises
    ------
    InputError
        If the size lies outside the engine's sizes, or a mark names none of them.
    """
    name = engine.place(place).name
    known = known_by.strip().lower()
    if known not in KNOWN_BY:
        raise InputError(
            f"How the shim at {name} is known is not a word we use", given=known_by,
            allowed="micrometer, mark or nothing",
        )  # fmt: skip
    value = parse(size, "shim", unit or engine.show.unit("shim"), f"The shim at {name}").value_si
    check_size(engine, value, size, known, f"The shim at {name}")
    return FittedShim(name, value, known)


def check_size(engine: EngineFile, size_m: float, typed: str, known_by: str, what: str) -> None:
    """Refuse a shim size the engine cannot have."""
    sizes = engine.shims.sizes_m if engine.shims else ()
    if not sizes:
        if not 0.3e-3 <= size_m <= 8e-3:
            raise InputError(f"{what} is not a shim size", given=typed, allowed="0.3 to 8 mm")
        return
    low, high = min(sizes), max(sizes)
    span = f"{show(low, 'mm', 'shim')} to {show(high, 'mm', 'shim')}"
    if not low - 60e-6 <= size_m <= high + 60e-6:
        raise InputError(f"{what} is outside the sizes of the engine file", given=typed,
                         allowed=span)  # fmt: skip
    if known_by == "mark" and min(abs(size_m - size) for size in sizes) > 1e-6:
        nearest = min(sizes, key=lambda size: abs(size_m - size))
        raise InputError(
            f"{what} carries a mark that is no size of the engine file", given=typed,
            allowed=span, instead=f"'{show(nearest, 'mm', 'shim')}', or 'micrometer' if measured",
        )  # fmt: skip


def drawer_shim(
    engine: EngineFile, size: str, unit: str, count: str, price: str, known_by: str = "mark"
) -> DrawerShim:
    """A line of the drawer from typed text: size, count in the drawer, price of one more."""
    value = parse(size, "shim", unit or engine.show.unit("shim"), "A shim in the drawer").value_si
    check_size(engine, value, size, known_by, "A shim in the drawer")
    number = whole_number(count.strip() or "0")
    if number is None or number > 9999:
        raise InputError("A count of shims must be a whole number", given=count,
                         allowed="0 to 9999")  # fmt: skip
    cost: float | None = None
    if price.strip():
        from tickover.quantities import parse_number

        cost = float(parse_number(price, "A price"))
        if not 0 <= cost <= 1e6:
            raise InputError("A price cannot be that", given=price, allowed="0 to 1000000")
    return DrawerShim(value, number, cost, known_by)


def refuse_doubles(readings: Mapping[str, ClearanceReading], place: str, where: str) -> None:
    """Two readings for one valve are a mistake only the person can settle."""
    if place in readings:
        raise InputError(
            f"There are two readings for {place}", given=f"{readings[place].typed} and another",
            allowed="one reading for each valve", where=where,
        )  # fmt: skip
