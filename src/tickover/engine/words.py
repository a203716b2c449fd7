"""Plain values of an engine file: counts, numbers, words of a few, free words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tickover.engine.fields import FieldReader, written
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError
from tickover.quantities import parse_number


@dataclass(frozen=True)
class Count(FieldReader):
    """A whole number within bounds."""

    what: str
    low: int
    high: int

    def read(self, value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputError(
                f"{self.what} should be a whole number", given=written(value),
                allowed=f"{self.low} to {self.high}, without quotes",
            )  # fmt: skip
        if not self.low <= value <= self.high:
            raise InputError(
                f"{self.what} is outside what is possible", given=written(value),
                allowed=f"{self.low} to {self.high}",
            )  # fmt: skip
        return value

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True)
class Counts(FieldReader):
    """A list of cylinder numbers."""

    what: str
    high: int

    def read(self, value: Any) -> tuple[int, ...]:
        one = Count(f"Each entry of {self.what[0].lower()}{self.what[1:]}", 1, self.high)
        if not isinstance(value, list | tuple):
            raise InputError(
                f"{self.what} should be a list", given=written(value), instead="[1, 3, 4, 2]"
            )
        if len(value) > self.high:
            raise InputError(
                f"{self.what} is too long", given=written(value), allowed=f"{self.high} entries"
            )
        return tuple(one.read(each) for each in value)

    def write(self, value: Any) -> list[int]:
        return list(value)

    def schema(self) -> dict[str, Any]:
        one = {"type": "integer", "minimum": 1, "maximum": self.high}
        return {"type": "array", "items": one, "maxItems": self.high}


@dataclass(frozen=True)
class Number(FieldReader):
    """A bare number within bounds, such as a price or a factor."""

    what: str
    low: float
    high: float

    def read(self, value: Any) -> float:
        if isinstance(value, str):
            number = float(parse_number(value, self.what))
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{self.what} should be a number", given=written(value))
        else:
            # Compared before it becomes a float: a whole number may be too large for one.
            number = float(value) if -1e300 < value < 1e300 else math.inf
        if not self.low <= number <= self.high:
            raise InputError(
                f"{self.what} is outside what is possible", given=written(value),
                allowed=f"{self.low:g} to {self.high:g}",
            )  # fmt: skip
        return number

    def schema(self) -> dict[str, Any]:
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"type": "string", "pattern": r"^\s*[0-9.,]+\s*$"}]}


@dataclass(frozen=True)
class Word(FieldReader):
    """One of a few words, in any case; `also` maps other ways of saying it to them."""

    what: str
    words: tuple[str, ...]
    also: Mapping[str, str] = field(default_factory=dict, hash=False)

    def read(self, value: Any) -> str:
        allowed = ", ".join(f'"{word}"' for word in self.words)
        if not isinstance(value, str):
            raise InputError(f"{self.what} should be a word", given=written(value), allowed=allowed)
        squeezed = " ".join(value.split()).lower()
        for word in self.words:
            if word.lower() == squeezed:
                return word
        if squeezed in self.also:
            return self.also[squeezed]
        near = nearest_word(squeezed, (*self.words, *self.also))
        near = self.also.get(near, near) if near else None
        raise InputError(
            f"{self.what} is not one of the words known", given=value, allowed=allowed,
            instead=f'"{near}" (did you mean that?)' if near else "",
        )  # fmt: skip

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "enum": [*self.words, *self.also]}


@dataclass(frozen=True)
class Text(FieldReader):
    """Free words on one line, or several where `lines` is set."""

    what: str
    longest: int = 120
    lines: bool = False

    def read(self, value: Any) -> str:
        if not isinstance(value, str):
            raise InputError(
                f"{self.what} should be text in quotes", given=written(value), instead='"..."'
            )
        kept = value.strip()
        if not kept:
            raise InputError(f"{self.what} is empty", allowed=f"1 to {self.longest} characters")
        if len(kept) > self.longest:
            raise InputError(
                f"{self.what} is too long", given=kept, allowed=f"{self.longest} characters"
            )
        allowed_control = "\n\t" if self.lines else ""
        if any((ord(c) < 32 and c not in allowed_control) or ord(c) == 127 for c in kept):
            raise InputError(f"{self.what} holds characters that cannot be printed", given=kept)
        return kept

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.longest}
