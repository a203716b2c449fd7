"""[wiring], [[circuits]], [[loads]]: what the loom feeds, and what it is made of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.colours import Colour
from tickover.engine.tables.lists import YesNo
from tickover.engine.words import Number, Text, Word
from tickover.errors import InputError, UnitError
from tickover.quantities import parse

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

LOADS = ("lamp", "coil", "igniter", "horn", "gauge", "motor", "relay", "socket", "charging",
         "other")  # fmt: skip
BUNDLING = ("full", "by count")
FRAME = "frame"
"""The way back through metal, without a wire of its own beyond a short lug."""


@dataclass(frozen=True)
class Draw(Size):
    """A current or a power; the other of the two is refused with what to write."""

    def read(self, value: Any) -> float:
        try:
            return super().read(value)
        except UnitError:
            other, key = ("power", "rated") if self.kind == "current" else ("current", "real")
            try:
                parse(self.text(value), other, None, self.what)
            except InputError:
                pass  # neither of the two: the first reason stands
            else:
                here = "amperes" if self.kind == "current" else "watts"
                there = "watts" if self.kind == "current" else "amperes"
                raise InputError(
                    f"{self.what} is in {here}, and this is in {there}", given=written(value),
                    instead=f'{key} = "{value}", or this in {here}: watts = volts x amperes',
                ) from None  # fmt: skip
            raise


@dataclass(frozen=True)
class Chain(FieldReader):
    """Names in the order the current passes them."""

    what: str
    most: int = 12

    def read(self, value: Any) -> tuple[str, ...]:
        names = [value] if isinstance(value, str) else value
        if not isinstance(names, list | tuple) or len(names) > self.most:
            raise InputError(f"{self.what} should be a list of names", given=written(value),
                             allowed=f"up to {self.most}",
                             instead='["ignition switch", "light switch"]')  # fmt: skip
        kept = tuple(Text(f"A name in {self.what[0].lower()}{self.what[1:]}", 40).read(each)
                     for each in names)  # fmt: skip
        if len({name.casefold() for name in kept}) < len(kept):
            raise InputError(f"{self.what} passes one thing twice", given=", ".join(kept))
        return kept

    def write(self, value: Any) -> list[str]:
        return list(value)

    def schema(self) -> dict[str, Any]:
        word = {"type": "string", "minLength": 1, "maxLength": 40}
        return {"anyOf": [word, {"type": "array", "items": word, "maxItems": self.most}]}


_DROP = Size("The drop allowed", "voltage", 0.02, 3.0, 0.5)


class Wiring(Table):
    """What the loom is made of, and what it hangs on."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Wire sizes, fuses and the loom",)

    battery: Annotated[str, Text("Where the battery is", 40)] = Field(
        default="battery", description="The point of the loom where battery plus is."
    )
    fuses: Annotated[str, Text("Where the fuses are", 40)] = Field(
        default="fuse box", description="The point where the circuits' fuses are."
    )
    main_fuse_a: Annotated[float | None, Draw("The main fuse", "current", 1.0, 100.0, 30.0)] = (
        Field(default=None, alias="main_fuse", description="At the battery, before everything.")
    )
    earth: Annotated[tuple[str, ...], Chain("The way back")] = Field(
        default=("battery",),
        description='Names passed on the way back, from the load: ["rear earth", "battery"].',
    )
    earth_colour: Annotated[str, Colour("The earth colour")] = Field(
        default="BK", description="IEC 60757 code of the wires back."
    )
    standard: Annotated[
        str, Word("The standard of the wire", ("metric", "AWG"), {"iec 60228": "metric"})
    ] = Field(default="metric", description="metric (IEC 60228 class 5), or AWG.")
    insulation: Annotated[float, Number("The insulation", 105.0, 200.0)] = Field(
        default=105.0, description="What it bears, 105, 150 or 200, in C."
    )
    insulation_wall_m: Annotated[
        float, Size("The wall", "length", 0.0001, 0.002, 0.0004)
    ] = Field(default=0.0004, alias="insulation_wall", description="Of the insulation; for the "
              "thickness of bundles.")  # fmt: skip
    around_k: Annotated[
        float, Size("The temperature round the loom", "temperature", 273.15, 460.0, 323.15)
    ] = Field(default=323.15, alias="around", description="Hottest place it passes: 50 C.")
    bundling: Annotated[str, Word("The bundling", BUNDLING)] = Field(
        default="full",
        description="full (as in the table), or by count (factors of one secondary text).",
    )
    drop_v: Annotated[float | None, _DROP] = Field(
        default=None,
        alias="drop",
        description="Volts that may be lost out and back; 0.5 V for 12 V if left out.",
    )
    least_size: Annotated[str | None, Text("The least size", 12)] = Field(
        default=None, description="Thinner is never fitted: 0.5, or 20 (AWG)."
    )
    slack_m: Annotated[float, Size("The slack", "length", 0.0, 0.5, 0.06)] = Field(
        default=0.06, alias="slack", description="Left over at each end of a wire."
    )
    waste: Annotated[float, Size("The waste", "percent", 0.0, 1.0, 0.1)] = Field(
        default=0.1, description="Bought beyond the lengths cut: 10 %."
    )
    terminal: Annotated[str, Text("The terminal", 40)] = Field(
        default="6.3 mm receptacle", description="On a wire's end where nothing else is said."
    )
    generator_idle_a: Annotated[
        float | None, Draw("The generator at idle", "current", 0.0, 100.0, 6.0)
    ] = Field(
        default=None,
        alias="generator_idle",
        description="What it gives at idle, measured; else [charging] output.",
    )
    generator_road_a: Annotated[
        float | None, Draw("The generator on the road", "current", 0.0, 100.0, 18.0)
    ] = Field(default=None, alias="generator_road", description="The same at road speed.")
    reserve: Annotated[float, Size("The usable charge", "percent", 0.05, 1.0, 0.5)] = Field(
        default=0.5, description="Of the battery at a standstill, to start again: 50 %."
    )

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """An insulation of the table; a temperature it bears."""
        if self.insulation not in (105.0, 150.0, 200.0):
            yield Clash(("wiring", "insulation"), InputError(
                "The table of currents has no such insulation", given=f"{self.insulation:g}",
                allowed="105, 150 or 200"))  # fmt: skip
        if self.around_k - 273.15 > self.insulation - 5.0:
            yield Clash(("wiring", "around"), InputError(
                "It is too hot there for this insulation", given=f"{self.around_k - 273.15:g} C",
                allowed=f"up to {self.insulation - 5.0:g} C, or insulation that bears more"),
            )  # fmt: skip
        low, high = self.generator_idle_a, self.generator_road_a
        if low is not None and high is not None and low > high:
            yield Clash(("wiring", "generator_idle"), InputError(
                "The generator gives more at idle than on the road",
                given=f"{low:g} A, {high:g} A", instead="the two exchanged"))  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without outputs and capacity no balance follows."""
        told = whole.charging is not None and bool(whole.charging.output)
        if not told and (self.generator_idle_a is None or self.generator_road_a is None):
            yield FallenAway("Loads against the charging output", "[wiring] generator_idle")
        if whole.battery is None or whole.battery.capacity_ah is None:
            yield FallenAway("Battery reserve at a standstill", "[battery] capacity")


class Circuit(Table):
    """What one fuse protects."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a circuit", 40)] = Field(
        description="What it is called: lights."
    )
    colour: Annotated[str, Colour("The main colour")] = Field(
        description="IEC 60757 code of its wires: RD, YE ..."
    )
    tracer: Annotated[str | None, Colour("The tracer")] = Field(
        default=None, description="Second colour, in a field of its own."
    )
    fed_through: Annotated[tuple[str, ...], Chain("What feeds the fuse")] = Field(
        default=(), description='From the battery to its fuse: ["ignition switch"].'
    )
    fuse_a: Annotated[float | None, Draw("The fuse", "current", 0.5, 100.0, 10.0)] = Field(
        default=None, alias="fuse", description="As fitted; chosen if left out."
    )
    drop_v: Annotated[float | None, _DROP] = Field(
        default=None, alias="drop", description="Allowed out and back, if not that of [wiring]."
    )
    size: Annotated[str | None, Text("The size", 12)] = Field(
        default=None, description="Of all its wires, where it is lying already: 1.5."
    )
    engine_off: Annotated[bool, YesNo("Whether it must work with the engine off")] = Field(
        default=False, description="true: it must work with the engine off."
    )


