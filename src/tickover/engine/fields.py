"""The kinds of value an engine file may hold, each read, checked and written back in one place.

Each class here is put into an annotation (``bore_m: Annotated[float, Size("length", ...)]``).
It turns what a person wrote into an SI number or a plain word, or raises an InputError that says
what was given, what is allowed and what to write; it writes the value back as it could have been
written; and it describes to an editor what may stand there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from reprlib import Repr
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from tickover.engine.suggest import is_decimal_slip, slip_factor
from tickover.errors import InputError
from tickover.quantities import UNITS_SHOWN, kind_of, parse, parse_range, parse_series, to_unit

_NATURAL = {**UNITS_SHOWN, "percent": "%", "pressure": "MPa"}
_KEPT_UNITS = ("mm", "thou", "in", "C", "F", "km", "mi", "Nm", "lbf ft", "N")
_WITH_UNIT = r"^\s*[+-]?[0-9.,][0-9.,/ ]*\s*[^0-9\s.,+-].*$"
_SHORT = Repr()
_SHORT.maxlevel = 3


def written(value: object) -> str:
    """A value of an engine file as it may be shown in a sentence, never long, never deep."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    return _SHORT.repr(value)


def plain_digits(value: float) -> str:
    """A float in digits without an exponent, such that reading it gives the same float.

    Examples
    --------
    >>> plain_digits(1.3e-05)
    '0.000013'
    """
    return format(Decimal(repr(value)), "f")


