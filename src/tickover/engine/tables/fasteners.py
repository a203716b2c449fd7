"""The [[fasteners]] tables: what is tightened, how far, in which order."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from tickover.engine.fields import FieldReader, Size, written
from tickover.engine.table import Clash, Table
from tickover.engine.tables.lists import STAGES, YesNo
from tickover.engine.words import Count, Counts, Number, Text, Word
from tickover.errors import InputError
from tickover.quantities import parse

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile

JOINTS = ("head", "barrel", "camshaft", "crankcase", "rod", "clutch", "generator", "sump",
          "exhaust", "intake", "engine mount", "plug", "other")  # fmt: skip
"""What a fastener holds: work on that joint makes its tightening void."""
CLASSES = ("4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9")
SURFACES = ("dry", "zinc plated", "oiled", "cadmium plated")
INTO = ("steel", "cast iron", "aluminium")
MOST_BOLTS = 40
_SLIP_M = 0.5
_THREAD = re.compile(
    r"M\s*\d{1,2}([.,]\d)?(\s*[x×*-]\s*\d?[.,]?\d{1,3})?|\d{1,2}\s*BA|BA\s*\d{1,2}"
    r"|\d{1,2}(/\d{1,2})?\s*(in|\")?\s*[-x ]?\s*(\d{1,2})?\s*(UNC|UNF|BSW|BSF|BSCy|BSC|CEI)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ThreadName(FieldReader):
    """'M8x1.25', '1/4 BSF', '2 BA': any thread the drill and torque sums know."""

    def read(self, value: Any) -> str:
        # Whether a series has this very size is said by `tickover.physics.thread`, which stands
        # below the engine file; what it refuses, the torque page says in its own words.
        if not isinstance(value, str) or not _THREAD.fullmatch(value.strip()):
            raise InputError(
                "A thread should be its name in quotes", given=written(value),
                allowed="metric, UNC, UNF, BSW, BSF, BSCy and BA threads",
                instead='"M8x1.25", "1/4 BSF" or "2 BA"',
            )  # fmt: skip
        return " ".join(value.split())

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": 30,
                "examples": ["M8x1.25", "1/4 BSF", "2 BA"]}  # fmt: skip


@dataclass(frozen=True)
class Torques(FieldReader):
    """Rising torques, one for each round over all screws, held in N m."""

    what: str

    def read(self, value: Any) -> tuple[float, ...]:
        texts = value if isinstance(value, list | tuple) else [value]
        one = Size(self.what, "torque", 0.1, 500.0, 23.0)
        if not texts or len(texts) > 6:
            raise InputError(f"{self.what} should be one to six torques", given=written(value),
                             instead='["12 Nm", "18 Nm", "23 Nm"]')  # fmt: skip
        found = tuple(one.read(each) for each in texts)
        if any(a >= b for a, b in pairwise(found)):
            raise InputError(f"{self.what} must rise", given=written(value),
                             instead='["12 Nm", "18 Nm", "23 Nm"]')  # fmt: skip
        return found

    def write(self, value: Any) -> list[str]:
        one = Size(self.what, "torque", 0.1, 500.0, 23.0)
        return [one.write(each) for each in value]

    def schema(self) -> dict[str, Any]:
        one = {"type": "string", "pattern": "[0-9]"}
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 1, "maxItems": 6}]}


@dataclass(frozen=True)
class Positions(FieldReader):
    """Where the screws stand in the joint, [[x, y], ...] in mm, held in m."""

    what: str

    def read(self, value: Any) -> tuple[tuple[float, float], ...]:
        wrong = InputError(
            f"{self.what} should be a list of pairs in mm", given=written(value),
            allowed=f"2 to {MOST_BOLTS} pairs", instead="[[0, 0], [80, 0], [80, 60], [0, 60]]",
        )  # fmt: skip
        if not isinstance(value, list | tuple) or not 2 <= len(value) <= MOST_BOLTS:
            raise wrong
        found = []
        for pair in value:
            if not isinstance(pair, list | tuple) or len(pair) != 2:
                raise wrong
            found.append((self._metres(pair[0], wrong), self._metres(pair[1], wrong)))
        if len({(round(x, 6), round(y, 6)) for x, y in found}) != len(found):
            raise InputError("Two screws stand in the same place", given=written(value))
        return tuple(found)

    @staticmethod
    def _metres(value: Any, wrong: InputError) -> float:
        if isinstance(value, str):
            number = parse(value, "length", "mm", "A screw position").value_si
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise wrong
        else:
            number = float(value) * 1e-3 if -1e6 < value < 1e6 else math.inf
        if not abs(number) <= _SLIP_M:
            raise InputError("A screw stands too far away", given=written(value),
                             allowed="up to 500 mm from where you measure")  # fmt: skip
        return number

    def write(self, value: Any) -> list[list[str]]:
        size = Size("", "length", -_SLIP_M, _SLIP_M, 0.08)
        return [[size.write(x), size.write(y)] for x, y in value]

    def schema(self) -> dict[str, Any]:
        end = {"anyOf": [{"type": "number"}, {"type": "string", "pattern": "[0-9]"}]}
        pair = {"type": "array", "items": end, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 2, "maxItems": MOST_BOLTS}


class Fastener(Table):
    """One set of screws, nuts or bolts that are tightened together."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ("Tightening torques and order",)

    name: Annotated[str, Text("The name of a fastener", 24)] = Field(
        description="What they are called: head bolts, sump plug."
    )
    joint: Annotated[str, Word("The joint", JOINTS)] = Field(
        default="other", description="What they hold, so that work on it makes the torque void."
    )
    thread: Annotated[str | None, ThreadName()] = Field(
        default=None, description='"M8x1.25", "1/4 BSF", "2 BA"; pitch only where it is not usual.'
    )
    property_class: Annotated[str | None, Word("The class", CLASSES)] = Field(
        default=None, alias="class", description='Stamped on the head: "8.8".'
    )
    torque_nm: Annotated[float, Size("The torque", "torque", 0.1, 500.0, 23.0)] = Field(
        alias="torque", description="Final torque, from the service manual."
    )
    stages_nm: Annotated[tuple[float, ...], Torques("The stages")] = Field(
        default=(), alias="stages", description="Rising torques, one for each round."
    )
    count: Annotated[int | None, Count("The number of screws", 1, MOST_BOLTS)] = Field(
        default=None, description="How many there are; positions say it too."
    )
    positions_m: Annotated[tuple[tuple[float, float], ...], Positions("The positions")] = Field(
        default=(), alias="positions", description="Where each stands, [x, y] in mm."
    )
    order: Annotated[tuple[int, ...], Counts("The order", MOST_BOLTS)] = Field(
        default=(), description="Order printed by the maker: numbers of the positions, from 1."
    )
    surface: Annotated[str, Word("The surface", SURFACES)] = Field(
        default="oiled", description="dry, oiled, zinc plated or cadmium plated."
    )
    nut_factor: Annotated[float | None, Number("The nut factor", 0.06, 0.6)] = Field(
        default=None, description="K in torque = K x preload x diameter, where you know it."
    )
    into: Annotated[str | None, Word("What they screw into", INTO, {"alloy": "aluminium"})] = Field(
        default=None, description="steel, cast iron or aluminium."
    )
    engaged_m: Annotated[float | None, Size("The engaged length", "length", 0.001, 0.15, 0.015)] = (
        Field(default=None, alias="engaged", description="Length of full thread in the hole.")
    )
    retorque: Annotated[bool, YesNo("Whether to tighten again")] = Field(
        default=False, description="true: tightened again, cold, after the first heat cycles."
    )
    required: Annotated[str, Word("Required before", (*STAGES, "never"))] = Field(
        default="first start",
        description="Before what it must be done: first start, riding, hand-over, never.",
    )
    note: Annotated[str | None, Text("The note", 300)] = Field(
        default=None, description="Anything to mind: new washers, sealant, threads dry."
    )

    @property
    def screws(self) -> int | None:
        """How many there are, as far as the file says."""
        return len(self.positions_m) or self.count


