"""From a line to a check and its reading; what is refused, and with what words."""

import pytest
from support_proving import reading, triple

from tickover.errors import InputError
from tickover.tasks.answers import answers_state, example_of, find_check, proving_checks
from tickover.tasks.simple import beside

ENGINE = triple()
CHECKS = proving_checks(ENGINE)


@pytest.mark.parametrize(
    ("line", "key", "answer"),
    [
        ("spark plug1 yes", ("spark", "plug1"), "yes"),
        ("Spark 2: no", ("spark", "plug2"), "no"),
        ("coil primary 1 4.2 ohm", ("coil primary", "coil1"), "4.2 ohm"),
        ("float height carb3 24", ("float height", "carb3"), "24"),
        ("oil switch full open", ("oil switch", "full"), "open"),
        ("advance curve 3000 rpm 33 deg", ("advance curve", "3000 rpm"), "33 deg"),
        ("advance curve 3000 33 deg", ("advance curve", "3000 rpm"), "33 deg"),
        ("interlocks in gear clutch in stand down yes",
         ("interlocks", "in gear, clutch in, stand down"), "yes"),
        ("earths", ("earths", ""), ""),
        ("stop switch off yes", ("stop switch", "off"), "yes"),
    ],
)  # fmt: skip
def test_a_line_names_its_check_and_place(line, key, answer) -> None:
    check, typed = find_check(CHECKS, line)
    assert (check.key, typed) == (key, answer)


@pytest.mark.parametrize("line", ["spork plug1 yes", "", "spark yes", "spark plug9 yes"])
def test_what_cannot_be_meant_is_refused_with_what_there_is(line: str) -> None:
    with pytest.raises(InputError) as refused:
        find_check(CHECKS, line)
    assert refused.value.allowed


def test_a_check_is_not_good_without_its_reading() -> None:
    for word in ("yes", "good", "done"):
        with pytest.raises(InputError, match="good only by its reading") as refused:
            reading(ENGINE, f"coil primary 1 {word}")
        assert "4.0 to 4.6" in refused.value.allowed
        assert "ohm" in refused.value.instead


@pytest.mark.parametrize(
    "line", ["earths 0.1 bar", "plug gap 1 wide", "spark 1 12 V", "coil primary 1 4.2 ohm at noon",
             "battery at rest", "fuel flow 30 ml in 0 s"],
)  # fmt: skip
def test_bad_answers_are_refused(line: str) -> None:
    with pytest.raises(InputError):
        reading(ENGINE, line)


@pytest.mark.parametrize(
    ("typed", "value", "conditions"),
    [
        ("4.4 ohm at 35 C", "4.4 ohm", {"temperature_k": 308.15}),
        ("3,4 bar at 3000 rpm, 80 C", "3,4 bar", {"speed_hz": 50.0, "temperature_k": 353.15}),
        ("3.4 bar @ 3000 rpm and 80 C", "3.4 bar", {"speed_hz": 50.0, "temperature_k": 353.15}),
        ("70 ml in 8 s", "70 ml", {"duration_s": 8.0}),
        ("2.4 in", "2.4 in", {}),
        ("-3 deg", "-3 deg", {}),
    ],
)
def test_what_stands_beside_a_value(typed, value, conditions) -> None:
    found, noted = beside(typed)
    assert found == value
    assert noted == pytest.approx(conditions)


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: f"{c.name} {c.place}".strip())
def test_the_example_of_a_check_names_that_check(check) -> None:
    found, answer = find_check(CHECKS, example_of(check))
    assert found.key == check.key
    assert answer


def test_lines_alone_make_a_state_without_a_book() -> None:
    state = answers_state(ENGINE, ["spark 1 yes", "earths 0.1 V"])
    assert [entry.body.what for entry in state.entries] == ["spark", "earths"]
