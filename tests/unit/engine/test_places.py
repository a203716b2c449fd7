"""Places: their names, their order, the camshaft that drives them, and what people type."""

import pytest

from tickover.engine import Place, numbered_places, parse_engine_file, parse_place
from tickover.engine.places import camshaft_name, valve_places
from tickover.errors import InputError


def valves(cylinders: int, inlet: int, exhaust: int) -> tuple[Place, ...]:
    return valve_places(cylinders, inlet, exhaust, lambda kind, cylinder: "")


def test_engine_order_is_cylinder_by_cylinder_inlets_first() -> None:
    assert [p.name for p in valves(2, 2, 1)] == ["in1a", "in1b", "ex1", "in2a", "in2b", "ex2"]


@pytest.mark.parametrize(
    ("typed", "name"),
    [("in2", "in2"), (" IN 2 ", "in2"), ("inlet 2", "in2"), ("Intake-2", "in2"), ("EX1", "ex1"),
     ("exhaust valve 1", "ex1")],
)  # fmt: skip
def test_people_may_type_a_place_in_their_own_way(typed: str, name: str) -> None:
    assert parse_place(typed, valves(2, 1, 1)).name == name


def test_letters_are_kept() -> None:
    assert parse_place("In 2 B", valves(2, 2, 2)) == Place("in2b", "in", 2, "b")


def test_an_unknown_place_is_told_with_those_there_are() -> None:
    with pytest.raises(InputError) as caught:
        parse_place("in3", valves(2, 1, 1))
    assert caught.value.allowed == "in1, ex1, in2, ex2"
    assert caught.value.given == "in3"


def test_a_missing_letter_is_asked_for() -> None:
    with pytest.raises(InputError) as caught:
        parse_place("in1", valves(2, 2, 1))
    assert caught.value.instead == "in1a or in1b, to say which valve"


@pytest.mark.parametrize("typed", ["", "   ", "x" * 10_000, "in١", "in1a", "1", "in-1.5"])
def test_nonsense_is_refused(typed: str) -> None:
    with pytest.raises(InputError):
        parse_place(typed, valves(4, 1, 1))


def test_a_long_list_of_places_is_told_in_short() -> None:
    with pytest.raises(InputError) as caught:
        parse_place("in9", valves(6, 2, 2))
    assert caught.value.allowed == "in1a, in1b, ex1a, ex1b and so on to cylinder 6"


def test_other_places_have_numbers_only() -> None:
    assert [str(p) for p in numbered_places("plug", 3)] == ["plug1", "plug2", "plug3"]
    assert parse_place("Cylinder 2", numbered_places("cyl", 2)).cylinder == 2


@pytest.mark.parametrize(
    ("arrangement", "inlet_3", "exhaust_3"),
    [
        ("one camshaft", "camshaft", "camshaft"),
        ("pushrods", "camshaft", "camshaft"),
        ("side valves", "camshaft", "camshaft"),
        ("two camshafts", "inlet camshaft", "exhaust camshaft"),
        ("one camshaft per cylinder", "camshaft, cylinder 3", "camshaft, cylinder 3"),
        ("two camshafts per cylinder", "inlet camshaft, cylinder 3",
         "exhaust camshaft, cylinder 3"),
        ("one camshaft per bank", "camshaft, bank 2", "camshaft, bank 2"),
        ("two camshafts per bank", "inlet camshaft, bank 2", "exhaust camshaft, bank 2"),
        (None, "", ""),
    ],
)  # fmt: skip
def test_which_camshaft_drives_a_valve(
    arrangement: str | None, inlet_3: str, exhaust_3: str
) -> None:
    assert camshaft_name(arrangement, "in", 3, 2) == inlet_3
    assert camshaft_name(arrangement, "ex", 3, 2) == exhaust_3


def test_an_engine_knows_its_places_camshafts_and_limits() -> None:
    ef = parse_engine_file(
        '[engine]\nname = "a"\nlayout = "flat"\ncylinders = 4\n'
        '[cams]\narrangement = "one camshaft per bank"\n'
        '[valves]\ninlet_clearance = "4..6 thou"\n'
    )
    assert [p.name for p in ef.places()] == [
        "in1", "ex1", "in2", "ex2", "in3", "ex3", "in4", "ex4",
    ]  # fmt: skip
    assert ef.camshafts() == ("camshaft, bank 1", "camshaft, bank 2")
    assert ef.place("ex3").camshaft == "camshaft, bank 1"
    assert ef.limits_m("in4") == (0.0001016, 0.0001524)
    assert ef.limits_m(ef.place("ex4")) is None
    with pytest.raises(InputError, match="no such place"):
        ef.limits_m("in5")


def test_without_a_valves_table_there_are_no_valves() -> None:
    ef = parse_engine_file('[engine]\nname = "a"\nlayout = "single"\n')
    assert ef.places() == ()
    assert ef.camshafts() == ()
