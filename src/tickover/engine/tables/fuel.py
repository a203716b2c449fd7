"""The [fuel] and [exhaust] tables: from the tank to the bowls, and what the engine breathes out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Limits, Size
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.lists import YesNo, several
from tickover.engine.words import Count, Text, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


class Bowl(Table):
    """The inside of one float bowl."""

    length_m: Annotated[float, Size("The bowl length", "length", 0.01, 0.2, 0.06)] = Field(
        alias="length", description="Inside, at half depth."
    )
    width_m: Annotated[float, Size("The bowl width", "length", 0.01, 0.2, 0.05)] = Field(
        alias="width", description="Inside, at half depth."
    )
    depth_m: Annotated[float, Size("The fuel depth", "length", 0.005, 0.1, 0.03)] = Field(
        alias="depth", description="From the bottom to the fuel level."
    )
    displaced_m3: Annotated[
        tuple[float, float] | None, Limits("What stands in the bowl", "volume", 0.0, 2e-4, 2e-5)
    ] = Field(
        default=None, alias="displaced", description="By float, jets and posts below the level."
    )


class Line(Table):
    """One fuel line."""

    bore_m: Annotated[float, Size("The bore of a fuel line", "length", 0.002, 0.02, 0.006)] = Field(
        alias="bore", description="Inside."
    )
    length_m: Annotated[float, Size("The length of a fuel line", "length", 0.01, 5.0, 0.4)] = Field(
        alias="length", description="From end to end."
    )


class Fuel(Table):
    """Tank, tap, lines and bowls."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Tank, tap, fuel lines and drips",
        "Float height, needle and seat",
        "Fuel needed to fill bowls, filter and lines",
    )

    tap: Annotated[
        str,
        Word("The fuel tap", ("manual", "vacuum", "electric", "none"),
             {"lever": "manual", "by hand": "manual", "solenoid": "electric"}),
    ] = Field(default="manual", description="manual, vacuum, electric, or none.")  # fmt: skip
    filter: Annotated[bool, YesNo("Whether there is a fuel filter")] = Field(
        default=True, description="false: there is no filter between tank and bowls."
    )
    carburettors: Annotated[int | None, Count("The carburettors", 1, 12)] = Field(
        default=None, description="How many; one for each cylinder if left out."
    )
    bowl_volume_m3: Annotated[
        tuple[float, float] | None, Limits("The bowl volume", "volume", 5e-6, 5e-4, 7e-5)
    ] = Field(default=None, alias="bowl_volume", description="Fuel in one bowl at its level.")
    bowl: Bowl | None = Field(
        default=None, description="Measured, where the volume of a bowl is not known."
    )
    filter_volume_m3: Annotated[
        tuple[float, float] | None, Limits("The filter volume", "volume", 1e-7, 5e-4, 4e-5)
    ] = Field(default=None, alias="filter_volume", description="Filter and tap, empty.")
    lines: Annotated[tuple[Line, ...], several("fuel.lines")] = Field(
        default=(), description="Bore and length of each line."
    )
    float_height_m: Annotated[
        tuple[float, float] | None, Limits("The float height", "length", 0.0, 0.08, 0.022)
    ] = Field(default=None, alias="float_height", description="As the book measures it.")
    leak_limit_m3_s: Annotated[
        float | None, Size("The leak past a needle", "flow", 0.0, 1e-6, 1e-9)
    ] = Field(default=None, alias="leak_limit", description="Most past one closed needle.")
    head_m: Annotated[float | None, Size("The fuel head", "length", 0.02, 2.0, 0.45)] = Field(
        default=None, alias="head", description="From the needle up to the highest fuel level."
    )
    flow_m3_s: Annotated[float | None, Size("The fuel flow", "flow", 1e-7, 1e-4, 4e-6)] = Field(
        default=None, alias="flow", description="Least through tap, filter and line."
    )
    full_load_hz: Annotated[
        float | None, Size("The full load speed", "speed", 16.0, 300.0, 133.3)
    ] = Field(
        default=None,
        alias="full_load_speed",
        description="Crank speed at which the most fuel is needed, where flow is not known.",
    )

    def carburettor_count(self, cylinders: int) -> int:
        """How many carburettors there are."""
        return self.carburettors or cylinders

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """A bowl is described once, and holds more than what stands in it."""
        if self.bowl is not None and self.bowl_volume_m3 is not None:
            yield Clash(
                ("fuel", "bowl"),
                InputError("The bowl is described twice",
                           allowed="bowl_volume, or bowl with its measures"),
            )  # fmt: skip
        if self.bowl is not None and self.bowl.displaced_m3 is not None:
            box = self.bowl.length_m * self.bowl.width_m * self.bowl.depth_m
            if self.bowl.displaced_m3[1] >= box:
                yield Clash(
                    ("fuel", "bowl"),
                    InputError("More stands in the bowl than it holds",
                               given=f"{self.bowl.displaced_m3[1] * 1e6:g} ml",
                               allowed=f"below {box * 1e6:.0f} ml"),
                )  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """What cannot be checked or worked out from what is here."""
        if self.bowl_volume_m3 is None and self.bowl is None:
            yield FallenAway("Fuel needed to fill the bowls", "[fuel] bowl_volume")
        if self.float_height_m is None:
            yield FallenAway("Float height", "[fuel] float_height")
        if self.flow_m3_s is None and self.full_load_hz is None:
            yield FallenAway("Fuel flow against what full load needs", "[fuel] flow")


class Exhaust(Table):
    """What the engine breathes out through."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Whether exhaust and silencers are as tuned for",)

    silencers: Annotated[
        str,
        Word("The silencers", ("standard", "baffled", "open"),
             {"original": "standard", "fitted": "standard", "none": "open", "straight": "open"}),
    ] = Field(
        default="standard",
        description="standard, baffled, or open: a condition of mixture and noise readings.",
    )  # fmt: skip
    note: Annotated[str | None, Text("The note on the exhaust", 200)] = Field(
        default=None, description="What else it is: holes, wadding, a hand-made pipe."
    )
