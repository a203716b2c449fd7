"""What people type, and what they are told when it cannot be used."""

from __future__ import annotations

import pytest

from tickover.errors import InputError, UnitError
from tickover.quantities import Measured, carry, parse, parse_range, parse_series, show, show_range


@pytest.mark.parametrize(
    ("text", "unit", "metres"),
    [
        ("0.15", "mm", 0.00015),
        ("0,15 mm", None, 0.00015),
        (" 6 thou ", None, 0.0001524),
        (".006 in", None, 0.0001524),
        ("6", "thou", 0.0001524),
        ("150 um", None, 0.00015),
        ("150 micrometer", None, 0.00015),
        ("1.5e-1 mm", None, 0.00015),
    ],
)
def test_clearance_as_people_type_it(text: str, unit: str | None, metres: float) -> None:
    assert parse(text, "clearance", unit).value_si == pytest.approx(metres, rel=1e-12)


def test_typed_unit_wins_over_the_shown_one_and_is_kept() -> None:
    typed = parse("6 thou", "clearance", unit="mm")
    assert (typed.unit, typed.typed) == ("thou", "6 thou")


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("6-8 thou", 0.0001524, 0.0002032),
        ("6 to 8 thou", 0.0001524, 0.0002032),
        ("0.13..0.18 mm", 0.00013, 0.00018),
        ("0,13–0,18 mm", 0.00013, 0.00018),
        ("6 thou - 0.2 mm", 0.0001524, 0.0002),
        ("0.15 ± 0.02 mm", 0.00013, 0.00017),
        ("0.15 +- 0.02 mm", 0.00013, 0.00017),
        ("0.15 mm", 0.00015, 0.00015),
    ],
)
def test_ranges_as_people_type_them(text: str, low: float, high: float) -> None:
    found = parse_range(text, "clearance")
    assert (found.low_si, found.high_si) == (
        pytest.approx(low, rel=1e-12),
        pytest.approx(high, rel=1e-12),
    )


@pytest.mark.parametrize("text", ["6 mil", "6 mils", "6'", "3 th"])
def test_ambiguous_units_are_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(UnitError) as refused:
        parse(text, "clearance")
    assert "'6 thou'" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("11 kg", "pressure", "that is a mass"),
        ("155 lb", "pressure", "psi"),
        ("2 pt", "volume", "imperial and US"),
        ("30 hp", "power", "several sizes"),
        ("6 kPa", "clearance", "unit of pressure"),
        ("6 furlongs per fortnight", "length", "61 mm"),
        ("6", "pressure", "unit is missing"),
        ("abc", "clearance", "needs a number"),
        ("", "clearance", "needs a number"),
        ("1.234,5 mm", "length", "more than one way"),
        ("1,234.5 mm", "length", "more than one way"),
        ("-3 mm", "shim", "cannot be negative"),
        ("-300 C", "temperature", "absolute zero"),
        ("1/0 in", "length", "divides by zero"),
    ],
)
def test_unusable_text_gets_a_sentence_that_helps(text: str, kind: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        parse(text, kind)
    assert says in str(refused.value)


@pytest.mark.parametrize("text", ["8-6 thou", "1..2..3 mm", "0.1.. mm", "x" * 500])
def test_unusable_ranges_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_range(text, "clearance")


@pytest.mark.parametrize(
    "text", ["2..3 mm", "2..3 mm step 0 mm", "2..3 mm step 0.3 mm", "0..3 mm step 0.001 mm"]
)
def test_unusable_series_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_series(text, "shim")


def test_numbers_are_shown_with_the_decimals_the_unit_deserves() -> None:
    assert show(0.0001, "mm", "clearance") == "0.10 mm"
    assert show(0.002575, "mm", "shim") == "2.575 mm"
    assert show(0.0001524, "thou", "clearance") == "6 thou"
    assert show(1068687.38, "psi", "pressure") == "155 psi"
    assert show(293.15, "C", "temperature") == "20 °C"
    assert show_range(0.0001524, 0.0002032, "thou", "clearance") == "6 to 8 thou"
    assert show_range(0.00015, None, "mm", "clearance") == "over 0.15 mm"


def test_uncertainty_carries_through_a_product() -> None:
    # Relative uncertainties of independent factors add in squares: GUM 5.1.6.
    area = carry(lambda a, b: a * b, "m2", Measured(2.0, 0.02, "m"), Measured(3.0, 0.06, "m"))
    assert area.value == 6.0
    assert area.uncertainty == pytest.approx(6.0 * (0.01**2 + 0.02**2) ** 0.5, rel=1e-9)


def test_a_missing_unit_is_told_with_what_was_typed() -> None:
    with pytest.raises(UnitError) as told:
        parse_range("0.05..0.1", "clearance")
    assert "'0.05..0.1 mm' or '0.05..0.1 thou'" in str(told.value)
    with pytest.raises(UnitError) as told:
        parse("1" * 60, "clearance")
    assert "'0.15 mm' or '6 thou'" in str(told.value)
