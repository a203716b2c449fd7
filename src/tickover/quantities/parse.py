"""Typed text to exact numbers: values, ranges and series."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from tickover.errors import InputError, UnitError
from tickover.quantities.units import Unit, find_unit, kind_of

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,2})?"
_FRACTION = r"(?:\d+\s+)?\d+/\d+"
_VALUE = re.compile(rf"\s*(?P<number>{_FRACTION}|{_NUMBER})\s*(?P<unit>.*?)\s*", re.DOTALL)
_SPLIT = re.compile(r"\.\.\.?|…|–|—|\bto\b|(?<=[\w.\"%°])\s*-\s*(?=[\d.,])")
_LONGEST_SHOWN = 30  # characters of what was typed, to be said again twice in one sentence
_LONGEST = 120
_LARGEST_SERIES = 2000


@dataclass(frozen=True, slots=True)
class Quantity:
    """A typed value: exact in SI, with the unit and the words as typed."""

    exact: Fraction
    unit: str
    typed: str

    @property
    def value_si(self) -> float:
        """The value in SI units, rounded once."""
        return float(self.exact)


@dataclass(frozen=True, slots=True)
class Range:
    """A typed range, low to high, exact in SI."""

    low: Fraction
    high: Fraction
    unit: str
    typed: str

    @property
    def low_si(self) -> float:
        """Lower end in SI units."""
        return float(self.low)

    @property
    def high_si(self) -> float:
        """Upper end in SI units."""
        return float(self.high)


def parse_number(text: str, what: str = "A number") -> Fraction:
    """A bare number, decimal point or decimal comma, exactly.

    Raises
    ------
    InputError
        If it is not one number; '1.234,5' and '1,234.5' are refused, because a separator of
        thousands cannot be told from a decimal one.

    Examples
    --------
    >>> parse_number("0,15") == parse_number(".15")
    True
    """
    stripped = text.strip()
    _see_length(stripped, what)
    if re.fullmatch(_FRACTION, stripped):
        *whole, part = stripped.split()  # what parts them may be any blank, as in a pasted table
        top, bottom = part.split("/")
        if int(bottom) == 0:
            raise InputError(f"{what} divides by zero", given=text, instead="'1/4'")
        return Fraction(int(whole[0]) if whole else 0) + Fraction(int(top), int(bottom))
    if not re.fullmatch(_NUMBER, stripped):
        raise InputError(
            f"{what} was expected", given=text, allowed="digits with one point or comma",
            instead="'0.15' or '0,15'",
        )  # fmt: skip
    return Fraction(stripped.replace(",", "."))


def whole_number(text: str) -> int | None:
    """A whole number written in plain digits, up to nine of them; None for anything else.

    Python's own tests call '\u00b2' a digit and its `int` does not.

    >>> whole_number(" 12 "), whole_number("\u00b2"), whole_number("-1"), whole_number("1" * 10)
    (12, None, None, None)
    """
    stripped = text.strip()
    return int(stripped) if re.fullmatch(r"[0-9]{1,9}", stripped) else None


def _see_length(text: str, what: str) -> None:
    # also for Python, which reads no number of more than 4300 digits
    if len(text) > _LONGEST:
        raise InputError(f"{what} is too long", given=text, allowed=f"{_LONGEST} characters")


def _split_value(text: str, kind: str, what: str) -> tuple[Fraction, str]:
    _see_length(text, what)
    match = _VALUE.fullmatch(text)
    if match is None or not text.strip():
        raise InputError(f"{what} needs a number", given=text, instead=kind_of(kind).write)
    unit = match["unit"]
    if unit[:1] in tuple("0123456789.,+-") and unit:
        raise InputError(
            f"{what} can be read in more than one way", given=text,
            allowed="one number with one decimal point or comma, then a unit",
            instead=kind_of(kind).write,
        )  # fmt: skip
    return parse_number(match["number"], what), unit


def _resolve(unit_text: str, kind: str, default: str | None, typed: str) -> Unit:
    if unit_text:
        return find_unit(unit_text, kind)
    if default is None:
        if kind in ("ratio",):
            return find_unit("1", kind)
        raise UnitError("The unit is missing", given=typed, instead=_with_units(typed, kind))
    return find_unit(default, kind)


def _with_units(typed: str, kind: str) -> str:
    """What was typed with each unit the kind's own example names: '5-7 mm' or '5-7 thou'."""
    example = kind_of(kind).write
    units = re.findall(r"'[0-9][0-9.,/]* ?([^'0-9][^']*)'", example)
    if not units or len(typed) > _LONGEST_SHOWN:
        return example
    return " or ".join(f"'{typed.strip()} {unit}'" for unit in units)


