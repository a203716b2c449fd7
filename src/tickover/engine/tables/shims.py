"""The [shims] and [blades] tables: what can be bought, and what lies in the tool roll."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Size, Sizes
from tickover.engine.table import Table
from tickover.engine.words import Number


class Shims(Table):
    """Shims that can be bought for this machine."""

    sizes_m: Annotated[
        tuple[float, ...], Sizes("The shim sizes", "shim", 0.0005, 0.010, 0.0025)
    ] = Field(alias="sizes", description="Sizes that can be bought.")
    price: Annotated[float, Number("The price", 0.0, 1e6)] = Field(
        default=0.0, description="To buy one, when the stock list says nothing else."
    )
    diameter_m: Annotated[
        float | None, Size("The shim diameter", "length", 0.004, 0.060, 0.025)
    ] = Field(
        default=None, alias="diameter", description="Diameter of the shims, for the shopping list."
    )


class Blades(Table):
    """The feeler blades the person owns."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Which two feeler blades to pick up",)

    set_m: Annotated[
        tuple[float, ...], Sizes("The set of blades", "clearance", 0.00001, 0.003, 0.0002)
    ] = Field(alias="set", description="Ranges and single sizes; millimetre and inch may be mixed.")