class FieldReader:
    """What the classes below share: how pydantic is told of them."""

    def read(self, value: Any) -> Any:
        """The value meant by what stands in the file; InputError if it cannot be used."""
        raise NotImplementedError

    def write(self, value: Any) -> Any:
        """The value as it could have been written in the file."""
        return value

    def schema(self) -> dict[str, Any]:
        """What may stand in the file, for an editor."""
        raise NotImplementedError

    def _write_if_there(self, value: Any) -> Any:
        return None if value is None else self.write(value)

    def __get_pydantic_core_schema__(self, _: Any, __: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(
                self._write_if_there, when_used="json"
            ),
        )

    def __get_pydantic_json_schema__(
        self, _: CoreSchema, __: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return self.schema()


@dataclass(frozen=True)
class Size(FieldReader):
    """A quantity with its unit, such as '61 mm', held in SI.

    `bare` is the unit of a number written without one; without it a bare number is refused.
    `natural` is the unit of the bench for this size, where it is not the usual one of its kind.
    """

    what: str
    kind: str
    low: float
    high: float
    typical: float
    bare: str | None = None
    natural: str = ""

    def read(self, value: Any) -> float:
        text = self.text(value)
        found = parse(text, self.kind, self.bare, self.what)
        self._possible((found.value_si,), text, found.unit)
        return found.value_si

    def write(self, value: Any) -> str:
        if self.kind == "ratio":
            return plain_digits(value)
        # A plain 1 is no unit a person may type, so a share is written in percent.
        if self.kind == "percent":
            return f"{format(Decimal(repr(value)) * 100, 'f')} %"
        return f"{plain_digits(value)} {kind_of(self.kind).si}"

    def schema(self) -> dict[str, Any]:
        text = {"type": "string", "pattern": _WITH_UNIT, "examples": [self._show(self.typical)]}
        if self.bare is None:
            return text
        bounds = {} if self.kind == "percent" else {"minimum": self.low, "maximum": self.high}
        return {"anyOf": [{"type": "number", **bounds}, {"type": "string", "pattern": r"[0-9]"}]}

    def text(self, value: Any) -> str:
        """What was written, as text, once it is known to be a size with its unit."""
        if isinstance(value, str):
            return value
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(
                f"{self.what} should be a size", given=written(value), instead=self._example()
            )
        if not math.isfinite(value):
            raise InputError(
                f"{self.what} must be a number", given=written(value), instead=self._example()
            )
        digits = plain_digits(float(value)).removesuffix(".0")
        if self.bare is None:
            raise InputError(
                f"{self.what} has no unit", given=digits, allowed="a number with its unit, quoted",
                instead=self._example(),
            )  # fmt: skip
        return digits

    def _possible(self, ends: tuple[float, ...], text: str, unit: str) -> None:
        if all(self.low <= end <= self.high for end in ends):
            return
        factor = slip_factor(ends, self.low, self.high, self.typical)
        instead = self._example()
        if factor is not None:
            meant_unit = unit if is_decimal_slip(factor) and unit in _KEPT_UNITS else None
            meant = "..".join(self._show(end * factor, meant_unit) for end in ends)
            quote = "" if self.kind == "ratio" else '"'
            instead = f"{quote}{meant}{quote} (did you mean that?)"
        raise InputError(
            f"{self.what} is not a size this can have", given=text,
            allowed=f"{self._show(self.low)} to {self._show(self.high)}", instead=instead,
        )  # fmt: skip

    def _show(self, value: float, unit: str | None = None) -> str:
        name = unit or self.natural or _NATURAL[self.kind]
        return f"{round(to_unit(value, name, self.kind), 4):g} {name}".removesuffix(" 1")

    def _example(self) -> str:
        return f'"{self._show(self.typical)}" (for example)'


@dataclass(frozen=True)
class Limits(Size):
    """Two ends with a unit, such as '0.08..0.13 mm', held as (low, high) in SI."""

    def read(self, value: Any) -> tuple[float, float]:  # type: ignore[override]
        text = self.text(value)
        try:
            found = parse_range(text, self.kind, self.bare, self.what)
        except InputError as wrong:
            if "backwards" in wrong.problem:
                ends = [end.strip() for end in text.replace("..", "|").split("|")]
                swapped = f'"{_swap(ends)}"' if len(ends) == 2 else self._example()
                raise InputError(
                    f"{self.what} stands the wrong way round", given=text,
                    allowed="the smaller end first", instead=swapped,
                ) from None  # fmt: skip
            raise
        self._possible((found.low_si, found.high_si), text, found.unit)
        if found.low_si == found.high_si:
            raise InputError(
                f"{self.what} needs two ends", given=text,
                allowed="a smallest and a largest, or a size with its tolerance",
                instead=self._example(),
            )  # fmt: skip
        return found.low_si, found.high_si

    def write(self, value: Any) -> str:
        si = kind_of(self.kind).si
        return f"{plain_digits(value[0])} {si}..{plain_digits(value[1])} {si}"

    def _example(self) -> str:
        low, high = self.typical * 0.8, self.typical * 1.2
        return f'"{self._show(low).split()[0]}..{self._show(high)}" (for example)'


def _swap(ends: list[str]) -> str:
    """Both ends exchanged; a unit typed once, at the end, stays at the end."""
    low = ends[1]
    high = ends[0]
    number = low.rstrip('abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZµ"° ')
    unit = low[len(number) :].strip()
    if unit and high[-1:].isdigit():
        return f"{number.strip()}..{high} {unit}"
    return f"{low}..{high}"


@dataclass(frozen=True)
class Sizes(Size):
    """A series, or a list of series and single sizes, held sorted without repetition in SI."""

    def read(self, value: Any) -> tuple[float, ...]:  # type: ignore[override]
        lines = value if isinstance(value, list | tuple) else [value]
        if not lines:
            raise InputError(f"{self.what} has no sizes", instead=self._example())
        sizes: set[float] = set()
        for line in lines:
            text = self.text(line)
            try:
                series = parse_series(text, self.kind, self.bare, self.what)
            except InputError as wrong:
                if len(lines) == 1 or wrong.given:
                    raise
                raise InputError(wrong.problem, given=text, allowed=wrong.allowed,
                                 instead=wrong.instead) from None  # fmt: skip
            self._possible((float(series[0]), float(series[-1])), text, "")
            sizes.update(float(size) for size in series)
        return tuple(sorted(sizes))

    def write(self, value: Any) -> list[str]:  # type: ignore[override]
        si = kind_of(self.kind).si
        return [f"{plain_digits(size)} {si}" for size in value]

    def schema(self) -> dict[str, Any]:
        line = {"type": "string", "pattern": _WITH_UNIT}
        return {"anyOf": [line, {"type": "array", "items": line, "minItems": 1}]}

    def _example(self) -> str:
        low, high = self._show(self.low), self._show(self.high)
        return f'"{low.split()[0]}..{high} step {self._show((self.high - self.low) / 10)}"'


@dataclass(frozen=True)
class Angle(FieldReader):
    """An angle within bounds; a plain number is degrees."""

    what: str
    low: float
    high: float

    def read(self, value: Any) -> float:
        text = Size(self.what, "angle", self.low, self.high, self.high / 2, bare="deg").text(value)
        angle = parse(text, "angle", "deg", self.what).value_si
        if not self.low <= angle <= self.high:
            raise InputError(
                f"{self.what} is outside what is possible", given=text,
                allowed=f"{self.low:g} to {self.high:g} deg",
            )  # fmt: skip
        return angle

    def write(self, value: Any) -> str:
        return f"{plain_digits(value)} deg"

    def schema(self) -> dict[str, Any]:
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"type": "string", "pattern": _WITH_UNIT}]}


@dataclass(frozen=True)
class Angles(FieldReader):
    """A list of crank angles; plain numbers are degrees."""

    what: str
    most: int

    def read(self, value: Any) -> tuple[float, ...]:
        one = Angle(f"Each entry of {self.what[0].lower()}{self.what[1:]}", 0.0, 719.9)
        if not isinstance(value, list | tuple):
            raise InputError(
                f"{self.what} should be a list", given=written(value), instead="[0, 240, 480]"
            )
        if len(value) > self.most:
            raise InputError(
                f"{self.what} is too long", given=written(value), allowed=f"{self.most} entries"
            )
        return tuple(one.read(each) for each in value)

    def write(self, value: Any) -> list[float]:
        return list(value)

    def schema(self) -> dict[str, Any]:
        one = Angle(self.what, 0.0, 719.9).schema()
        return {"type": "array", "items": one, "maxItems": self.most}