def _to_si(number: Fraction, unit: Unit, kind: str, typed: str, what: str) -> Fraction:
    value = number * unit.factor + unit.offset
    if unit.dimension == "temperature":
        if value < 0:
            raise InputError(f"{what} is below absolute zero", given=typed, instead="'20 C'")
    elif value < 0 and not kind_of(kind).may_be_negative:
        raise InputError(f"{what} cannot be negative", given=typed, instead=kind_of(kind).write)
    return value


def parse(text: str, kind: str, unit: str | None = None, what: str = "") -> Quantity:
    """One typed value of a kind, exactly.

    Parameters
    ----------
    text : str
        As typed: '0.15', '0,15 mm', '6 thou', '.006 in', '155 psi', '20 C', '1/4 in'.
    kind : str
        A name from `tickover.quantities.KINDS`, such as 'clearance'.
    unit : str, optional
        The unit meant when none is typed; without it a missing unit is refused.
    what : str, optional
        Subject of error sentences; the kind when left out.

    Returns
    -------
    Quantity

    Raises
    ------
    InputError, UnitError
        With what was given, what is allowed and what to write.

    Examples
    --------
    >>> parse("6 thou", "clearance").value_si
    0.0001524
    >>> parse("0,15", "clearance", unit="mm").value_si
    0.00015
    """
    subject = what or f"A {kind}"
    number, unit_text = _split_value(text, kind, subject)
    if unit_text.startswith(":") and kind == "ratio":
        unit_text = unit_text.replace(" ", "")
    found = _resolve(unit_text, kind, unit, text)
    return Quantity(_to_si(number, found, kind, text, subject), found.name, text.strip())


def parse_range(text: str, kind: str, unit: str | None = None, what: str = "") -> Range:
    """A typed range such as '6-8 thou', '0.13..0.18 mm', '0.13 to 0.18 mm' or '0.15 +- 0.02 mm'.

    A single value is a range of no width. A unit typed once, at the end, serves both ends.

    Examples
    --------
    >>> parse_range("6-8 thou", "clearance").high_si
    0.0002032
    """
    subject = what or f"A {kind} range"
    _see_length(text, subject)
    around = re.split(r"\+\s*/?\s*-|±", text)
    if len(around) == 2:
        width_number, width_unit = _split_value(around[1], kind, subject)
        middle_number, middle_unit = _split_value(around[0], kind, subject)
        found = _resolve(width_unit or middle_unit, kind, unit, text)
        middle_found = _resolve(middle_unit, kind, found.name, text) if middle_unit else found
        middle = _to_si(middle_number, middle_found, kind, text, subject)
        half = abs(width_number) * found.factor
        return Range(middle - half, middle + half, found.name, text.strip())
    parts = list(_SPLIT.split(text))
    if len(parts) == 1:
        single = parse(text, kind, unit, subject)
        return Range(single.exact, single.exact, single.unit, text.strip())
    if len(parts) != 2:
        raise InputError(f"{subject} has more than two ends", given=text, instead="'6-8 thou'")
    high_number, high_unit = _split_value(parts[1], kind, subject)
    low_number, low_unit = _split_value(parts[0], kind, subject)
    found = _resolve(high_unit or low_unit, kind, unit, text)
    low_found = _resolve(low_unit, kind, found.name, text) if low_unit else found
    low = _to_si(low_number, low_found, kind, text, subject)
    high = _to_si(high_number, found, kind, text, subject)
    if low > high:
        raise InputError(f"{subject} runs backwards", given=text, allowed="the smaller end first")
    return Range(low, high, found.name, text.strip())


def parse_series(
    text: str, kind: str, unit: str | None = None, what: str = ""
) -> tuple[Fraction, ...]:
    """The sizes in a typed series such as '2.00..3.20 mm step 0.05 mm', exactly, in SI.

    A plain value is a series of one.

    Examples
    --------
    >>> [float(size) for size in parse_series("2.00..2.10 mm step 0.05 mm", "shim")]
    [0.002, 0.00205, 0.0021]
    """
    subject = what or f"A {kind} series"
    head, word, tail = text.partition("step")
    ends = parse_range(head, kind, unit, subject)
    if not word:
        if ends.low != ends.high:
            raise InputError(
                f"{subject} has ends but no step", given=text,
                instead="'2.00..3.20 mm step 0.05 mm'",
            )  # fmt: skip
        return (ends.low,)
    step = parse(tail, kind, unit or ends.unit, f"The step of {subject.lower()}").exact
    if step <= 0:
        raise InputError(f"{subject} needs a step above zero", given=text)
    count, rest = divmod(ends.high - ends.low, step)
    if rest != 0:
        raise InputError(
            f"{subject} does not end on a step", given=text,
            allowed="ends that lie a whole number of steps apart",
        )  # fmt: skip
    if count >= _LARGEST_SERIES:
        raise InputError(
            f"{subject} has too many sizes", given=text, allowed=f"{_LARGEST_SERIES} sizes"
        )
    return tuple(ends.low + step * i for i in range(int(count) + 1))
