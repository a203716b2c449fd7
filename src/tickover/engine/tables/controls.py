"""The [controls] table and the [[cables]]: grip, levers, free play, cables to be made."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Limits, Size
from tickover.engine.table import Clash, Table
from tickover.engine.tables.lists import YesNo
from tickover.engine.words import Number, Text, Word
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

USES = ("throttle", "clutch", "cold start", "decompressor", "advance", "tacho", "other")
_ALSO = {"choke": "cold start", "enricher": "cold start", "starter": "cold start",
         "valve lifter": "decompressor", "rev counter": "tacho"}  # fmt: skip


class CableUse(Word):
    """What a cable moves; a brake is refused with the reason."""

    def read(self, value: object) -> str:
        if isinstance(value, str) and "brake" in value.casefold():
            raise InputError(
                "A brake cable is not made at home", given=value, allowed=", ".join(USES),
                instead="nothing here: fit one from the maker, or have one made and proved by a "
                "licensed shop",
            )  # fmt: skip
        return super().read(value)


def _play(what: str, typical: float) -> Limits:
    return Limits(what, "length", 0.0, 0.05, typical)


class Controls(Table):
    """Grip, levers and their free play."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Throttle snaps shut and opens fully",
        "Free play of throttle, clutch and cold-start device",
    )

    throttle_free_play_m: Annotated[
        tuple[float, float] | None, _play("The throttle free play", 0.003)
    ] = Field(default=None, alias="throttle_free_play", description="At the rim of the grip.")
    grip_drum_diameter_m: Annotated[
        float | None, Size("The drum of the grip", "length", 0.01, 0.1, 0.032)
    ] = Field(
        default=None,
        alias="grip_drum_diameter",
        description="From middle to middle of the inner on the drum of the grip.",
    )
    slide_travel_m: Annotated[
        float | None, Size("The slide travel", "length", 0.003, 0.08, 0.026)
    ] = Field(
        default=None,
        alias="slide_travel",
        description="Slides from closed to fully open; of the cable where a pulley turns plates.",
    )
    pull_ratio: Annotated[float, Number("The pull ratio", 0.2, 5.0)] = Field(
        default=1.0,
        description="Slide travel for each mm of cable drawn; 1 for a cable straight to the slide.",
    )
    clutch_free_play_m: Annotated[
        tuple[float, float] | None, _play("The clutch free play", 0.003)
    ] = Field(default=None, alias="clutch_free_play", description="At the end of the lever.")
    cold_start_travel_m: Annotated[
        tuple[float, float] | None, _play("The cold-start travel", 0.008)
    ] = Field(
        default=None,
        alias="cold_start_travel",
        description="How far the cold-start plunger or flap arm moves.",
    )
    cold_start: Annotated[bool, YesNo("Whether there is a cold-start device")] = Field(
        default=True, description="false: there is no cold-start device to check."
    )
    hand_clutch: Annotated[bool, YesNo("Whether there is a hand-worked clutch")] = Field(
        default=True, description="false: there is no hand-worked clutch."
    )


class Cable(Table):
    """One cable to be made or proved."""

    name: Annotated[str, Text("The name of a cable", 24)] = Field(
        description="What it is called: clutch cable."
    )
    use: Annotated[str, CableUse("The use of a cable", USES, _ALSO)] = Field(
        description="throttle, clutch, cold start, decompressor, advance, tacho, other; no brakes."
    )
    route_m: Annotated[float | None, Size("The route", "length", 0.05, 3.0, 0.9)] = Field(
        default=None, alias="route", description="From seat to seat, bars straight, with a cord."
    )
    caps_m: Annotated[float, Size("The end caps", "length", 0.0, 0.1, 0.016)] = Field(
        default=0.0, alias="caps", description="What both end caps add to the outer, together."
    )
    bare_at_lever_m: Annotated[
        float | None, Size("The bare inner at the lever", "length", 0.0, 0.3, 0.03)
    ] = Field(
        default=None, alias="bare_at_lever", description="Seat to nipple face at lever or grip."
    )
    bare_at_far_end_m: Annotated[
        float | None, Size("The bare inner at the far end", "length", 0.0, 0.3, 0.045)
    ] = Field(default=None, alias="bare_at_far_end", description="Seat to nipple face, slack up.")
    travel_m: Annotated[float | None, Size("The travel", "length", 0.0, 0.1, 0.012)] = Field(
        default=None, alias="travel", description="How far the far nipple moves."
    )
    adjuster_out_m: Annotated[float, Size("The adjuster", "length", 0.0, 0.05, 0.006)] = Field(
        default=0.0, alias="adjuster_out", description="How far the adjusters stand out when new."
    )
    diameter_m: Annotated[float | None, Size("The inner", "length", 0.0005, 0.005, 0.0016)] = Field(
        default=None, alias="diameter", description="Of the inner."
    )
    breaking_load_n: Annotated[
        float | None, Size("The breaking load", "force", 50.0, 20000.0, 2100.0)
    ] = Field(default=None, alias="breaking_load", description="Of the inner, from its maker.")
    proof_load_n: Annotated[float | None, Size("The proof load", "force", 20.0, 10000.0, 900.0)] = (
        Field(default=None, alias="proof_load", description="From the maker of the cable.")
    )
    working_load_n: Annotated[
        float | None, Size("The working load", "force", 1.0, 5000.0, 400.0)
    ] = Field(
        default=None, alias="working_load", description="Greatest pull in use: hand times lever."
    )
    solder_shear_pa: Annotated[
        float | None, Size("The solder's shear strength", "pressure", 5e6, 3e8, 37e6)
    ] = Field(default=None, alias="solder_shear", description="From the solder's data sheet.")
    home_made: Annotated[bool, YesNo("Whether it is home-made")] = Field(
        default=True, description="true: proof-pulled before use; false: bought complete."
    )


def cable_clashes(whole: EngineFile) -> Iterator[Clash]:
    """What in the cables contradicts itself or another."""
    names: set[str] = set()
    for i, cable in enumerate(whole.cables):
        at = ("cables", i)
        if "brake" in cable.name.casefold():
            yield Clash(
                (*at, "name"),
                InputError("A brake cable is not made at home", given=cable.name,
                           instead="nothing here: fit one from the maker"),
            )  # fmt: skip
        if cable.name.lower() in names:
            yield Clash((*at, "name"), InputError("Two cables have this name", given=cable.name))
        names.add(cable.name.lower())
        if (
            cable.travel_m is not None
            and cable.bare_at_far_end_m is not None
            and cable.travel_m > cable.bare_at_far_end_m
        ):
            yield Clash(
                (*at, "travel"),
                InputError(
                    "The nipple would meet its seat before the travel is done",
                    given=f"{cable.travel_m * 1e3:g} mm",
                    allowed=f"up to the bare end, {cable.bare_at_far_end_m * 1e3:g} mm",
                ),
            )  # fmt: skip
        loads = (cable.working_load_n, cable.proof_load_n, cable.breaking_load_n)
        known = [load for load in loads if load is not None]
        if sorted(set(known)) != known:
            yield Clash(
                (*at, "proof_load"),
                InputError("A proof load lies above the working load and below the breaking load",
                           given=" N, ".join(f"{load:g}" for load in known) + " N"),
            )  # fmt: skip
