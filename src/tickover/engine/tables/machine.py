"""The [engine] table: layout, firing, bore and stroke."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from tickover.engine.crank import (
    Arrangement,
    Crank,
    default_banks,
    default_firing_angles,
    work_out,
)
from tickover.engine.fields import Angle, Angles, Size
from tickover.engine.table import FallenAway, Table
from tickover.engine.tables.banks import BankLists, PinOffset
from tickover.engine.words import Count, Counts, Text, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

MOST_CYLINDERS = 12
_FEWEST = {"single": 1, "inline": 2, "V": 2, "flat": 2}
_LAYOUTS = Word(
    "The layout",
    ("single", "inline", "V", "flat"),
    {"parallel": "inline", "parallel twin": "inline", "straight": "inline", "in line": "inline",
     "vee": "V", "v-twin": "V", "boxer": "flat", "opposed": "flat"},
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OnlyFor:
    """Stands beside a key that means something for some engines only."""

    layouts: tuple[str, ...] = ("single", "inline", "V", "flat")
    fewest: int = 1
    most: int = MOST_CYLINDERS

    def holds(self, layout: str, cylinders: int) -> bool:
        """Whether an engine of this layout and number of cylinders is one of them."""
        return layout in self.layouts and self.fewest <= cylinders <= self.most


_BANKED = OnlyFor(("V", "flat"))
_PARALLEL_TWIN = OnlyFor(("inline",), 2, 2)
_MORE_THAN_ONE = OnlyFor(fewest=2)


class Engine(Table):
    """The machine itself. Cylinders are numbered from 1; angles are crank degrees."""

    name: Annotated[str, Text("The name")] = Field(
        description="What this machine is called on every page and sheet."
    )
    layout: Annotated[Literal["single", "inline", "V", "flat"], _LAYOUTS] = Field(
        description="How the cylinders stand: single, inline, V or flat."
    )
    cylinders: Annotated[int, Count("The number of cylinders", 1, MOST_CYLINDERS)] = Field(
        default=0, validate_default=True, description="How many; may be left out for a single."
    )
    v_angle_deg: Annotated[float | None, Angle("The V angle", 10.0, 179.0)] = Field(
        default=None, alias="v_angle", description="V engines: angle between the banks."
    )
    banks: Annotated[tuple[tuple[int, ...], ...], BankLists(MOST_CYLINDERS)] = Field(
        default=(),
        validate_default=True,
        description="V and flat engines: which cylinders stand in which bank.",
    )
    pin_offset_deg: Annotated[float | None, PinOffset(), _BANKED] = Field(
        default=None,
        alias="crankpins",
        description='V and flat engines: "shared", or "offset 76 deg" for pins that far apart.',
    )
    twin_crank_deg: Annotated[float | None, Angle("The crank", 1.0, 360.0), _PARALLEL_TWIN] = Field(
        default=None, alias="crank", description="Parallel twins: 360, 180 or 270 degrees."
    )
    firing_order: Annotated[
        tuple[int, ...], Counts("The firing order", MOST_CYLINDERS), _MORE_THAN_ONE
    ] = Field(default=(), validate_default=True, description="Cylinders as they fire, from 1.")
    firing_angles_deg: Annotated[
        tuple[float, ...], Angles("The list of firing angles", MOST_CYLINDERS), _MORE_THAN_ONE
    ] = Field(
        default=(),
        validate_default=True,
        alias="firing_angles",
        description="Crank degrees along the firing order, from 0; evenly spaced if left out and "
        "if the crank allows it.",
    )
    rotation: Annotated[
        Literal["clockwise", "anticlockwise"] | None,
        Word("The rotation", ("clockwise", "anticlockwise"),
             {"counterclockwise": "anticlockwise", "anti-clockwise": "anticlockwise"}),
    ] = Field(default=None, description="Which way the crank turns forward.")  # fmt: skip
    rotation_seen_from: Annotated[
        Literal["left", "right", "front", "rear"] | None,
        Word("The side", ("left", "right", "front", "rear")),
    ] = Field(default=None, description="The side from which the rotation is told.")
    bore_m: Annotated[float | None, Size("The bore", "length", 0.020, 0.150, 0.065)] = Field(
        default=None, alias="bore", description="Cylinder bore."
    )
    stroke_m: Annotated[float | None, Size("The stroke", "length", 0.020, 0.150, 0.065)] = Field(
        default=None, alias="stroke", description="Full stroke of the piston."
    )
    rod_m: Annotated[float | None, Size("The rod", "length", 0.040, 0.400, 0.120)] = Field(
        default=None, alias="rod", description="Connecting rod, eye centre to eye centre."
    )
    compression_ratio: Annotated[
        float | None, Size("The compression ratio", "ratio", 4.0, 20.0, 9.5, bare="1")
    ] = Field(default=None, description="As in the book or as measured: 9.4.")
    notes: Annotated[str | None, Text("The notes", 2000, lines=True)] = Field(
        default=None, description="Anything worth knowing about this machine."
    )

    @field_validator("cylinders", mode="before")
    @classmethod
    def _count_or_single(cls, value: Any, info: ValidationInfo) -> Any:
        layout = info.data.get("layout")
        if value == 0 and value is not False and layout == "single":
            return 1
        if value == 0 and value is not False:
            raise InputError(
                "The number of cylinders must be given", allowed=f"1 to {MOST_CYLINDERS}"
            )
        return value

    @field_validator("cylinders")
    @classmethod
    def _fits_layout(cls, value: int, info: ValidationInfo) -> int:
        layout = info.data.get("layout")
        if layout == "single" and value != 1:
            raise InputError(
                "A single has one cylinder", given=str(value),
                instead='cylinders = 1, or layout = "inline", "V" or "flat"',
            )  # fmt: skip
        if layout and value < _FEWEST[layout]:
            raise InputError(
                f"An engine with layout {layout} has two cylinders or more", given=str(value),
                instead='layout = "single"',
            )  # fmt: skip
        return value

    @field_validator("v_angle_deg")
    @classmethod
    def _only_v(cls, value: float | None, info: ValidationInfo) -> float | None:
        layout = info.data.get("layout")
        if value is not None and layout not in ("V", None):
            raise InputError(
                "Only a V engine has an angle between its banks", given=f"{value:g} deg",
                instead=f'layout = "V", or leave v_angle out for layout "{layout}"',
            )  # fmt: skip
        return value

    @field_validator("banks")
    @classmethod
    def _every_cylinder_once(
        cls, value: tuple[tuple[int, ...], ...], info: ValidationInfo
    ) -> tuple[tuple[int, ...], ...]:
        layout, cylinders = info.data.get("layout"), info.data.get("cylinders")
        if layout is None or cylinders is None:
            return value
        if not value:
            return default_banks(layout, cylinders)
        if not _BANKED.holds(layout, cylinders):
            if value == default_banks(layout, cylinders):
                return value
            raise InputError(
                f"An engine with layout {layout} has one bank", given=_lists(value),
                instead='layout = "V" or "flat", or leave banks out',
            )  # fmt: skip
        if sorted(n for bank in value for n in bank) != list(range(1, cylinders + 1)):
            raise InputError(
                f"The banks must hold each cylinder from 1 to {cylinders} once",
                given=_lists(value), instead=f"{_lists(default_banks(layout, cylinders))}",
            )  # fmt: skip
        return value

    @field_validator("pin_offset_deg")
    @classmethod
    def _only_banked(cls, value: float | None, info: ValidationInfo) -> float | None:
        layout, cylinders = info.data.get("layout"), info.data.get("cylinders")
        if value is None or layout is None or cylinders is None:
            return value
        if not _BANKED.holds(layout, cylinders):
            raise InputError(
                "Crankpins are told for V and flat engines", given=f"offset {value:g} deg",
                instead='crank = "180 deg" for a parallel twin, or firing_angles',
            )  # fmt: skip
        return value

    @field_validator("twin_crank_deg")
    @classmethod
    def _only_parallel_twin(cls, value: float | None, info: ValidationInfo) -> float | None:
        layout, cylinders = info.data.get("layout"), info.data.get("cylinders")
        if value is None or layout is None or cylinders is None:
            return value
        if not _PARALLEL_TWIN.holds(layout, cylinders):
            raise InputError(
                "The crank angle is told for parallel twins", given=f"{value:g} deg",
                instead="firing_angles, or crankpins for a V or flat engine",
            )  # fmt: skip
        return value

    @field_validator("firing_order")
    @classmethod
    def _permutation(cls, value: tuple[int, ...], info: ValidationInfo) -> tuple[int, ...]:
        cylinders = info.data.get("cylinders")
        if cylinders is None:
            return value
        if not value:
            # One or two cylinders leave no choice; more do, and a guess would mislead.
            return tuple(range(1, cylinders + 1)) if cylinders <= 2 else ()
        if sorted(value) != list(range(1, cylinders + 1)):
            absent = [n for n in range(1, cylinders + 1) if n not in value]
            doubled = sorted({n for n in value if value.count(n) > 1})
            why = "; ".join(
                words
                for words in (
                    f"{_and(absent)} missing" if absent else "",
                    f"{_and(doubled)} more than once" if doubled else "",
                )
                if words
            )
            raise InputError(
                "The firing order must name every cylinder once", given=_list(value),
                allowed=f"the numbers 1 to {cylinders}, each once" + (f" ({why})" if why else ""),
            )  # fmt: skip
        if value[0] != 1:
            start = value.index(1)
            raise InputError(
                "The firing order is told from cylinder 1", given=_list(value),
                instead=_list(value[start:] + value[:start]),
            )  # fmt: skip
        return value

    @field_validator("firing_angles_deg")
    @classmethod
    def _possible(cls, value: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        arrangement = _arrangement(info.data)
        order = info.data.get("firing_order")
        if arrangement is None or order is None:
            return value
        if not value:
            return default_firing_angles(arrangement, order)
        shown = _list(value)
        if not order:
            raise InputError("Firing angles need the firing order beside them", given=shown,
                             instead="firing_order = [1, 3, 2] (for example)")  # fmt: skip
        if len(value) != arrangement.cylinders:
            raise InputError(
                "There must be one firing angle for each cylinder", given=shown,
                allowed=f"{arrangement.cylinders} angles, along the firing order",
            )  # fmt: skip
        if value[0] != 0:
            raise InputError("Firing angles begin with 0, cylinder 1", given=shown)
        if any(later <= earlier for earlier, later in pairwise(value)):
            rising = _list(sorted(set(value)))
            raise InputError(
                "Firing angles must rise along the firing order", given=shown,
                allowed="0 to under 720, each above the one before", instead=rising,
            )  # fmt: skip
        work_out(arrangement, order, value)
        return value

    @field_validator("rod_m")
    @classmethod
    def _longer_than_throw(cls, value: float | None, info: ValidationInfo) -> float | None:
        stroke = info.data.get("stroke_m")
        if value is None or stroke is None:
            return value
        shown = f"{value * 1000:g} mm"
        usual = (
            f"{stroke * 1000:g} mm stroke: usually {1600 * stroke:.0f} to {2300 * stroke:.0f} mm"
        )
        if value <= stroke / 2:
            raise InputError(
                "The rod is shorter than half the stroke, so the crank could not turn",
                given=shown, allowed=f"more than {stroke * 500:g} mm; with a {usual}",
            )  # fmt: skip
        if value > 5 * stroke:
            raise InputError(
                "The rod is more than five times the stroke", given=shown,
                allowed=f"with a {usual}",
            )  # fmt: skip
        return value

    @cached_property
    def arrangement(self) -> Arrangement:
        """What of this engine fixes its crank."""
        return Arrangement(
            self.layout, self.cylinders, self.banks, self.v_angle_deg, self.pin_offset_deg,
            self.twin_crank_deg,
        )  # fmt: skip

    @cached_property
    def crank(self) -> Crank | None:
        """The crank worked out from the firing angles; None where they are not known."""
        if not self.firing_order or not self.firing_angles_deg:
            return None
        return work_out(self.arrangement, self.firing_order, self.firing_angles_deg)

    def bank_of(self, cylinder: int) -> int:
        """The bank a cylinder stands in, counted from 1."""
        return next(i for i, bank in enumerate(self.banks, 1) if cylinder in bank)

    @property
    def swept_m3(self) -> float | None:
        """Swept volume of one cylinder [m3]; None where bore or stroke is left out."""
        if self.bore_m is None or self.stroke_m is None:
            return None
        return math.pi / 4 * self.bore_m**2 * self.stroke_m

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """The checks that need a firing order, a bore, a rod or a ratio."""
        if not self.firing_order:
            yield FallenAway("Order of work on few crank stops", "engine.firing_order")
            yield FallenAway("Plug leads against the firing order", "engine.firing_order")
        elif not self.firing_angles_deg:
            key = "v_angle" if self.layout == "V" and self.v_angle_deg is None else "firing_angles"
            yield FallenAway("Order of work on few crank stops", f"engine.{key}")
        for key, value in (("bore", self.bore_m), ("stroke", self.stroke_m)):
            if value is None:
                yield FallenAway("Swept volume and expected compression", f"engine.{key}")
        if self.rod_m is None:
            yield FallenAway("Piston position against crank angle", "engine.rod")
        if self.compression_ratio is None:
            yield FallenAway("Expected compression reading", "engine.compression_ratio")
        if self.rotation is None:
            yield FallenAway("Which way to turn the crank, in words", "engine.rotation")


def _arrangement(data: dict[str, Any]) -> Arrangement | None:
    names = ("layout", "cylinders", "banks", "v_angle_deg", "pin_offset_deg", "twin_crank_deg")
    if any(name not in data for name in names):
        return None
    return Arrangement(*(data[name] for name in names))


def _list(values: Any) -> str:
    return "[" + ", ".join(f"{value:g}" for value in values) + "]"


def _lists(values: Any) -> str:
    return "[" + ", ".join(_list(value) for value in values) + "]"


def _and(numbers: list[int]) -> str:
    words = [str(number) for number in numbers]
    if len(words) == 1:
        return words[0] + " is"
    return ", ".join(words[:-1]) + f" and {words[-1]} are"
