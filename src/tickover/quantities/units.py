"""The bench's units: exact factors to SI, the spellings people use, and the ones we refuse."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tickover.errors import UnitError

if TYPE_CHECKING:
    import pint

INCH_M = Fraction(254, 10000)
THOU_M = INCH_M / 1000
POUND_KG = Fraction(45359237, 100000000)
GRAVITY = Fraction(980665, 100000)
POUND_FORCE_N = POUND_KG * GRAVITY
PSI_PA = POUND_FORCE_N / INCH_M**2
MMHG_PA = Fraction(133322387415, 10**9)
"""Conventional millimetre of mercury (ISO 80000-4 remark; NIST SP 811 B.8)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: SI = factor * value + offset, shown with so many decimals."""

    name: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    decimals: int = 2
    keep: int = 0
    """Decimals kept even when they are zeros."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity: its dimension and what to write when a unit will not do."""

    name: str
    dimension: str
    si: str
    write: str
    may_be_negative: bool = False


def _u(
    name: str,
    dimension: str,
    factor: Fraction | int,
    decimals: int = 2,
    keep: int = 0,
    offset: Fraction = Fraction(0),
) -> Unit:
    return Unit(name, dimension, Fraction(factor), offset, decimals, keep)


_LITRE = Fraction(1, 1000)
_UNITS = (
    _u("m", "length", 1, 3),
    _u("cm", "length", Fraction(1, 100)),
    _u("mm", "length", Fraction(1, 1000), 3, 2),
    _u("um", "length", Fraction(1, 10**6), 1),
    _u("thou", "length", THOU_M, 1),
    _u("in", "length", INCH_M, 4, 3),
    _u("ft", "length", INCH_M * 12, 2),
    _u("km", "length", 1000, 1),
    _u("mi", "length", Fraction(1609344, 1000), 1),
    _u("Pa", "pressure", 1, 0),
    _u("kPa", "pressure", 1000, 1),
    _u("MPa", "pressure", 10**6, 3),
    _u("mbar", "pressure", 100, 0),
    _u("bar", "pressure", 10**5, 1, 1),
    _u("psi", "pressure", PSI_PA, 0),
    _u("kgf/cm2", "pressure", GRAVITY * 10000, 1, 1),
    _u("atm", "pressure", 101325, 3),
    _u("mmHg", "pressure", MMHG_PA, 0),
    _u("cmHg", "pressure", MMHG_PA * 10, 1),
    _u("inHg", "pressure", MMHG_PA * Fraction(254, 10), 1),
    _u("cmH2O", "pressure", GRAVITY * 10, 1),
    _u("Nm", "torque", 1, 1),
    _u("lbf ft", "torque", POUND_FORCE_N * INCH_M * 12, 1),
    _u("lbf in", "torque", POUND_FORCE_N * INCH_M, 0),
    _u("kgf m", "torque", GRAVITY, 2),
    _u("kgf cm", "torque", GRAVITY / 100, 0),
    _u("C", "temperature", 1, 0, 0, Fraction(27315, 100)),
    _u("F", "temperature", Fraction(5, 9), 0, 0, Fraction(27315, 100) - Fraction(160, 9)),
    _u("K", "temperature", 1, 1),
    _u("deg", "angle", 1, 1),
    _u("cc", "volume", Fraction(1, 10**6), 1),
    _u("ml", "volume", Fraction(1, 10**6), 0),
    _u("l", "volume", _LITRE, 2),
    _u("m3", "volume", 1, 6),
    _u("kg", "mass", 1, 2),
    _u("g", "mass", Fraction(1, 1000), 1),
    _u("lb", "mass", POUND_KG, 2),
    _u("s", "time", 1, 1),
    _u("ms", "time", Fraction(1, 1000), 2),
    _u("min", "time", 60, 1),
    _u("h", "time", 3600, 1),
    _u("rpm", "speed", Fraction(1, 60), 0),
    _u("Hz", "speed", 1, 2),
    _u("km/h", "road speed", Fraction(10, 36), 1),
    _u("mph", "road speed", Fraction(1609344, 3600000), 1),
    _u("m/s", "road speed", 1, 2),
    _u("kn", "road speed", Fraction(1852, 3600), 1),
    _u("V", "voltage", 1, 2),
    _u("mV", "voltage", Fraction(1, 1000), 0),
    _u("kV", "voltage", 1000, 1),
    _u("A", "current", 1, 2),
    _u("mA", "current", Fraction(1, 1000), 1),
    _u("ohm", "resistance", 1, 2),
    _u("mohm", "resistance", Fraction(1, 1000), 1),
    _u("kohm", "resistance", 1000, 2),
    _u("Mohm", "resistance", 10**6, 2),
    _u("W", "power", 1, 1),
    _u("kW", "power", 1000, 1),
    _u("N", "force", 1, 0),
    _u("kN", "force", 1000, 2),
    _u("kgf", "force", GRAVITY, 1),
    _u("lbf", "force", POUND_FORCE_N, 1),
    _u("m2", "area", 1, 6),
    _u("cm2", "area", Fraction(1, 10**4), 2),
    _u("mm2", "area", Fraction(1, 10**6), 2),
    _u("ml/min", "flow", Fraction(1, 60 * 10**6), 0),
    _u("l/min", "flow", Fraction(1, 60000), 2),
    _u("m3/s", "flow", 1, 9),
    _u("mm2/s", "viscosity", Fraction(1, 10**6), 1),
    _u("m2/s", "viscosity", 1, 9),
    _u("dB", "level", 1, 1),
    _u("Ah", "charge", 3600, 1),
    _u("1", "ratio", 1, 3),
    _u("%", "ratio", Fraction(1, 100), 1),
)
BY_NAME = {unit.name: unit for unit in _UNITS}

