"""SI numbers to the words of the bench."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from tickover.quantities.units import find_unit, unit_spelled

_NUMBER = re.compile(r"\d*[.,](\d+)|\d+")
_NOT_UNIT = re.compile(r"[\d.,/±+-]+|\b(?:to|under|over)\b|[<>]", re.IGNORECASE)
_FRACTION = re.compile(r"\d\s*/\s*\d")

UNITS_SHOWN: Mapping[str, str] = MappingProxyType(
    {
        "clearance": "mm",
        "shim": "mm",
        "length": "mm",
        "distance": "km",
        "pressure": "bar",
        "torque": "Nm",
        "temperature": "C",
        "angle": "deg",
        "volume": "ml",
        "mass": "kg",
        "time": "s",
        "speed": "rpm",
        "road speed": "km/h",
        "voltage": "V",
        "current": "A",
        "resistance": "ohm",
        "power": "W",
        "force": "N",
        "area": "mm2",
        "flow": "ml/min",
        "viscosity": "mm2/s",
        "level": "dB",
        "charge": "Ah",
        "ratio": "1",
        "percent": "%",
    }
)
"""The unit each kind is shown in when the engine file does not say otherwise."""

_PRETTY = {"C": "°C", "F": "°F", "ohm": "Ω", "kohm": "kΩ", "mohm": "mΩ", "Mohm": "MΩ",
           "kgf/cm2": "kgf/cm²", "mm2": "mm²", "cm2": "cm²", "mm2/s": "mm²/s", "1": "",
           "um": "µm", "deg": "°"}  # fmt: skip


def to_unit(value_si: float, unit: str, kind: str) -> float:
    """A value in SI as a number in another unit of its kind.

    Examples
    --------
    >>> round(to_unit(0.0001524, "thou", "clearance"), 9)
    6.0
    """
    found = find_unit(unit, kind)
    return (value_si - float(found.offset)) / float(found.factor)


def shown_unit(unit: str, value_si: float) -> str:
    """As a meter shows them: '500 kΩ', not '500000 Ω'; '9.7 mA', not '0.0097 A'."""
    if unit == "A" and 0.0 < abs(value_si) < 0.1:
        return "mA"
    if unit != "ohm" or abs(value_si) < 1e3:
        return unit
    return "kohm" if abs(value_si) < 1e6 else "Mohm"


def _digits(number: float, decimals: int, keep: int) -> str:
    text = f"{number:.{decimals}f}"
    if "." in text:
        whole, _, part = text.partition(".")
        part = part.rstrip("0").ljust(keep, "0")
        text = f"{whole}.{part}" if part else whole
    return "0" if text in ("-0", "0") else text


def show(
    value_si: float,
    unit: str,
    kind: str,
    decimals: int | None = None,
    with_unit: bool = True,
) -> str:
    """A value in SI as text in a unit, with the decimals that unit deserves.

    Parameters
    ----------
    value_si : float
        [SI unit of the kind]
    unit, kind : str
        The unit shown and the kind of quantity.
    decimals : int, optional
        Fixed number of decimals; the unit's own habit when left out.
    with_unit : bool
        Whether the unit follows the number.

    Examples
    --------
    >>> show(0.0001524, "thou", "clearance")
    '6 thou'
    >>> show(0.00265, "mm", "shim")
    '2.65 mm'
    >>> show(15000.0, "ohm", "resistance")
    '15 kΩ'
    >>> show(0.0097, "A", "current")
    '9.7 mA'
    """
    if with_unit:
        unit = shown_unit(unit, value_si)
    found = find_unit(unit, kind)
    number = to_unit(value_si, unit, kind)
    if decimals is None:
        text = _digits(number, found.decimals, found.keep)
    else:
        text = _digits(number, decimals, decimals)
    label = _PRETTY.get(found.name, found.name)
    if not with_unit or not label:
        return text
    return f"{text}{label}" if label == "°" else f"{text} {label}"


def places_read(typed: str, unit: str, kind: str) -> int | None:
    """How many decimals a reading was typed with; None where it was typed in another unit.

    A micrometer that shows 60.950 says more than one that shows 60.95: the zero was read too. No
    more than twice the unit's own decimals are believed.

    Examples
    --------
    >>> places_read("60.950 mm", "mm", "length"), places_read("60,95", "mm", "length")
    (3, 2)
    >>> places_read("2.400 in", "mm", "length") is None
    True
    """
    found = find_unit(unit, kind)
    named = {" ".join(part.split()) for part in _NOT_UNIT.split(typed)} - {""}
    if any(unit_spelled(name, kind) != found for name in named):
        return None
    numbers = list(_NUMBER.finditer(typed))
    if not numbers or _FRACTION.search(typed):
        return None
    return min(max(len(each[1] or "") for each in numbers), 2 * found.decimals)


def places_known(uncertainty_si: float, unit: str, kind: str) -> int:
    """How many decimals a worked-out figure deserves: its uncertainty to two significant digits.

    Parameters
    ----------
    uncertainty_si : float
        Standard or expanded uncertainty [SI unit of the kind]
    unit, kind : str

    Notes
    -----
    JCGM 100:2008 (GUM), 7.2.6: two significant digits of the uncertainty, the value to the same
    place; never fewer than the unit always shows.
    Checked in tests/published/test_gum_rectangular.py.

    Examples
    --------
    >>> places_known(0.0000034, "mm", "length"), places_known(0.0004, "mm", "length")
    (4, 2)
    """
    found = find_unit(unit, kind)
    number = abs(uncertainty_si) / float(found.factor)
    if number == 0.0:
        return found.decimals
    places = 1 - math.floor(math.log10(number))
    if round(number, places) >= 10.0 ** (2 - places):  # 0.0996 is 0.10 with two digits
        places -= 1
    return max(found.keep, places)


def places_together(
    values_si: Iterable[float], unit: str, kind: str, typed: Iterable[int | None] = ()
) -> int:
    """How many decimals a column of readings has: enough for each of them, none cut off.

    Examples
    --------
    >>> places_together([0.06095, 0.060952], "mm", "length")
    3
    >>> places_together([0.06095], "mm", "length"), places_together([0.06095], "mm", "length", [3])
    (2, 3)
    """
    found = find_unit(unit, kind)
    texts = [_digits(to_unit(v, unit, kind), found.decimals, found.keep) for v in values_si]
    needed = [len(text.partition(".")[2]) for text in texts]
    return max([found.keep, *needed, *(each for each in typed if each is not None)])


def show_reading(
    low_si: float | None, high_si: float | None, typed: str, unit: str, kind: str
) -> str:
    """A reading in SI as text, with the decimals it was read with.

    Examples
    --------
    >>> show_reading(0.06095, 0.06095, "60.950 mm", "mm", "length")
    '60.950 mm'
    >>> show_reading(13450.0, 13450.0, "13450 ohm", "ohm", "resistance")
    '13.45 kΩ'
    """
    ends = [end for end in (low_si, high_si) if end is not None]
    as_typed = all(shown_unit(unit, end) == unit for end in ends)
    if not ends or not as_typed:
        return show_range(low_si, high_si, unit, kind)
    places = places_together(ends, unit, kind, [places_read(typed, unit, kind)])
    return show_range(low_si, high_si, unit, kind, decimals=places)


def show_range(
    low_si: float | None,
    high_si: float | None,
    unit: str,
    kind: str,
    with_unit: bool = True,
    decimals: int | None = None,
) -> str:
    """A range in SI as text: '0.14 to 0.15 mm'; an open end is said in words.

    Both ends have the same number of decimals, those of the finer one unless `decimals` says.

    Examples
    --------
    >>> show_range(0.00014, 0.00015, "mm", "clearance")
    '0.14 to 0.15 mm'
    >>> show_range(None, 0.0000254, "thou", "clearance")
    'under 1 thou'
    >>> show_range(12e3, 15e3, "ohm", "resistance")
    '12 to 15 kΩ'
    """
    if low_si is None and high_si is None:
        return "unknown"
    if low_si is None or high_si is None:
        word, end = ("over", low_si) if high_si is None else ("under", high_si)
        assert end is not None
        return f"{word} {show(end, unit, kind, decimals, with_unit)}"
    if with_unit:
        unit = shown_unit(unit, low_si or high_si)
    if decimals is None:
        decimals = places_together((low_si, high_si), unit, kind)
    low = show(low_si, unit, kind, decimals, with_unit=False)
    high = show(high_si, unit, kind, decimals, with_unit=with_unit)
    if low == show(high_si, unit, kind, decimals, with_unit=False):
        return high
    return f"{low} to {high}"
