"""Typed numbers survive the way in and out; odd text never does more than be refused."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tickover.errors import InputError
from tickover.quantities import KINDS, parse, parse_range, show, to_unit
from tickover.quantities.units import BY_NAME

LENGTHS = st.sampled_from(["mm", "um", "thou", "in"])
NUMBERS = st.decimals(min_value=0, max_value=10_000, places=4)


@given(NUMBERS, LENGTHS, st.booleans())
def test_a_typed_length_is_exact_and_comes_back(number, unit, comma):
    text = f"{number:f}".replace(".", ",") if comma else f"{number:f}"
    typed = parse(f"{text} {unit}", "length")
    assert typed.exact == Fraction(number) * BY_NAME[unit].factor
    rounding = 1e-9 * max(1.0, float(number))
    assert abs(to_unit(typed.value_si, unit, "length") - float(number)) < rounding


@given(st.integers(0, 3000), LENGTHS)
def test_what_is_shown_can_be_typed_again(hundredths, unit):
    value = float(parse(f"{hundredths / 100:.2f} mm", "clearance").value_si)
    again = parse(show(value, unit, "clearance", decimals=6), "clearance").value_si
    half_of_the_last_digit = 0.5e-6 * float(BY_NAME[unit].factor) + 1e-15
    assert abs(again - value) <= half_of_the_last_digit


@given(st.text(max_size=40), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_quantity_or_refused(text, kind):
    for reader in (parse, parse_range):
        try:
            reader(text, kind, "m" if KINDS[kind].dimension == "length" else None)
        except InputError as refused:
            said = str(refused)
        else:
            said = "a quantity"
        assert said


@given(st.text(alphabet="0123456789.,-+/ einthoumpsbar", max_size=24))
def test_number_like_text_never_breaks(text):
    try:
        found = parse(text, "pressure", "bar")
    except InputError:
        return
    assert found.value_si == float(found.exact)
