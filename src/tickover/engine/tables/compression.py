"""The [compression] table: what the book allows on the gauge, and how it is measured here."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from tickover.engine.fields import Limits, Size
from tickover.engine.table import Table
from tickover.engine.words import Count, Word

CHECK_VALVE_ENDS = ("plug", "gauge")


class Compression(Table):
    """Limits of the cranking test, the gauge and the leak-down tester at hand."""

    limit_pa: Annotated[
        tuple[float, float] | None,
        Limits("The compression limits", "pressure", 2e5, 30e5, 11e5, natural="psi"),
    ] = Field(default=None, alias="limit", description="Least and greatest reading, at sea level.")
    hose_m3: Annotated[
        float | None, Size("The gauge hose", "volume", 1e-7, 1e-4, 6e-6, natural="cc")
    ] = Field(default=None, alias="hose", description="Volume of the gauge's hose and fittings.")
    check_valve: Annotated[
        str | None, Word("The end of the check valve", CHECK_VALVE_ENDS, {"dial": "gauge"})
    ] = Field(default=None, description="End of the hose the gauge's check valve sits at.")
    master_jet_m: Annotated[
        float | None, Size("The master jet", "length", 0.0002, 0.005, 0.001)
    ] = Field(default=None, alias="master_jet", description="Hole in the leak-down tester.")
    supply_pa: Annotated[
        float | None, Size("The supply pressure", "pressure", 2e4, 12e5, 689476.0, natural="psi")
    ] = Field(default=None, alias="supply", description="What the leak-down tester is set to.")
    cam_sprocket_teeth: Annotated[int | None, Count("The teeth of the cam sprocket", 8, 100)] = (
        Field(default=None, description="On the camshaft: what a tooth of wrong timing is worth.")
    )

    @property
    def tooth_deg(self) -> float | None:
        """What one tooth is worth at the crank [crank degrees]."""
        return None if self.cam_sprocket_teeth is None else 720.0 / self.cam_sprocket_teeth