def fastener_clashes(whole: EngineFile) -> Iterator[Clash]:
    """What in the fasteners contradicts itself or another."""
    names: set[str] = set()
    for i, each in enumerate(whole.fasteners):
        at = ("fasteners", i)
        if each.name.lower() in names:
            yield Clash((*at, "name"),
                        InputError("Two fasteners have this name", given=each.name))  # fmt: skip
        names.add(each.name.lower())
        if each.count is not None and each.positions_m and each.count != len(each.positions_m):
            yield Clash(
                (*at, "count"),
                InputError("The count is not that of the positions", given=str(each.count),
                           instead=str(len(each.positions_m))),
            )  # fmt: skip
        if each.stages_nm and not math.isclose(each.stages_nm[-1], each.torque_nm, rel_tol=1e-6):
            yield Clash(
                (*at, "stages"),
                InputError("The last stage is not the final torque",
                           given=f"{each.stages_nm[-1]:g} Nm", allowed=f"{each.torque_nm:g} Nm"),
            )  # fmt: skip
        if each.order and sorted(each.order) != list(range(1, len(each.positions_m) + 1)):
            count = len(each.positions_m)
            yield Clash(
                (*at, "order"),
                InputError(
                    "The order does not name each position once",
                    given=", ".join(map(str, each.order)),
                    allowed=f"1 to {count}, each once" if count else "an order with positions",
                ),
            )  # fmt: skip
