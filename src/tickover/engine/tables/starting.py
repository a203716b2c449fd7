"""The [battery], [starter] and [interlocks] tables: what turns the engine, and what forbids it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Limits, Size
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.tables.lists import YesNo
from tickover.engine.words import Number, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

RULES = (
    "neutral, or clutch in and stand up",
    "neutral, or stand up",
    "neutral only",
    "clutch in only",
    "clutch in, and neutral or stand up",
)
"""When the starter may turn. The first is the usual one: common practice, no source."""


class Battery(Table):
    """The battery and the cables to it. What is left out takes usual workshop figures."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Battery at rest and while cranking",)

    volts_v: Annotated[float, Size("The battery", "voltage", 6.0, 24.0, 12.0, bare="V")] = Field(
        default=12.0, alias="volts", description="6, 12 or 24."
    )
    capacity_ah: Annotated[float | None, Number("The capacity in Ah", 0.5, 100.0)] = Field(
        default=None, alias="capacity", description="In Ah."
    )
    at_rest_v: Annotated[float | None, Size("The voltage at rest", "voltage", 4.0, 30.0, 12.5)] = (
        Field(default=None, alias="at_rest", description="Least, some hours after charging.")
    )
    cranking_v: Annotated[
        float | None, Size("The voltage while cranking", "voltage", 2.0, 28.0, 9.6)
    ] = Field(default=None, alias="cranking", description="Least, at the posts, starter turning.")
    earth_drop_v: Annotated[float, Size("The drop along the earth", "voltage", 0.01, 2.0, 0.2)] = (
        Field(
            default=0.2,
            alias="earth_drop",
            description="Most between engine and battery minus while cranking.",
        )
    )

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Volts come in cells of two."""
        if self.volts_v not in (6.0, 12.0, 24.0):
            yield Clash(
                ("battery", "volts"),
                InputError("Not a battery of a motorcycle", given=f"{self.volts_v:g} V",
                           allowed="6 V, 12 V or 24 V"),
            )  # fmt: skip


class Starter(Table):
    """How the engine is turned."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Cranking speed",)

    kind: Annotated[
        str,
        Word("The starter", ("electric", "kick", "both"),
             {"button": "electric", "kickstart": "kick", "electric and kick": "both"}),
    ] = Field(default="electric", description="electric, kick, or both.")  # fmt: skip
    cranking_hz: Annotated[
        tuple[float, float] | None,
        Limits("The cranking speed", "speed", 0.5, 20.0, 6.0),
    ] = Field(
        default=None, alias="cranking_speed", description="Crank speed while cranking, plugs out."
    )
    current_a: Annotated[
        float | None, Size("The current while cranking", "current", 10.0, 600.0, 120.0)
    ] = Field(default=None, alias="current", description="By a clamp meter, starter turning.")
    cable_drop_v: Annotated[
        float | None, Size("The drop along the starter's cables", "voltage", 0.05, 3.0, 0.5)
    ] = Field(
        default=None,
        alias="cable_drop",
        description="Most there and back while cranking; 0.5 V for 12 V if left out.",
    )

    @property
    def electric(self) -> bool:
        """Whether there is a starter motor."""
        return self.kind != "kick"

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without a cranking speed no flow can be expected."""
        if self.cranking_hz is None:
            yield FallenAway("Expected oil flow without a speed read", "[starter] cranking_speed")
        if whole.starter_cables and self.current_a is None:
            yield FallenAway("Starter cables by their drop", "[starter] current")


class Interlocks(Table):
    """Switches that keep the starter or the ignition from working."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Interlocks tried in each state",)

    side_stand: Annotated[bool, YesNo("Whether there is a side-stand switch")] = Field(
        default=False, description="true: there is a side-stand switch."
    )
    neutral: Annotated[bool, YesNo("Whether there is a neutral switch")] = Field(
        default=False, description="true: the neutral switch has a say in starting."
    )
    clutch: Annotated[bool, YesNo("Whether there is a clutch switch")] = Field(
        default=False, description="true: there is a clutch switch."
    )
    stop_switch: Annotated[bool, YesNo("Whether there is a stop switch")] = Field(
        default=True, description="false: there is no stop switch; the key alone stops it."
    )
    rule: Annotated[str | None, Word("The rule for starting", RULES)] = Field(
        default=None, description="When the starter may turn; the usual rule if left out."
    )

    def allows(self, neutral: bool, clutch_in: bool, stand_up: bool) -> bool:
        """Whether the starter may turn in this state, by the rule and the switches fitted.

        Parameters
        ----------
        neutral, clutch_in, stand_up : bool
            Those without a switch are not asked.

        Returns
        -------
        bool

        Examples
        --------
        >>> usual = Interlocks(side_stand=True, neutral=True, clutch=True)
        >>> usual.allows(False, True, True), usual.allows(False, True, False)
        (True, False)
        """
        up = stand_up or not self.side_stand
        pulled = clutch_in or not self.clutch
        if self.rule == "neutral only":
            return neutral
        if self.rule == "clutch in only":
            return clutch_in
        if self.rule == "neutral, or stand up":
            return neutral or up
        if self.rule == "clutch in, and neutral or stand up":
            return clutch_in and (neutral or stand_up)
        in_gear = pulled and up and (self.clutch or self.side_stand)
        return (neutral and self.neutral) or in_gear
