"""The day of the first start, what falls due after it, and how likely each fault is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

from pydantic import ConfigDict, Field

from tickover.engine.fields import Size
from tickover.engine.table import Clash, Table
from tickover.engine.words import Count, Number, Text
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


class Start(Table):
    """Limits and marks of the first start. What is left out takes the usual workshop figure."""

    crank_s: Annotated[float, Size("The cranking time", "time", 1.0, 30.0, 5.0)] = Field(
        default=5.0, alias="crank_for", description="Longest cranking at one go."
    )
    rest_s: Annotated[float, Size("The rest between", "time", 5.0, 300.0, 30.0)] = Field(
        default=30.0, alias="rest_for", description="Rest of the starter between two goes."
    )
    oil_within_s: Annotated[float, Size("The oil time", "time", 1.0, 60.0, 5.0)] = Field(
        default=5.0, alias="oil_within",
        description="Stop if there is no oil pressure, flow or light out after this.",
    )  # fmt: skip
    oil_pressure_pa: Annotated[
        float | None, Size("The oil pressure", "pressure", 1e4, 2e6, 3e5)
    ] = Field(default=None, alias="oil_pressure", description="Least oil pressure once it runs.")
    idle_hz: Annotated[float | None, Size("The idle speed", "speed", 3.0, 60.0, 18.0)] = Field(
        default=None, alias="idle", description="Idle speed to aim at."
    )
    charge_v: Annotated[float | None, Size("The charging voltage", "voltage", 6.0, 16.0, 14.0)] = (
        Field(
            default=None,
            alias="charge",
            description="Least voltage at the battery when it charges.",
        )
    )
    charge_at_hz: Annotated[float | None, Size("The charging speed", "speed", 5.0, 150.0, 50.0)] = (
        Field(default=None, alias="charge_at", description="Engine speed at which it must charge.")
    )
    first_run_s: Annotated[float, Size("The first run", "time", 20.0, 1800.0, 180.0)] = Field(
        default=180.0, alias="first_run", description="Longest first run before it must cool."
    )
    stop_at_k: Annotated[
        float | None, Size("The stopping temperature", "temperature", 320.0, 600.0, 420.0)
    ] = Field(default=None, alias="stop_at", description="Stop when the head or oil is this hot.")


class RunIn(Table):
    """One thing to do after the first start, due at the first of its marks."""

    name: Annotated[str, Text("The step")] = Field(description="What to do, in words.")
    distance_m: Annotated[float | None, Size("The distance", "distance", 1e3, 1e8, 5e5)] = Field(
        default=None, alias="distance", description="Distance since the first start."
    )
    running_s: Annotated[float | None, Size("The running time", "time", 60.0, 1e7, 3600.0)] = Field(
        default=None, alias="running", description="Running time since the first start."
    )
    heat_cycles: Annotated[int | None, Count("The heat cycles", 1, 100)] = Field(
        default=None, description="Warm through and cold again, so many times."
    )
    days: Annotated[int | None, Count("The days", 1, 3650)] = Field(
        default=None, description="Days since the first start."
    )


class FaultWeights(Table):
    """How likely each cause is before anything is known, where a person knows better.

    The keys are the causes in words, as the fault-finding page names them. Which causes there
    are is not known here, so an unknown one is told where they are.
    """

    model_config = ConfigDict(frozen=True, extra="allow", allow_inf_nan=False)
    __pydantic_extra__: dict[str, Annotated[float, Number("A weight", 0.01, 1000.0)]]

    def weights(self) -> tuple[tuple[str, float], ...]:
        """Cause in words and its weight, in the order of the file."""
        return tuple((self.model_extra or {}).items())


def run_in_clashes(whole: EngineFile) -> Iterator[Clash]:
    """A step without any mark never falls due; two of one name cannot be told apart."""
    seen: set[str] = set()
    for i, step in enumerate(whole.run_in):
        if all(m is None for m in (step.distance_m, step.running_s, step.heat_cycles, step.days)):
            yield Clash(
                ("run_in", i),
                InputError(
                    f"The step '{step.name}' has no mark at which it falls due",
                    allowed="distance, running, heat_cycles or days",
                    instead='distance = "500 km"',
                ),
            )
        if step.name.casefold() in seen:
            yield Clash(
                ("run_in", i, "name"),
                InputError("This step stands in the file twice", given=step.name),
            )
        seen.add(step.name.casefold())
