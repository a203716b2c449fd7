"""The [wheels], [gearing] and [speedometer] tables: from the crank to the road and the needle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.words import Count, Number, Text, Word
from tickover.errors import InputError
from tickover.quantities import parse_number

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

RULES = ("UN R39", "none")
_ROLLOUT = Size("The roll-out", "length", 0.8, 2.8, 2.0, natural="m")


@dataclass(frozen=True)
class Teeth(FieldReader):
    """A ratio: '58/28', driven teeth over driving teeth, or a number."""

    what: str

    def read(self, value: Any) -> float:
        if isinstance(value, str) and "/" in value:
            driven, _, driving = value.partition("/")
            below = float(parse_number(driving.strip(), self.what))
            if below <= 0.0:
                raise InputError(f"{self.what} has no driving teeth", given=value)
            ratio = float(parse_number(driven.strip(), self.what)) / below
        elif isinstance(value, str):
            ratio = float(parse_number(value, self.what))
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{self.what} should be a ratio", given=written(value),
                             instead='"58/28" or 2.071')  # fmt: skip
        else:
            ratio = float(value) if -1e6 < value < 1e6 else 1e6
        if not 0.3 <= ratio <= 8.0:
            raise InputError(f"{self.what} is no ratio a machine has", given=written(value),
                             allowed="0.3 to 8", instead='"58/28", driven over driving teeth'
                             )  # fmt: skip
        return ratio

    def schema(self) -> dict[str, Any]:
        teeth = {"type": "string", "pattern": r"^\s*[0-9.,]+(\s*/\s*[0-9.,]+)?\s*$"}
        return {"anyOf": [{"type": "number", "minimum": 0.3, "maximum": 8.0}, teeth]}


@dataclass(frozen=True)
class Gears(FieldReader):
    """The gears, first to top."""

    what: str

    def read(self, value: Any) -> tuple[float, ...]:
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= 8:
            raise InputError(f"{self.what} should be a list, first gear first",
                             given=written(value), allowed="1 to 8 gears",
                             instead='["38/14", "34/18"]')  # fmt: skip
        return tuple(Teeth(f"Gear {n}").read(each) for n, each in enumerate(value, 1))

    def write(self, value: Any) -> list[float]:
        return list(value)

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": Teeth(self.what).schema(), "minItems": 1, "maxItems": 8}


class Wheels(Table):
    """Tyres as fitted, and what a turn of them covers."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Rolling circumference of the wheels",)

    front: Annotated[str | None, Text("The front tyre", 40)] = Field(
        default=None, description="Size as on the sidewall: 90/90-19, 3.25-19, MH90-21."
    )
    rear: Annotated[str | None, Text("The rear tyre", 40)] = Field(
        default=None, description="The same."
    )
    front_rollout_m: Annotated[float | None, _ROLLOUT] = Field(
        default=None, alias="front_rollout", description="Way of one turn, measured, rider on."
    )
    rear_rollout_m: Annotated[float | None, _ROLLOUT] = Field(
        default=None, alias="rear_rollout", description="The same."
    )


class Gearing(Table):
    """From the crank to the rear wheel."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Road speed in each gear",)

    primary: Annotated[float, Teeth("The primary ratio")] = Field(
        default=1.0, description='"58/28", driven over driving teeth, or the ratio.'
    )
    gears: Annotated[tuple[float, ...], Gears("The gears")] = Field(
        default=(1.0,), description='First to top: ["38/14", "34/18", 1.0].'
    )
    gearbox_sprocket: Annotated[int | None, Count("The gearbox sprocket", 8, 80)] = Field(
        default=None, description="Teeth at the gearbox."
    )
    wheel_sprocket: Annotated[int | None, Count("The wheel sprocket", 8, 90)] = Field(
        default=None, description="Teeth at the rear wheel."
    )
    final: Annotated[float | None, Teeth("The final ratio")] = Field(
        default=None, description="Shaft or belt, in place of the two sprockets."
    )
    red_line_hz: Annotated[float | None, Size("The red line", "speed", 16.0, 300.0, 133.3)] = Field(
        default=None, alias="red_line", description="Highest crank speed."
    )

    @property
    def final_ratio(self) -> float | None:
        """Turns at the gearbox for one of the wheel; None where it is left out."""
        if self.gearbox_sprocket and self.wheel_sprocket:
            return self.wheel_sprocket / self.gearbox_sprocket
        return self.final

    def overall(self, gear: int) -> float | None:
        """Crank turns for one turn of the rear wheel in a gear, 1 for first."""
        final = self.final_ratio
        return None if final is None else self.primary * self.gears[gear - 1] * final

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Sprockets or teeth exchanged, gears out of order, two final drives."""
        small, large = self.gearbox_sprocket, self.wheel_sprocket
        if small and large and small > large:
            yield Clash(("gearing", "gearbox_sprocket"), InputError(
                "The sprockets look exchanged: the larger one sits at the wheel",
                given=f"{small} at the gearbox, {large} at the wheel",
                instead=f"gearbox_sprocket = {large}, wheel_sprocket = {small}"))  # fmt: skip
        if (small is None) != (large is None):
            yield Clash(("gearing",), InputError("One of the two sprockets is missing",
                        allowed="both, or final"))  # fmt: skip
        if small and self.final is not None:
            yield Clash(("gearing", "final"), InputError("The final drive is described twice",
                        allowed="the two sprockets, or final"))  # fmt: skip
        if any(b >= a for a, b in zip(self.gears, self.gears[1:], strict=False)):
            yield Clash(("gearing", "gears"), InputError(
                "The gears are not in order: each ratio is lower than the one before",
                given=", ".join(f"{g:.3g}" for g in self.gears)))  # fmt: skip
        if self.primary < 1.0:
            yield Clash(("gearing", "primary"), InputError(
                "The primary teeth look exchanged: the clutch turns slower than the crank",
                given=f"{self.primary:.3f}", instead=f"{1 / self.primary:.3f}"))  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without a final ratio no road speed follows."""
        if self.final_ratio is None:
            yield FallenAway("Road speed in each gear", "[gearing] gearbox_sprocket")


class Speedometer(Table):
    """What drives the needle, and what the dial is made for."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Speedometer against true speed",)

    kind: Annotated[str, Word("The speedometer", ("cable", "sensor"))] = Field(
        default="cable", description="cable, or sensor."
    )
    driven_by: Annotated[
        str, Word("What drives it", ("front wheel", "rear wheel", "gearbox sprocket"))
    ] = Field(default="front wheel", description="front wheel, rear wheel, or gearbox sprocket.")
    turns_each: Annotated[float | None, Number("The turns or pulses", 0.05, 200.0)] = Field(
        default=None, description="Cable turns or pulses for each turn of what drives it."
    )
    per_km: Annotated[float | None, Number("The dial's turns or pulses", 50.0, 100000.0)] = Field(
        default=None, description="Turns or pulses per km the dial is made or set for."
    )
    rule: Annotated[str, Word("The rule", RULES)] = Field(
        default="UN R39", description="UN R39 (its type-approval band), or none."
    )
