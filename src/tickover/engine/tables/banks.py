"""How the banks and crankpins of a V or flat engine are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.engine.fields import Angle, FieldReader, plain_digits, written
from tickover.engine.words import Counts
from tickover.errors import InputError


@dataclass(frozen=True)
class BankLists(FieldReader):
    """Two lists of cylinder numbers, one for each bank."""

    most: int

    def read(self, value: Any) -> tuple[tuple[int, ...], ...]:
        if not isinstance(value, list | tuple) or len(value) > 2:
            raise InputError(
                "The banks should be two lists of cylinder numbers", given=written(value),
                instead="[[1, 3], [2, 4]]",
            )  # fmt: skip
        return tuple(Counts("The bank", self.most).read(bank) for bank in value)

    def write(self, value: Any) -> list[list[int]]:
        return [list(bank) for bank in value]

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "maxItems": 2, "items": Counts("", self.most).schema()}


@dataclass(frozen=True)
class PinOffset(FieldReader):
    """'shared', or 'offset 76 deg': how far the pins of opposite cylinders stand apart."""

    def read(self, value: Any) -> float:
        words = value.split() if isinstance(value, str) else []
        if [word.lower() for word in words] == ["shared"]:
            return 0.0
        if len(words) > 1 and words[0].lower() == "offset":
            return Angle("The pin offset", 0.0, 180.0).read(" ".join(words[1:]))
        raise InputError(
            "Crankpins are either shared or offset", given=written(value),
            allowed='"shared", or "offset" and an angle up to 180 deg',
            instead='"shared" or "offset 76 deg"',
        )  # fmt: skip

    def write(self, value: Any) -> str:
        return "shared" if value == 0 else f"offset {plain_digits(value)} deg"

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": r"^(shared|offset\s+[0-9].*)$"}