class Load(Table):
    """One thing that takes current."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a load", 40)] = Field(
        description="What it is called: tail lamp."
    )
    kind: Annotated[str, Word("The kind of load", LOADS)] = Field(
        default="other", description=", ".join(LOADS) + "."
    )
    circuit: Annotated[str, Text("The circuit", 40)] = Field(
        default="", description="Of [[circuits]], by name."
    )
    at: Annotated[str, Text("Where it is", 40)] = Field(description="The point of the loom.")
    rated_w: Annotated[float | None, Draw("The rated power", "power", 0.01, 1000.0, 21.0)] = Field(
        default=None, alias="rated", description="As stamped, in W."
    )
    real_a: Annotated[float | None, Draw("The real current", "current", 0.001, 100.0, 1.8)] = Field(
        default=None, alias="real", description="As measured, in A; it goes before the rated power."
    )
    volts_v: Annotated[
        float | None, Size("The voltage stamped on it", "voltage", 1.0, 60.0, 12.0)
    ] = Field(default=None, alias="volts", description="Stamped on it, where it is.")
    lower_w: Annotated[float | None, Draw("The lower power", "power", 0.01, 1000.0, 2.0)] = Field(
        default=None, alias="lower", description="Of the lamp that may replace it, in W."
    )
    feed: Annotated[tuple[str, ...], Chain("The way there")] = Field(
        default=(), description='Switches and joints from its fuse: ["light switch"].'
    )
    earth: Annotated[tuple[str, ...] | None, Chain("The way back")] = Field(
        default=None, description='From the load back; ["frame"] for metal; else [wiring] earth.'
    )
    choice: Annotated[str | None, Text("The choice", 40)] = Field(
        default=None, description="headlamp/high and headlamp/low are never on together."
    )
    duty: Annotated[float, Size("The share of time", "percent", 0.0, 1.0, 0.5)] = Field(
        default=1.0, description="Of a ride that it is on: 10 %."
    )
    engine_off: Annotated[bool, YesNo("Whether it must work with the engine off")] = Field(
        default=False, description="true: it is on while the engine stands."
    )
    terminal: Annotated[str | None, Text("The terminal", 40)] = Field(
        default=None, description="On the wires that end at it."
    )
