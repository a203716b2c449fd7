"""Readings from a table, as people write it."""

import pytest

from tickover.errors import FileError
from tickover.tasks.compression import PSI, readings_from_csv

HEAD = "place,kind,value,unit,note\n"


def read(text, cylinders=4):
    return readings_from_csv(HEAD + text, "r.csv", cylinders)


def test_every_kind_of_line():
    found, day = read(
        "cyl1,dry,152,psi,\n"
        "cyl1,wet,11.2,bar,with the spoon\n"
        "cyl1,slow,138,psi,\n"
        "cyl1,first stroke,70,psi,\n"
        "cyl2,leakdown,12,percent,\n"
        "cyl2,air heard at,exhaust pipe,,\n"
        "test,altitude,600,m,\n"
        "test,cranking speed,280,rpm,\n"
        "test,master jet,0.040,in,\n"
        "test,throttle,open,,\n"
        "test,rings,new,,\n"
    )
    one, two = found
    assert one.dry == pytest.approx(152 * PSI)
    assert one.wet == pytest.approx(11.2e5)
    assert (one.slow, one.first) == (pytest.approx(138 * PSI), pytest.approx(70 * PSI))
    assert (two.leak_percent, two.heard) == (pytest.approx(12.0), "exhaust")
    assert (day.altitude, day.throttle, day.unseated_rings) == (600.0, "open", True)
    assert day.speed_rpm == pytest.approx(280.0)
    assert day.jet_diameter == pytest.approx(1.016e-3)


def test_two_gauges_give_the_percentage():
    found, _ = read("cyl1,leakdown,60/80,psi,\ncyl2,leakdown,5.5/6.9,bar,\n")
    assert found[0].leak_percent == pytest.approx(25.0)
    assert found[1].leak_percent == pytest.approx(20.29, abs=0.01)


def test_semicolons_decimal_commas_and_a_range():
    text = "place;kind;value;unit;note\ncyl1;dry;10,5;bar;\ncyl2;dry;150..154;psi;\n"
    found, _ = readings_from_csv(text, "r.csv", 4)
    assert found[0].dry == pytest.approx(10.5e5)
    assert found[1].dry == pytest.approx(152 * PSI)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("cyl9,dry,152,psi,", "no such cylinder"),
        ("cyl1,damp,152,psi,", "kind of reading"),
        ("cyl1,dry,152,psia,", "dial shows"),
        ("cyl1,dry,11.5,bar abs,", "dial shows"),
        ("cyl1,dry,-3,psi,", "negative"),
        ("cyl1,dry,lots,psi,", "number"),
        ("cyl1,dry,152,furlong,", "furlong"),
        ("cyl1,leakdown,90/80,psi,", "supply"),
        ("cyl1,air heard at,over there,,", "not clear"),
        ("test,weather,nice,,", "not known here"),
        ("test,throttle,half,,", "open, shut"),
        ("test,strokes,many,,", "strokes"),
    ],
)
def test_a_line_that_cannot_be_used_is_named(line, words):
    with pytest.raises(FileError, match="line 2") as caught:
        read(line + "\n")
    assert words in str(caught.value)


def test_the_same_reading_twice_is_refused():
    with pytest.raises(FileError, match="twice"):
        read("cyl1,dry,152,psi,\ncyl1,dry,150,psi,\n")


def test_all_wrong_lines_are_told_at_once():
    with pytest.raises(FileError) as caught:
        read("cyl9,dry,152,psi,\ncyl1,damp,152,psi,\n")
    assert "line 2" in str(caught.value)
    assert "line 3" in str(caught.value)
