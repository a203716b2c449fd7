"""The [oil] table: how much of what oil, its pump, its pressure and its switch."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import Angle, FieldReader, Limits, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.lists import YesNo
from tickover.engine.words import Count, Number, Text, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

_GRADE = re.compile(r"(?:SAE)?\s*(?:(\d{1,2})\s*W\s*[-/ ]?\s*)?(\d{1,2})", re.IGNORECASE)
_WINTER = (0, 5, 10, 15, 20, 25)
_SUMMER = (8, 12, 16, 20, 30, 40, 50, 60)

PUMPS = {
    "gears": ("tip_diameter", "centre_distance", "width", "teeth"),
    "rotors": ("tip_diameter", "root_diameter", "width", "lobes"),
    "plungers": ("bore", "stroke"),
}
"""Kinds of pump, and what each needs for its displacement to follow."""


@dataclass(frozen=True)
class OilGrade(FieldReader):
    """An SAE grade with a hot number: '10W-40', '20w50', '40'."""

    def read(self, value: Any) -> str:
        text = written(value)
        match = _GRADE.fullmatch(text.strip()) if isinstance(value, str) else None
        winter = int(match[1]) if match and match[1] else None
        summer = int(match[2]) if match else -1
        if summer not in _SUMMER or (winter is not None and winter not in _WINTER):
            raise InputError(
                "This is no grade of engine oil with a hot number", given=text,
                allowed="0W to 25W and 8 to 60, or the hot number alone", instead='"20W-50"',
            )  # fmt: skip
        return f"{summer}" if winter is None else f"{winter}W-{summer}"

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "examples": ["20W-50", "40"], "minLength": 1}


def _size(what: str, low: float, high: float, typical: float) -> Size:
    return Size(what, "length", low, high, typical)


class Pump(Table):
    """What was measured on an oil pump."""

    kind: Annotated[str, Word("The kind of pump", tuple(PUMPS),
                              {"gear": "gears", "rotor": "rotors", "trochoid": "rotors",
                               "plunger": "plungers"})] = Field(
        description="gears (two spur gears), rotors (inner and outer), plungers."
    )  # fmt: skip
    tip_diameter_m: Annotated[float | None, _size("The tip diameter", 0.005, 0.1, 0.032)] = Field(
        default=None, alias="tip_diameter", description="Over the teeth, or inner rotor over tips."
    )
    root_diameter_m: Annotated[float | None, _size("The root diameter", 0.003, 0.1, 0.020)] = Field(
        default=None, alias="root_diameter", description="Inner rotor between two lobes."
    )
    centre_distance_m: Annotated[float | None, _size("The centre distance", 0.004, 0.1, 0.0267)] = (
        Field(default=None, alias="centre_distance", description="Gears: between the shafts.")
    )
    width_m: Annotated[float | None, _size("The width", 0.001, 0.06, 0.010)] = Field(
        default=None, alias="width", description="Of the gears or rotors."
    )
    teeth: Annotated[int | None, Count("The teeth", 5, 40)] = Field(
        default=None, description="On one gear."
    )
    lobes: Annotated[int | None, Count("The lobes", 3, 12)] = Field(
        default=None, description="On the inner rotor."
    )
    pressure_angle_deg: Annotated[float, Angle("The pressure angle", 10.0, 35.0)] = Field(
        default=20.0, alias="pressure_angle", description="Gears: of the teeth."
    )
    bore_m: Annotated[float | None, _size("The plunger bore", 0.002, 0.03, 0.008)] = Field(
        default=None, alias="bore", description="Of one plunger."
    )
    stroke_m: Annotated[float | None, _size("The plunger stroke", 0.001, 0.05, 0.010)] = Field(
        default=None, alias="stroke", description="Of one plunger."
    )
    plungers: Annotated[int, Count("The plungers", 1, 4)] = Field(
        default=1, description="That deliver to the pressure side."
    )

    def missing(self) -> tuple[str, ...]:
        """Keys without which this pump has no displacement."""
        have = {"teeth": self.teeth, "lobes": self.lobes}
        return tuple(
            key
            for key in PUMPS[self.kind]
            if (have[key] if key in have else getattr(self, f"{key}_m")) is None
        )


class Oil(Table):
    """The oil, the pump and what reports on them."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Oil quantity, filter and priming",
        "Oil flow while cranking",
        "Oil pressure and oil switch",
    )

    quantity_m3: Annotated[
        tuple[float, float] | None,
        Limits("The oil quantity", "volume", 1e-4, 0.02, 2.8e-3, natural="l"),
    ] = Field(default=None, alias="quantity", description="What goes in after a rebuild.")
    grade: Annotated[str | None, OilGrade()] = Field(
        default=None, description="SAE grade with its hot number: 20W-50."
    )
    viscosity_40_m2_s: Annotated[
        float | None, Size("The viscosity at 40 C", "viscosity", 5e-6, 1e-3, 1.6e-4)
    ] = Field(
        default=None,
        alias="viscosity_at_40",
        description="Kinematic, from the oil's data sheet; far narrower than the grade.",
    )
    viscosity_100_m2_s: Annotated[
        float | None, Size("The viscosity at 100 C", "viscosity", 2e-6, 5e-5, 1.8e-5)
    ] = Field(default=None, alias="viscosity_at_100", description="Kinematic, data sheet.")
    filter: Annotated[bool, YesNo("Whether there is an oil filter")] = Field(
        default=True, description="false: there is no filter to change or clean."
    )
    pump_turn_m3: Annotated[
        float | None,
        Size("The pump displacement", "volume", 5e-8, 1e-4, 4.5e-6, natural="cc"),
    ] = Field(default=None, alias="pump_displacement", description="For each turn of the pump.")
    pump: Pump | None = Field(
        default=None, description="Measured on the pump, where its displacement is not known."
    )
    drive_ratio: Annotated[float | None, Number("The drive ratio", 0.01, 5.0)] = Field(
        default=None, description="Turns of the pump for each turn of the crank."
    )
    flow_line: Annotated[str | None, Text("The line for the flow check", 80)] = Field(
        default=None, description="What is taken off to watch the oil: oil line at the head."
    )
    prime_volume_m3: Annotated[
        tuple[float, float] | None,
        Limits("The volume to prime", "volume", 1e-6, 5e-3, 3e-4),
    ] = Field(
        default=None,
        alias="prime_volume",
        description="Empty passages, filter and cooler together, before oil arrives.",
    )
    pressure_pa: Annotated[
        tuple[float, float] | None,
        Limits("The oil pressure", "pressure", 5e3, 2e6, 3.5e5, natural="bar"),
    ] = Field(default=None, alias="pressure", description="From the book, at the speed below.")
    pressure_at_hz: Annotated[
        float | None, Size("The speed of the oil pressure", "speed", 3.0, 250.0, 66.7)
    ] = Field(default=None, alias="pressure_at_speed", description="Crank speed it is told for.")
    pressure_at_k: Annotated[
        float | None,
        Size("The temperature of the oil pressure", "temperature", 273.15, 423.0, 363.15),
    ] = Field(default=None, alias="pressure_at_oil", description="Oil temperature it is told for.")
    relief_pa: Annotated[
        tuple[float, float] | None,
        Limits("The relief pressure", "pressure", 2e4, 3e6, 5.5e5, natural="bar"),
    ] = Field(default=None, alias="relief", description="From cracking open to passing everything.")
    switch: Annotated[str | None, Word("The oil switch", ("pressure", "level", "none"))] = Field(
        default=None, description="pressure, level, or none."
    )
    switch_earthed: Annotated[
        str,
        Word("When the oil switch is earthed", ("low", "full"),
             {"empty": "low", "no pressure": "low", "pressure": "full",
              "pressure present": "full"}),
    ] = Field(default="low", description="Earthed when low (usual), or when full.")  # fmt: skip

    @property
    def has_pump(self) -> bool:
        """Whether the displacement of the pump and its drive are known."""
        known = self.pump_turn_m3 is not None or (self.pump is not None and not self.pump.missing())
        return known and self.drive_ratio is not None

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """A pump is told once and whole; a pressure has its speed."""
        if self.pump is not None and self.pump_turn_m3 is not None:
            yield Clash(
                ("oil", "pump"),
                InputError("The pump is described twice",
                           allowed="pump_displacement, or pump with its measures"),
            )  # fmt: skip
        if self.pump is not None and self.pump.missing():
            yield Clash(
                ("oil", "pump"),
                InputError(
                    f"A pump with {self.pump.kind} needs more to have a displacement",
                    given="without " + ", ".join(self.pump.missing()),
                    allowed=", ".join(PUMPS[self.pump.kind]),
                ),
            )  # fmt: skip
        elif self.pump is not None:
            yield from self._mesh()
        if (
            self.viscosity_40_m2_s is not None
            and self.viscosity_100_m2_s is not None
            and self.viscosity_40_m2_s <= self.viscosity_100_m2_s
        ):
            yield Clash(
                ("oil", "viscosity_at_100"),
                InputError("Oil is thinner at 100 C than at 40 C",
                           given=f"{self.viscosity_100_m2_s * 1e6:g} mm2/s",
                           allowed=f"below {self.viscosity_40_m2_s * 1e6:g} mm2/s"),
            )  # fmt: skip
        if (
            self.pressure_pa is not None
            and self.relief_pa is not None
            and self.pressure_pa[0] > self.relief_pa[1]
        ):
            yield Clash(
                ("oil", "relief"),
                InputError("The relief valve would let go before this pressure is reached",
                           given=f"{self.relief_pa[1] / 1e5:g} bar",
                           allowed=f"above {self.pressure_pa[0] / 1e5:g} bar"),
            )  # fmt: skip

    def _mesh(self) -> Iterator[Clash]:
        pump = self.pump
        assert pump is not None
        tip, centres, root = pump.tip_diameter_m, pump.centre_distance_m, pump.root_diameter_m
        wrong = ""
        if pump.kind == "gears" and tip and centres and not centres < tip < 2 * centres:
            wrong = "tip diameter a little more than the centre distance"
        if pump.kind == "rotors" and tip and root and not root < tip:
            wrong = "tip diameter more than the root diameter"
        if wrong:
            yield Clash(("oil", "pump"), InputError("Such a pump cannot turn", allowed=wrong))

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """What cannot be worked out from what is here."""
        if self.pump_turn_m3 is None and self.pump is None:
            yield FallenAway("Expected oil flow while cranking", "[oil] pump_displacement")
        elif self.drive_ratio is None:
            yield FallenAway("Expected oil flow while cranking", "[oil] drive_ratio")
        if self.pressure_pa is None:
            yield FallenAway("Oil pressure", "[oil] pressure")
        elif self.pressure_at_hz is None:
            yield FallenAway("Oil pressure at another speed", "[oil] pressure_at_speed")
        if self.switch is None:
            yield FallenAway("Oil switch tried in both states", "[oil] switch")
