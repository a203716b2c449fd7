"""The [valves] table: how many, how they are adjusted, and their clearances."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field, ValidationInfo, field_validator

from tickover.engine.fields import Limits, Size
from tickover.engine.table import FallenAway, Table
from tickover.engine.words import Count, Number, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

DEFAULT_PREFERRED = 0.65
"""Where a plan aims between the limits: the upper half, since clearances close with wear."""

ADJUSTMENTS = ("shim over bucket", "shim under bucket", "screw and locknut", "none")
_ALSO = {
    "screw": "screw and locknut",
    "screws": "screw and locknut",
    "screw and nut": "screw and locknut",
    "locknut": "screw and locknut",
    "shim": "shim over bucket",
    "shims": "shim over bucket",
    "shim on top of bucket": "shim over bucket",
    "hydraulic": "none",
}


class Valves(Table):
    """Valves per cylinder and their clearances, cold."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Valve clearances",)

    inlet: Annotated[int, Count("The number of inlet valves", 1, 3)] = Field(
        default=1, description="Inlet valves per cylinder."
    )
    exhaust: Annotated[int, Count("The number of exhaust valves", 1, 3)] = Field(
        default=1, description="Exhaust valves per cylinder."
    )
    adjustment: Annotated[str | None, Word("The adjustment", ADJUSTMENTS, _ALSO)] = Field(
        default=None, description="How a clearance is set."
    )
    inlet_clearance_m: Annotated[
        tuple[float, float] | None,
        Limits("The inlet clearance", "clearance", 0.0, 0.0015, 0.00012),
    ] = Field(default=None, alias="inlet_clearance", description="Inlet limits, cold.")
    exhaust_clearance_m: Annotated[
        tuple[float, float] | None,
        Limits("The exhaust clearance", "clearance", 0.0, 0.0015, 0.00016),
    ] = Field(default=None, alias="exhaust_clearance", description="Exhaust limits, cold.")
    preferred_fraction: Annotated[float, Size("The preferred point", "percent", 0.0, 1.0, 0.65)] = (
        Field(
            default=DEFAULT_PREFERRED,
            alias="preferred",
            description="Where a plan aims between the limits: 0 % the lower, 100 % the upper.",
        )
    )
    guard: Annotated[float, Number("The guard", 0.0, 3.0)] = Field(
        default=0.0,
        description="Guard band inside the limits, in standard uncertainties of the reading; "
        "0 trusts the reading, 1.65 is strict.",
    )
    inlet_diameter_m: Annotated[
        float | None, Size("The inlet valve", "length", 0.010, 0.070, 0.030)
    ] = Field(default=None, alias="inlet_diameter", description="Head of an inlet valve.")
    exhaust_diameter_m: Annotated[
        float | None, Size("The exhaust valve", "length", 0.010, 0.070, 0.026)
    ] = Field(default=None, alias="exhaust_diameter", description="Head of an exhaust valve.")

    @field_validator("exhaust")
    @classmethod
    def _five_at_most(cls, value: int, info: ValidationInfo) -> int:
        inlet = info.data.get("inlet")
        if inlet is not None and inlet + value > 5:
            raise InputError(
                "There are more than five valves in a cylinder", given=f"{inlet} and {value}",
                allowed="two to five in all",
            )  # fmt: skip
        return value

    @property
    def by_shim(self) -> bool:
        """Whether a clearance is set by changing a shim."""
        return self.adjustment in ("shim over bucket", "shim under bucket")

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without limits there is no verdict; without an adjustment no remedy."""
        for kind, limits in (
            ("inlet", self.inlet_clearance_m),
            ("exhaust", self.exhaust_clearance_m),
        ):
            if limits is None and self.adjustment != "none":
                yield FallenAway(f"Verdict on {kind} clearances", f"valves.{kind}_clearance")
        if self.adjustment is None:
            yield FallenAway("How to set a clearance", "valves.adjustment")
        if self.by_shim and whole.shims is None:
            yield FallenAway("Buying a shim that is not in the drawer", "[shims]")