_SPELLINGS = {
    "m": "m metre metres meter meters",
    "cm": "cm",
    "mm": "mm millimetre millimetres millimeter millimeters",
    "um": "um µm μm micron microns micrometre micrometres",
    "thou": "thou",
    "in": 'in inch inches " ″ in.',
    "ft": "ft foot feet",
    "km": "km",
    "mi": "mi mile miles",
    "Pa": "pa",
    "kPa": "kpa",
    "MPa": "mpa n/mm2 n/mm²",
    "mbar": "mbar millibar hpa",
    "bar": "bar",
    "psi": "psi lbf/in2 lbf/in² lb/in2 lb/sq.in lbs/in2",
    "kgf/cm2": "kgf/cm2 kgf/cm² kg/cm2 kg/cm² kp/cm2",
    "atm": "atm",
    "mmHg": "mmhg torr",
    "cmHg": "cmhg",
    "inHg": "inhg",
    "cmH2O": "cmh2o cm-water cmwater",
    "Nm": "nm n.m n·m n*m n-m newtonmetre newtonmetres",
    "lbf ft": "lbfft lbf.ft lbf·ft lbf-ft ftlb ft-lb ftlbf ft-lbf lbft lb-ft lb.ft ft.lb ft·lb",
    "lbf in": "lbfin lbf.in lbf-in inlb in-lb inlbf lbin lb-in in.lb",
    "kgf m": "kgfm kgm kg-m kg.m mkg m-kg kpm kgf.m kgf·m",
    "kgf cm": "kgfcm kgcm kg-cm",
    "C": "c °c degc celsius",
    "F": "f °f degf fahrenheit",
    "K": "k kelvin",
    "deg": "deg ° degree degrees",
    "cc": "cc cm3 cm³",
    "ml": "ml",
    "l": "l litre litres liter liters",
    "m3": "m3 m³",
    "kg": "kg",
    "g": "g gram grams",
    "lb": "lb lbs",
    "s": "s sec second seconds",
    "ms": "ms",
    "min": "min minute minutes",
    "h": "h hour hours",
    "rpm": "rpm r/min rev/min 1/min min-1",
    "Hz": "hz",
    "km/h": "km/h kph kmh",
    "mph": "mph mi/h",
    "m/s": "m/s",
    "kn": "kn knot knots",
    "V": "v volt volts",
    "mV": "mv",
    "kV": "kv",
    "A": "a amp amps ampere amperes",
    "mA": "ma",
    "ohm": "ohm ohms ω Ω",
    "mohm": "mohm mohms milliohm",
    "kohm": "kohm kohms kω kΩ kiloohm",
    "Mohm": "megohm megohms megaohm",
    "W": "w watt watts",
    "kW": "kw",
    "N": "n newton newtons",
    "kN": "kn_force kilonewton",
    "kgf": "kgf kp",
    "lbf": "lbf",
    "m2": "m2 m²",
    "cm2": "cm2 cm²",
    "mm2": "mm2 mm²",
    "ml/min": "ml/min cc/min cm3/min",
    "l/min": "l/min",
    "m3/s": "m3/s",
    "mm2/s": "mm2/s mm²/s cst",
    "m2/s": "m2/s",
    "dB": "db db(a) dba",
    "Ah": "ah",
    "1": "1 :1",
    "%": "% percent pct",
}
# The same spelling may serve two dimensions ('kn': knots or kilonewtons), so look up by both.
_LOOKUP: dict[tuple[str, str], Unit] = {}
for _name, _words in _SPELLINGS.items():
    for _word in _words.split():
        _unit = BY_NAME[_name]
        _LOOKUP[(_unit.dimension, _word.removesuffix("_force"))] = _unit

