"""The [ignition] table: plugs, coils, points, timing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import Angle, FieldReader, Limits, Size, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.words import Count, Counts, Number, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

_MOST = 12


@dataclass(frozen=True)
class CoilLists(FieldReader):
    """One list of cylinders for each coil: [[1, 4], [2, 3]]."""

    def read(self, value: Any) -> tuple[tuple[int, ...], ...]:
        if not isinstance(value, list | tuple) or len(value) > _MOST:
            raise InputError(
                "The coils should be lists of cylinder numbers, one list for each coil",
                given=written(value), instead="[[1, 4], [2, 3]]",
            )  # fmt: skip
        return tuple(Counts("The list of a coil", _MOST).read(one) for one in value)

    def write(self, value: Any) -> list[list[int]]:
        return [list(one) for one in value]

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "maxItems": _MOST, "items": Counts("", _MOST).schema()}


@dataclass(frozen=True)
class AdvancePoints(FieldReader):
    """Pairs of crank speed in rpm and degrees before top dead centre, speeds rising.

    Held as (turns in a second, degrees).
    """

    def read(self, value: Any) -> tuple[tuple[float, float], ...]:
        pairs = value if isinstance(value, list | tuple) else None
        if pairs is None or not 0 < len(pairs) <= 30:
            raise self._wrong(value)
        found: list[tuple[float, float]] = []
        for pair in pairs:
            if not isinstance(pair, list | tuple) or len(pair) != 2:
                raise self._wrong(pair)
            speed = Number("A speed of the advance curve", 100.0, 20000.0).read(pair[0]) / 60.0
            angle = Number("An advance", -20.0, 80.0).read(pair[1])
            if found and speed <= found[-1][0]:
                raise InputError("The speeds of the advance curve must rise", given=written(value))
            found.append((speed, angle))
        return tuple(found)

    def _wrong(self, value: Any) -> InputError:
        return InputError(
            "The advance curve should be pairs of rpm and degrees before top dead centre",
            given=written(value), allowed="1 to 30 pairs, speeds rising",
            instead="[[1500, 12], [3000, 38]]",
        )  # fmt: skip

    def write(self, value: Any) -> list[list[float]]:
        return [[round(speed * 60.0, 9), angle] for speed, angle in value]

    def schema(self) -> dict[str, Any]:
        number = {"type": "number"}
        pair = {"type": "array", "items": number, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 1, "maxItems": 30}


def _ohms(what: str, low: float, high: float, typical: float, unit: str) -> Limits:
    return Limits(what, "resistance", low, high, typical, natural=unit)


class Ignition(Table):
    """Plugs, coils, points and timing."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Spark, plug gap and lead order",
        "Static timing and advance curve",
        "Coil resistances",
    )

    kind: Annotated[
        str,
        Word("The kind of ignition", ("points", "electronic"),
             {"breaker points": "points", "cdi": "electronic", "transistor": "electronic"}),
    ] = Field(default="electronic", description="points or electronic.")  # fmt: skip
    plug_gap_m: Annotated[
        tuple[float, float] | None, Limits("The plug gap", "clearance", 1e-4, 3e-3, 7e-4)
    ] = Field(default=None, alias="plug_gap", description="Of every plug.")
    coils: Annotated[tuple[tuple[int, ...], ...], CoilLists()] = Field(
        default=(), description="Cylinders each coil serves; one coil a cylinder if left out."
    )
    coil_primary_ohm: Annotated[
        tuple[float, float] | None, _ohms("The coil primary", 0.05, 500.0, 4.2, "ohm")
    ] = Field(default=None, alias="coil_primary", description="At 20 C.")
    coil_secondary_ohm: Annotated[
        tuple[float, float] | None, _ohms("The coil secondary", 100.0, 1e5, 1.3e4, "kohm")
    ] = Field(default=None, alias="coil_secondary", description="At 20 C, caps off.")
    points_gap_m: Annotated[
        tuple[float, float] | None, Limits("The points gap", "clearance", 5e-5, 2e-3, 3.5e-4)
    ] = Field(default=None, alias="points_gap", description="Widest open.")
    breaker_lobes: Annotated[int, Count("The lobes of the breaker cam", 1, 12)] = Field(
        default=1, description="Lobes of the cam that works one set of points."
    )
    dwell_deg: Annotated[
        tuple[float, float] | None, Limits("The dwell", "angle", 1.0, 359.0, 180.0, bare="deg")
    ] = Field(default=None, alias="dwell", description="Degrees of the breaker cam.")
    static_timing_deg: Annotated[float | None, Angle("The static timing", -10.0, 60.0)] = Field(
        default=None, alias="static_timing", description="Crank degrees before top dead centre."
    )
    static_tolerance_deg: Annotated[
        float, Angle("The tolerance of the static timing", 0.1, 10.0)
    ] = Field(default=2.0, alias="static_tolerance", description="Either way; 2 degrees is ours.")
    rotor_diameter_m: Annotated[
        float | None, Size("The rotor diameter", "length", 0.02, 0.4, 0.1)
    ] = Field(default=None, alias="rotor_diameter", description="Of the rim that carries marks.")
    advance: Annotated[tuple[tuple[float, float], ...], AdvancePoints()] = Field(
        default=(),
        description="Pairs of rpm and degrees before top dead centre, as the book prints them.",
    )
    advance_tolerance_deg: Annotated[
        float, Angle("The tolerance of the advance curve", 0.1, 15.0)
    ] = Field(default=2.0, alias="advance_tolerance", description="Either way; 2 degrees is ours.")

    def coil_groups(self, cylinders: int) -> tuple[tuple[int, ...], ...]:
        """Cylinders of each coil."""
        return self.coils or tuple((n,) for n in range(1, cylinders + 1))

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Coils serve every cylinder once; dwell fits between two lobes; points have points."""
        cylinders = whole.engine.cylinders
        served = sorted(n for group in self.coils for n in group)
        if self.coils and served != list(range(1, cylinders + 1)):
            yield Clash(
                ("ignition", "coils"),
                InputError(
                    "Every cylinder is served by one coil", given=written([*map(list, self.coils)]),
                    allowed=f"each of 1 to {cylinders} once",
                ),
            )  # fmt: skip
        if self.dwell_deg is not None and self.dwell_deg[1] >= 360.0 / self.breaker_lobes:
            yield Clash(
                ("ignition", "dwell"),
                InputError(
                    "The points would never open", given=f"{self.dwell_deg[1]:g} deg",
                    allowed=f"below {360.0 / self.breaker_lobes:g} deg of a cam with "
                    f"{self.breaker_lobes} lobes",
                ),
            )  # fmt: skip
        if self.kind == "electronic":
            for key, value in (("points_gap", self.points_gap_m), ("dwell", self.dwell_deg)):
                if value is not None:
                    yield Clash(
                        ("ignition", key),
                        InputError("An electronic ignition has no points",
                                   instead='kind = "points", or this line left out'),
                    )  # fmt: skip

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """What cannot be checked from what is here."""
        for value, check, key in (
            (self.plug_gap_m, "Plug gap", "plug_gap"),
            (self.coil_primary_ohm, "Coil primary resistance", "coil_primary"),
            (self.coil_secondary_ohm, "Coil secondary resistance", "coil_secondary"),
            (self.static_timing_deg, "Static timing", "static_timing"),
            (self.advance or None, "Advance curve", "advance"),
        ):
            if value is None:
                yield FallenAway(check, f"[ignition] {key}")
        if self.static_timing_deg is not None and self.rotor_diameter_m is None:
            yield FallenAway("Timing as an arc on the rotor", "[ignition] rotor_diameter")
