"""The [cams] table: when the valves move, and which camshaft moves them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field, ValidationInfo, field_validator

from tickover.engine.fields import Angle, FieldReader, Size, plain_digits, written
from tickover.engine.table import Clash, FallenAway, Table
from tickover.engine.words import Word
from tickover.errors import InputError
from tickover.quantities import parse

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

DEFAULT_RAMP_DEG = 30.0
"""Quietening ramp on either side when the file does not say [crank degrees]: our assumption."""

ALLOWANCE_AT_1_MM_DEG = 25.0
"""Crank degrees between the seat and 1 mm of lift, per side: our assumption, on the long side.

It grows with the square root of the lift, as on a flank that starts with even acceleration.
"""

SHORTEST_DURATION_DEG, LONGEST_DURATION_DEG = 120.0, 420.0

ARRANGEMENTS = (
    "one camshaft",
    "two camshafts",
    "one camshaft per cylinder",
    "two camshafts per cylinder",
    "one camshaft per bank",
    "two camshafts per bank",
    "pushrods",
    "side valves",
)
_ALSO = {
    "a camshaft per cylinder": "one camshaft per cylinder",
    "a camshaft per bank": "one camshaft per bank",
    "single camshaft": "one camshaft",
    "a camshaft": "one camshaft",
    "twin camshafts": "two camshafts",
    "double camshafts": "two camshafts",
    "pushrod": "pushrods",
    "push rods": "pushrods",
    "side valve": "side valves",
}
_TIMING = re.compile(r"(?P<angle>.+?)\s*(?P<at>[BA][TB]DC|[TB]DC)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True)
class TimingAngle(FieldReader):
    """'22 deg BTDC': an angle before or after a dead centre, positive away from the valve's rest.

    `centre` is TDC or BDC; an opening counts positive before it, a closing after it.
    """

    what: str
    opening: bool
    centre: str

    def read(self, value: Any) -> float:
        before, after = f"B{self.centre}", f"A{self.centre}"
        usual, other = (before, after) if self.opening else (after, before)
        allowed = f"an angle with {usual}, or with {other} or {self.centre}"
        instead = f'"22 deg {usual}"'
        if not isinstance(value, str):
            raise InputError(
                f"{self.what} needs its dead centre", given=written(value), allowed=allowed,
                instead=f'"{written(value)} deg {usual}"' if _plain(value) else instead,
            )  # fmt: skip
        text = " ".join(value.split())
        if text.upper() == self.centre:
            return 0.0
        match = _TIMING.fullmatch(text)
        if match is None:
            bare = text[:60].rstrip("deg° ")
            raise InputError(
                f"{self.what} needs its dead centre", given=value, allowed=allowed,
                instead=f'"{bare} deg {usual}"' if bare.isdigit() else instead,
            )  # fmt: skip
        at = match["at"].upper()
        angle = parse(match["angle"], "angle", "deg", self.what).value_si
        if at not in (before, after, self.centre):
            raise InputError(
                f"{self.what} is told from {self.centre}, not from {at[-3:]}", given=value,
                allowed=allowed, instead=f'"{match["angle"]} {usual}" (did you mean that?)',
            )  # fmt: skip
        if angle < 0 or (at == self.centre and angle != 0):
            raise InputError(
                f"{self.what} is told as an angle before or after", given=value,
                allowed=allowed, instead=f'"{abs(angle):g} deg {other if angle < 0 else usual}"',
            )  # fmt: skip
        if angle > 120:
            raise InputError(
                f"{self.what} lies too far from {self.centre}; such a cam would never close",
                given=value, allowed="up to 120 deg",
            )  # fmt: skip
        return angle if at == usual else 0.0 - angle

    def write(self, value: Any) -> str:
        positive = "B" if self.opening else "A"
        negative = "A" if self.opening else "B"
        side = positive if value >= 0 else negative
        return f"{plain_digits(abs(value))} deg {side}{self.centre}"

    def schema(self) -> dict[str, Any]:
        pattern = rf"^\s*([0-9.,]+\s*(deg(rees)?|°)?\s*[BAba])?{self.centre}\s*$"
        return {"type": "string", "pattern": pattern.replace("TDC", "[Tt][Dd][Cc]")
                .replace("BDC", "[Bb][Dd][Cc]")}  # fmt: skip


@dataclass(frozen=True)
class CheckingLift(FieldReader):
    """'seat', or the lift at which the timing is told, such as '1 mm'; 0 stands for the seat."""

    def read(self, value: Any) -> float:
        if isinstance(value, str) and value.strip().lower() in ("seat", "the seat"):
            return 0.0
        lift = Size("The checking lift", "length", 0.00005, 0.003, 0.001)
        if isinstance(value, str) and not any(c.isdigit() for c in value):
            raise InputError(
                "Timing is told at the seat or at a checking lift", given=value,
                allowed='"seat" or a lift', instead='"seat" or "1 mm"',
            )  # fmt: skip
        return lift.read(value)

    def write(self, value: Any) -> str:
        return "seat" if value == 0 else f"{plain_digits(value)} m"

    def schema(self) -> dict[str, Any]:
        return {
            "anyOf": [{"const": "seat"}, {"type": "string", "pattern": r"^\s*[0-9.,].*[a-z\"]"}]
        }


_LIFT = Size("The lift", "length", 0.001, 0.025, 0.009)


class InletLobe(Table):
    """When the inlet valves open and close. opens_deg counts before TDC, closes_deg after BDC."""

    opens_deg: Annotated[float, TimingAngle("The inlet opening", True, "TDC")] = Field(
        alias="opens", description='"22 deg BTDC" (or ATDC).'
    )
    closes_deg: Annotated[float, TimingAngle("The inlet closing", False, "BDC")] = Field(
        alias="closes", description='"54 deg ABDC" (or BBDC).'
    )
    lift_m: Annotated[float | None, _LIFT] = Field(
        default=None, alias="lift", description="Full valve lift."
    )

    @field_validator("closes_deg")
    @classmethod
    def _closes_after_it_opens(cls, value: float, info: ValidationInfo) -> float:
        return _sound_duration(info.data.get("opens_deg"), value)

    @property
    def duration_deg(self) -> float:
        """How long the valve is open [crank degrees]."""
        return 180.0 + self.opens_deg + self.closes_deg


class ExhaustLobe(Table):
    """When the exhaust valves open and close. opens_deg counts before BDC, closes_deg after TDC."""

    opens_deg: Annotated[float, TimingAngle("The exhaust opening", True, "BDC")] = Field(
        alias="opens", description='"56 deg BBDC" (or ABDC).'
    )
    closes_deg: Annotated[float, TimingAngle("The exhaust closing", False, "TDC")] = Field(
        alias="closes", description='"20 deg ATDC" (or BTDC).'
    )
    lift_m: Annotated[float | None, _LIFT] = Field(
        default=None, alias="lift", description="Full valve lift."
    )

    @field_validator("closes_deg")
    @classmethod
    def _closes_after_it_opens(cls, value: float, info: ValidationInfo) -> float:
        return _sound_duration(info.data.get("opens_deg"), value)

    @property
    def duration_deg(self) -> float:
        """How long the valve is open [crank degrees]."""
        return 180.0 + self.opens_deg + self.closes_deg


class Cams(Table):
    """Cam timing and camshafts."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = (
        "Order of work on few crank stops",
        "Cam timing by degree wheel",
        "Which camshaft must come out for a shim",
    )

    inlet: InletLobe | None = Field(default=None, description="Inlet lobe.")
    exhaust: ExhaustLobe | None = Field(default=None, description="Exhaust lobe.")
    ramp_deg: Annotated[float, Angle("The ramp", 0.0, 60.0)] = Field(
        default=DEFAULT_RAMP_DEG,
        alias="ramp",
        description="Quietening ramp outside opening and closing, crank degrees per side.",
    )
    timing_at_m: Annotated[float, CheckingLift()] = Field(
        default=0.0,
        alias="timing_at",
        description='Where opening and closing are told: "seat", or a checking lift, "1 mm".',
    )
    given_allowance_deg: Annotated[float | None, Angle("The seat allowance", 0.0, 80.0)] = Field(
        default=None,
        alias="seat_allowance",
        description="Crank degrees per side from the seat to the checking lift, if known.",
    )
    arrangement: Annotated[str | None, Word("The arrangement", ARRANGEMENTS, _ALSO)] = Field(
        default=None, description="How many camshafts there are, and where."
    )

    @property
    def allowance_deg(self) -> float:
        """Crank degrees per side from the seat to where the timing is told.

        As given; otherwise 25 degrees at 1 mm, growing with the square root of the lift.
        """
        if self.given_allowance_deg is not None:
            return self.given_allowance_deg
        return ALLOWANCE_AT_1_MM_DEG * math.sqrt(self.timing_at_m * 1000.0)

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Camshafts per bank need banks."""
        if self.arrangement and "per bank" in self.arrangement and len(whole.engine.banks) < 2:
            yield Clash(
                ("cams", "arrangement"),
                InputError(
                    f"An engine with layout {whole.engine.layout} has no banks",
                    given=self.arrangement,
                    instead=f'"{self.arrangement.removesuffix(" per bank")}"',
                ),
            )

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """Without a lobe there is no order of work; without an arrangement no camshaft to name."""
        for kind, lobe in (("inlet", self.inlet), ("exhaust", self.exhaust)):
            if lobe is None:
                yield FallenAway(f"Order of work for the {kind} valves", f"cams.{kind}")
        if self.arrangement is None:
            yield FallenAway("Which camshaft must come out for a shim", "cams.arrangement")


def _plain(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 120


def _sound_duration(opens: float | None, closes: float) -> float:
    if opens is None:
        return closes
    duration = 180.0 + opens + closes
    if not SHORTEST_DURATION_DEG <= duration <= LONGEST_DURATION_DEG:
        problem = (
            "The valve closes before it has properly opened"
            if duration < SHORTEST_DURATION_DEG
            else "The valve never closes for long enough"
        )
        raise InputError(
            problem, given=f"open for {duration:g} deg",
            allowed=f"{SHORTEST_DURATION_DEG:g} to {LONGEST_DURATION_DEG:g} deg from opening to "
            "closing",
        )  # fmt: skip
    return closes
