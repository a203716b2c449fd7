"""Clearances, shims and drawer from typed text, and what is refused."""

from __future__ import annotations

import pytest
from support import four

from tickover.errors import InputError
from tickover.tasks.valves import clearance_reading, drawer_shim, fitted_shim

ENGINE = four()
THOU = 25.4e-6


def test_two_blades_are_an_interval() -> None:
    reading = clearance_reading(ENGINE, "in1", "4", "5")
    assert (reading.go_m, reading.no_go_m) == (pytest.approx(4 * THOU), pytest.approx(5 * THOU))
    assert not reading.bound_only


def test_no_gap_is_a_bound() -> None:
    reading = clearance_reading(ENGINE, "ex4", no_go="1.5")
    assert reading.go_m is None
    assert reading.bound_only


def test_single_value_is_half_a_blade_either_way() -> None:
    reading = clearance_reading(ENGINE, "in1", value="5 thou")
    assert reading.go_m == pytest.approx(4.5 * THOU)
    assert reading.no_go_m == pytest.approx(5.5 * THOU)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ({"go": "five"}, "needs a number"),
        ({"go": "-2", "no_go": "3"}, "cannot be negative"),
        ({"go": "6", "no_go": "5"}, "not thinner"),
        ({"go": "5", "no_go": "5"}, "not thinner"),
        ({}, "Nothing was read"),
        ({"go": "5", "value": "5"}, "Two ways"),
        ({"go": "0.15", "no_go": "0.18"}, "mm"),
        ({"go": "150 mm", "no_go": "160 mm"}, "0.01 to 3 mm"),
        ({"go": "5 mil", "no_go": "6"}, "mil"),
    ],
)
def test_unusable_clearances_get_a_sentence(call: dict[str, str], says: str) -> None:
    with pytest.raises(InputError) as refused:
        clearance_reading(ENGINE, "in1", **call)
    assert says in str(refused.value)


def test_unknown_place_names_the_places_there_are() -> None:
    with pytest.raises(InputError) as refused:
        clearance_reading(ENGINE, "in9", "4", "5")
    assert "in4" in str(refused.value)


@pytest.mark.parametrize(
    ("size", "known_by", "says"),
    [
        ("4.00", "micrometer", "outside the sizes"),
        ("2.61", "mark", "'2.60 mm'"),
        ("2.60", "guess", "micrometer, mark or nothing"),
        ("-2.6", "mark", "cannot be negative"),
    ],
)
def test_impossible_shims_are_refused(size: str, known_by: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        fitted_shim(ENGINE, "in1", size, "mm", known_by)
    assert says in str(refused.value)


@pytest.mark.parametrize(("count", "price"), [("two", ""), ("-1", ""), ("1", "-3"), ("1", "x")])
def test_impossible_drawer_lines_are_refused(count: str, price: str) -> None:
    with pytest.raises(InputError):
        drawer_shim(ENGINE, "2.60", "mm", count, price)
