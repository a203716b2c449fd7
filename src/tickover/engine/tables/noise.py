"""The [noise] table: what the stationary test is held against."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Size
from tickover.engine.table import FallenAway, Table
from tickover.engine.words import Count, Text

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


class Noise(Table):
    """Limit and speed of the stationary test, from the plate or the papers."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Stationary noise against its limit",)

    limit_db: Annotated[
        float | None, Size("The noise limit", "level", 60.0, 130.0, 94.0, bare="dB")
    ] = Field(default=None, alias="limit", description="A-weighted, at 0.5 m, as given.")
    given_by: Annotated[str, Text("Who gives the limit", 60)] = Field(
        default="the papers", description="Where the limit stands: plate, papers, track rules."
    )
    at_speed_hz: Annotated[float | None, Size("The test speed", "speed", 8.0, 250.0, 66.7)] = Field(
        default=None, alias="at_speed", description="Crank speed that stands beside the limit."
    )
    rated_power_speed_hz: Annotated[
        float | None, Size("The speed of most power", "speed", 16.0, 300.0, 125.0)
    ] = Field(default=None, alias="rated_power_speed", description="Crank speed of most power.")
    outlets: Annotated[int, Count("The outlets", 1, 8)] = Field(
        default=1, description="Tail pipes read each by itself."
    )
    meter_db: Annotated[float, Size("The meter's error", "level", 0.1, 6.0, 1.5, bare="dB")] = (
        Field(default=1.5, alias="meter", description="Either way; 1.5 dB is ours.")
    )

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without a limit there is no verdict, without a speed no test."""
        if self.limit_db is None:
            yield FallenAway("Stationary noise against its limit", "[noise] limit")
        if self.at_speed_hz is None and self.rated_power_speed_hz is None:
            yield FallenAway("Speed of the noise test", "[noise] rated_power_speed")
