"""SI numbers to the words of the bench."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from tickover.quantities.units import find_unit

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


def show_range(
    low_si: float | None, high_si: float | None, unit: str, kind: str, with_unit: bool = True
) -> str:
    """A range in SI as text: '0.14 to 0.15 mm'; an open end is said in words.

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
    if low_si is None:
        assert high_si is not None
        return f"under {show(high_si, unit, kind, with_unit=with_unit)}"
    if high_si is None:
        return f"over {show(low_si, unit, kind, with_unit=with_unit)}"
    if with_unit:
        unit = shown_unit(unit, low_si or high_si)
    low = show(low_si, unit, kind, with_unit=False)
    high = show(high_si, unit, kind, with_unit=with_unit)
    if low == show(high_si, unit, kind, with_unit=False):
        return high
    return f"{low} to {high}"
