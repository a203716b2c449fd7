"""What tables that stand several times in a file ([[fits]], [[fasteners]]) have in common."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BeforeValidator

from tickover.engine.fields import FieldReader, written
from tickover.engine.table import Table
from tickover.errors import InputError

MOST = 200
"""Tables of one name in a file; a machine has fewer, a slip of the hand may have more."""

STAGES = ("first start", "riding", "hand-over")
"""What a check may be required before, in the order of the job."""

_PLACE = re.compile(r"[a-z][a-z0-9 ]*")
_LONGEST_PLACE = 24


def several(name: str) -> BeforeValidator:
    """Takes a list of tables; anything else is refused with how to write one.

    Parameters
    ----------
    name : str
        Of the table, as in [[fits]].
    """

    def check(value: Any) -> Any:
        instead = f"[[{name}]] on a line of its own for each, with its keys below it"
        if not isinstance(value, list | tuple):
            raise InputError(
                f"[{name}] may stand several times, so it is written in double brackets",
                given=written(value), instead=instead,
            )  # fmt: skip
        if len(value) > MOST:
            raise InputError(
                f"There are too many [[{name}]]", given=str(len(value)), allowed=f"up to {MOST}"
            )
        strange = next((each for each in value if not isinstance(each, Mapping | Table)), None)
        if strange is not None:
            raise InputError(f"[[{name}]] should be tables", given=written(strange),
                             instead=instead)  # fmt: skip
        return value

    return BeforeValidator(check)


@dataclass(frozen=True)
class Words(FieldReader):
    """A short list of words, or one word; in small letters, none twice."""

    what: str
    most: int = 24

    def read(self, value: Any) -> tuple[str, ...]:
        words = [value] if isinstance(value, str) else value
        if not isinstance(words, list | tuple) or len(words) > self.most:
            raise InputError(
                f"{self.what} should be a list of words", given=written(value),
                allowed=f"up to {self.most}", instead='["cyl1", "cyl2"]',
            )  # fmt: skip
        found: list[str] = []
        for each in words:
            word = " ".join(each.split()).lower() if isinstance(each, str) else ""
            if not _PLACE.fullmatch(word) or len(word) > _LONGEST_PLACE:
                raise InputError(
                    f"{self.what} holds something that is no short word", given=written(each),
                    allowed=f"letters, digits and spaces, a letter first, up to {_LONGEST_PLACE}",
                    instead='["cyl1", "cyl2"]',
                )  # fmt: skip
            if word in found:
                raise InputError(f"{self.what} names one thing twice", given=word)
            found.append(word)
        return tuple(found)

    def write(self, value: Any) -> list[str]:
        return list(value)

    def schema(self) -> dict[str, Any]:
        word = {"type": "string", "minLength": 1, "maxLength": _LONGEST_PLACE}
        return {"anyOf": [word, {"type": "array", "items": word, "maxItems": self.most}]}


@dataclass(frozen=True)
class YesNo(FieldReader):
    """true or false, as TOML writes them."""

    what: str

    def read(self, value: Any) -> bool:
        if not isinstance(value, bool):
            raise InputError(f"{self.what} is either true or false", given=written(value),
                             allowed="true or false, without quotes")  # fmt: skip
        return value

    def schema(self) -> dict[str, Any]:
        return {"type": "boolean"}