KINDS = {
    kind.name: kind
    for kind in (
        Kind("clearance", "length", "m", "'0.15 mm' or '6 thou'", may_be_negative=True),
        Kind("shim", "length", "m", "'2.65 mm'"),
        Kind("length", "length", "m", "'61 mm' or '2.4 in'", may_be_negative=True),
        Kind("distance", "length", "m", "'1200 km' or '750 mi'"),
        Kind("pressure", "pressure", "Pa", "'155 psi', '10.7 bar' or '1.2 kgf/cm2'", True),
        Kind("torque", "torque", "Nm", "'23 Nm' or '17 lbf ft'"),
        Kind("temperature", "temperature", "K", "'20 C' or '68 F'", may_be_negative=True),
        Kind("angle", "angle", "deg", "'22 deg'", may_be_negative=True),
        Kind("volume", "volume", "m3", "'32 cc' or '0.5 l'"),
        Kind("mass", "mass", "kg", "'180 kg' or '25 g'"),
        Kind("time", "time", "s", "'30 s' or '5 min'"),
        Kind("speed", "speed", "Hz", "'1100 rpm'"),
        Kind("road speed", "road speed", "m/s", "'80 km/h' or '50 mph'"),
        Kind("voltage", "voltage", "V", "'12.6 V'", may_be_negative=True),
        Kind("current", "current", "A", "'3.5 A'", may_be_negative=True),
        Kind("resistance", "resistance", "ohm", "'4.2 ohm' or '9.5 kohm'"),
        Kind("power", "power", "W", "'55 W' or '32 kW'"),
        Kind("force", "force", "N", "'250 N' or '56 lbf'"),
        Kind("area", "area", "m2", "'1.5 mm2'"),
        Kind("flow", "flow", "m3/s", "'80 ml/min'"),
        Kind("viscosity", "viscosity", "m2/s", "'90 mm2/s'"),
        Kind("level", "level", "dB", "'94 dB'"),
        Kind("charge", "charge", "C", "'12 Ah'"),
        Kind("ratio", "ratio", "1", "'9.4' or '9.4:1'"),
        Kind("percent", "ratio", "1", "'12 %'"),
    )
}

# (spelling, kinds it is refused for or None for all) -> why
_REFUSED: tuple[tuple[tuple[str, ...], frozenset[str] | None, str], ...] = (
    (("mil", "mils"), None, "'mil' is a thousandth of an inch to some and an angle to others"),
    (("th", "t"), None, "that can be read in more than one way"),
    (("'", "′"), None, "a single stroke is feet to some and minutes of arc to others"),
    (("gal", "gallon", "gallons", "pt", "qt", "quart", "floz", "oz"), frozenset({"volume"}),
     "imperial and US measures of that name differ"),
    (("kg", "lb", "lbs", "pound", "pounds", "#"), frozenset({"pressure", "torque", "force"}),
     "that is a mass"),
    (("hp", "cv", "ps", "bhp"), frozenset({"power"}), "horsepower comes in several sizes"),
    (("cal",), None, "that can be read in more than one way"),
)  # fmt: skip


