"""The [charging] table: alternator, rectifier, regulator and what may be drawn at rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, Limits, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.lists import YesNo
from tickover.engine.words import Count, Number, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

_DC = ("voltage", 5.0, 36.0)


@dataclass(frozen=True)
class Speeds(FieldReader):
    """Crank speeds in rpm, rising; held in turns in a second."""

    def read(self, value: Any) -> tuple[float, ...]:
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= 12:
            raise InputError("The speeds to read at should be a list of rpm",
                             given=written(value), allowed="1 to 12, rising",
                             instead="[1100, 3000, 5000]")  # fmt: skip
        found = [Number("A speed to read at", 300.0, 20000.0).read(each) / 60.0 for each in value]
        if sorted(set(found)) != found:
            raise InputError("The speeds to read at must rise", given=written(value))
        return tuple(found)

    def write(self, value: Any) -> list[float]:
        return [round(each * 60.0, 9) for each in value]

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": {"type": "number"}, "minItems": 1, "maxItems": 12}


@dataclass(frozen=True)
class OutputPoints(FieldReader):
    """Pairs of crank speed in rpm and amperes; held as (turns in a second, amperes)."""

    def read(self, value: Any) -> tuple[tuple[float, float], ...]:
        pairs = value if isinstance(value, list | tuple) else ()
        if not 1 <= len(pairs) <= 12 or not all(
            isinstance(pair, list | tuple) and len(pair) == 2 for pair in pairs
        ):
            raise InputError("The output should be pairs of rpm and amperes", given=written(value),
                             allowed="1 to 12 pairs, speeds rising",
                             instead="[[1500, 4], [5000, 14]]")  # fmt: skip
        found: list[tuple[float, float]] = []
        for speed, current in pairs:
            hertz = Number("A speed of the output", 300.0, 20000.0).read(speed) / 60.0
            amperes = _amperes(current)
            if found and (hertz <= found[-1][0] or amperes < found[-1][1]):
                raise InputError("Speed and output must rise together", given=written(value))
            found.append((hertz, amperes))
        return tuple(found)

    def write(self, value: Any) -> list[list[float]]:
        return [[round(speed * 60.0, 9), current] for speed, current in value]

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 1, "maxItems": 12}


def _amperes(value: Any) -> float:
    number = Number("An output in amperes", 0.0, 1000.0).read(value)
    if number > 80.0:
        raise InputError(
            "An output of a motorcycle is given in amperes; this looks like watts",
            given=f"{number:g}", allowed="0 to 80 A",
            instead="the watts over the volts they were stated at: 210 W at 14 V are 15",
        )  # fmt: skip
    return number


class Charging(Table):
    """Alternator, rectifier and regulator. What is left out takes usual workshop figures."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Charging, alternator windings, drain at rest",)

    phases: Annotated[int, Count("The phases", 1, 3)] = Field(
        default=3, description="3, or 1 for a single winding."
    )
    connection: Annotated[
        str, Word("How the windings are joined", ("star", "delta"), {"y": "star", "wye": "star"})
    ] = Field(default="star", description="star or delta, of three phases.")
    rotor: Annotated[
        str,
        Word("The rotor", ("magnet", "wound"),
             {"permanent magnet": "magnet", "excited": "wound", "field winding": "wound"}),
    ] = Field(default="magnet", description="magnet, or wound: fed through brushes.")  # fmt: skip
    winding_ohm: Annotated[
        tuple[float, float] | None, Limits("The winding", "resistance", 0.01, 50.0, 0.4)
    ] = Field(default=None, alias="winding", description="Between two wires, at 20 C.")
    field_ohm: Annotated[
        tuple[float, float] | None, Limits("The field winding", "resistance", 0.5, 100.0, 4.0)
    ] = Field(default=None, alias="field_winding", description="Of a wound rotor, at 20 C.")
    to_earth_ohm: Annotated[
        float, Size("The way to earth", "resistance", 100.0, 1e8, 1e6, natural="kohm")
    ] = Field(default=2000.0, alias="to_earth", description="Least from any wire to the frame.")
    ac_volts_v: Annotated[
        tuple[float, float] | None, Limits("The AC voltage", "voltage", 2.0, 150.0, 40.0)
    ] = Field(default=None, alias="ac_volts", description="Between two wires, plug apart.")
    ac_speed_hz: Annotated[float | None, Size("The AC speed", "speed", 5.0, 150.0, 50.0)] = Field(
        default=None, alias="ac_speed", description="Engine speed the AC voltage is stated at."
    )
    regulator_v: Annotated[
        tuple[float, float] | None, Limits("The regulator", *_DC, 14.2)
    ] = Field(default=None, alias="regulator", description="At the battery, 25 C.")  # fmt: skip
    compensated: Annotated[bool | None, YesNo("Whether the regulator follows temperature")] = Field(
        default=None, description="true: its voltage falls as it gets warm; false: it stays."
    )
    charges_from_hz: Annotated[
        float, Size("The speed it charges from", "speed", 5.0, 150.0, 40.0)
    ] = Field(default=2500.0 / 60.0, alias="charges_from",
              description="From here on the regulator's voltage must be reached.")  # fmt: skip
    speeds_hz: Annotated[tuple[float, ...], Speeds()] = Field(
        default=(1200.0 / 60.0, 3000.0 / 60.0, 5000.0 / 60.0), alias="speeds",
        description="Speeds to read the charging voltage at, in rpm.",
    )  # fmt: skip
    output: Annotated[tuple[tuple[float, float], ...], OutputPoints()] = Field(
        default=(), description="Pairs of rpm and amperes, as the book prints them."
    )
    load_a: Annotated[
        float | None, Size("What is switched on", "current", 0.0, 80.0, 8.0)
    ] = Field(default=None, alias="load", description="Drawn while charging is read.")  # fmt: skip
    drain_a: Annotated[
        float | None, Size("The drain at rest", "current", 0.0, 2.0, 0.005, natural="mA")
    ] = Field(default=None, alias="drain", description="Most with everything off.")
    drop_v: Annotated[float, Size("The drop on charge", "voltage", 0.01, 2.0, 0.2)] = Field(
        default=0.2, alias="drop", description="Most along the feed, and along the earth."
    )

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Two phases, a voltage of another system, an AC voltage without its speed."""
        if self.phases == 2:
            yield Clash(("charging", "phases"), InputError(
                "An alternator has one phase or three", given="2", allowed="1, 3"))  # fmt: skip
        if (self.ac_volts_v is None) != (self.ac_speed_hz is None):
            yield Clash(("charging", "ac_volts"), InputError(
                "An AC voltage means something at its speed only",
                allowed='ac_volts and ac_speed, both or none'))  # fmt: skip
        if self.field_ohm is not None and self.rotor == "magnet":
            yield Clash(("charging", "field_winding"), InputError(
                "A magnet has no field winding", instead='rotor = "wound", or this line left out'
            ))  # fmt: skip
        volts = whole.system_volts
        if self.regulator_v is not None:
            low, high = (1.1 * volts, 1.3 * volts)
            if not low <= sum(self.regulator_v) / 2.0 <= high:
                yield Clash(("charging", "regulator"), InputError(
                    f"This is no regulator of a {volts:g} V machine",
                    given=f"{self.regulator_v[0]:g} to {self.regulator_v[1]:g} V",
                    allowed=f"about {low:.1f} to {high:.1f} V",
                    instead="the right volts in [battery], or the right voltage here"))  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """What cannot be judged from what is here."""
        for value, check, key in (
            (self.winding_ohm, "Resistance of the alternator winding", "winding"),
            (self.ac_volts_v, "Height of the alternator's AC voltage", "ac_volts"),
        ):
            if value is None:
                yield FallenAway(check, f"[charging] {key}")
