"""Colours of wires: the letter codes of IEC 60757, one code to a field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.engine.fields import FieldReader, written
from tickover.errors import InputError

COLOURS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green",
    "BU": "blue", "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold",
    "SR": "silver", "TQ": "turquoise",
}  # fmt: skip
"""IEC 60757:2021: code to colour, in the order of its table."""

NOT_ON_WIRES = ("GD", "SR")
"""Not among the colours IEC 60445 has for conductors."""

_ALSO = {**{word.upper(): code for code, word in COLOURS.items()}, "GRAY": "GY", "PURPLE": "VT"}


@dataclass(frozen=True)
class Colour(FieldReader):
    """One colour of a wire, main or tracer: 'RD', or 'red'."""

    what: str

    def read(self, value: Any) -> str:
        allowed = ", ".join(f"{c} {w}" for c, w in COLOURS.items() if c not in NOT_ON_WIRES)
        if not isinstance(value, str):
            raise InputError(f"{self.what} should be a colour code", given=written(value),
                             allowed=allowed)  # fmt: skip
        code = value.strip().upper()
        code = _ALSO.get(code, code)
        if code in NOT_ON_WIRES:
            raise InputError(f"{self.what} is no colour of a wire", given=value, allowed=allowed)
        if code in COLOURS:
            return code
        halves = [_ALSO.get(part, part) for part in _parts(code)]
        if len(halves) == 2 and all(half in COLOURS for half in halves):
            raise InputError(
                f"{self.what} holds two colours: main and tracer are fields of their own",
                given=value, allowed="one code", instead=f'colour = "{halves[0]}" and '
                f'tracer = "{halves[1]}"',
            )  # fmt: skip
        raise InputError(f"{self.what} is no code of IEC 60757", given=value, allowed=allowed)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 2, "maxLength": 12}


def _parts(code: str) -> list[str]:
    for sign in "/-+ ":
        if sign in code:
            return [part.strip() for part in code.split(sign) if part.strip()]
    return [code[:2], code[2:]] if len(code) == 4 else [code]