def kind_of(kind: str) -> Kind:
    """The kind of quantity with this name."""
    try:
        return KINDS[kind]
    except KeyError:
        raise UnitError("Unknown kind of quantity", given=kind, allowed=", ".join(KINDS)) from None


def unit_spelled(text: str, kind: str) -> Unit | None:
    """The bench's unit with this spelling, for this kind; None for anything the table has not.

    Examples
    --------
    >>> unit_spelled("lb ft", "torque").name, unit_spelled("cubit", "length")
    ('lbf ft', None)
    """
    return _LOOKUP.get((kind_of(kind).dimension, "".join(text.split()).lower()))


def find_unit(text: str, kind: str) -> Unit:
    """The unit a person means by this spelling, for this kind of quantity.

    Parameters
    ----------
    text : str
        As typed: 'thou', 'kgf/cm2', 'lbf ft'.
    kind : str
        A name from KINDS.

    Raises
    ------
    UnitError
        If the unit is ambiguous, unknown, or of another kind; says what to write instead.

    Examples
    --------
    >>> find_unit("lb ft", "torque").name
    'lbf ft'
    """
    wanted = kind_of(kind)
    squeezed = "".join(text.split()).lower()
    for spellings, kinds, why in _REFUSED:
        if squeezed in spellings and (kinds is None or kind in kinds):
            raise UnitError(f"The unit is refused, {why}", given=text, instead=wanted.write)
    # Case carries meaning only between milli and mega.
    bare = "".join(text.split())
    if bare in ("MΩ", "Mohm", "MOhm"):
        squeezed = "megohm"
    found = _LOOKUP.get((wanted.dimension, squeezed))
    if found is not None:
        return found
    for (dimension, spelling), unit in _LOOKUP.items():
        if spelling == squeezed:
            raise UnitError(
                f"'{unit.name}' is a unit of {dimension}, not of {wanted.name}",
                given=text,
                instead=wanted.write,
            )
    return _ask_pint(text, wanted)


_PINT_BASE = {
    "length": "meter",
    "pressure": "pascal",
    "torque": "newton * meter",
    "volume": "meter ** 3",
    "mass": "kilogram",
    "time": "second",
    "road speed": "meter / second",
    "voltage": "volt",
    "current": "ampere",
    "resistance": "ohm",
    "power": "watt",
    "force": "newton",
    "area": "meter ** 2",
    "flow": "meter ** 3 / second",
    "viscosity": "meter ** 2 / second",
    "charge": "coulomb",
}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Decimal]:
    # Half a second to make, so made once and only for spellings outside the bench's own table.
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)


@lru_cache(maxsize=256)
def _ask_pint(text: str, wanted: Kind) -> Unit:
    from tokenize import TokenError

    import pint

    base = _PINT_BASE.get(wanted.dimension)
    refused = UnitError(f"Not a unit of {wanted.name}", given=text, instead=wanted.write)
    if base is None or not re.fullmatch(r"[A-Za-zµμΩ°²³·/*^. 0-9-]{1,40}", text):
        raise refused
    try:
        factor = _registry().Quantity(Decimal(1), text).to(base).magnitude
    except pint.DimensionalityError:
        raise UnitError(
            f"That unit does not measure a {wanted.name}", given=text, instead=wanted.write
        ) from None
    except (pint.PintError, TokenError, ArithmeticError, ValueError, TypeError,
            AttributeError, SyntaxError, AssertionError, KeyError, IndexError):  # fmt: skip
        # pint reports unreadable text through any of these, depending on where it stumbles.
        raise refused from None
    if not factor.is_finite() or factor <= 0:
        raise refused
    return Unit(" ".join(text.split()), wanted.dimension, Fraction(factor), decimals=3)
