"""The [service] table: when a check is due and what it asks of the engine."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from tickover.engine.fields import Size
from tickover.engine.table import Table

DEFAULT_COLD_K = 308.15
"""Warmest engine on which a clearance counts as cold [K], 35 C: our assumption."""


class Service(Table):
    """Intervals and conditions of the checks."""

    cold_below_k: Annotated[
        float, Size("The warmest cold engine", "temperature", 273.15, 353.15, 308.15)
    ] = Field(
        default=DEFAULT_COLD_K,
        alias="cold_below",
        description="Warmest engine on which a valve clearance counts as cold.",
    )
    valve_check_every_m: Annotated[
        float | None, Size("The distance between valve checks", "distance", 1e5, 2e8, 6e6)
    ] = Field(default=None, alias="valve_check_every", description="Distance between valve checks.")
