"""Limits from a spreadsheet: every row of a sound table is written, of another none."""

from __future__ import annotations

import pytest

from tickover.engine import parse_engine_file
from tickover.engine.limits_table import EXAMPLE, MOST_ROWS, take_in_limits
from tickover.errors import EngineFileError

BASE = """# mine
[engine]
name = "Twin"
layout = "inline"
cylinders = 2   # two of them
[valves]
inlet = 1
"""


def problems(table: str, base: str = BASE) -> list[tuple[int | None, str, str]]:
    with pytest.raises(EngineFileError) as refused:
        take_in_limits(base, table)
    return [(p.line, p.key, p.problem) for p in refused.value.problems]


def test_the_example_shown_is_taken_in_and_read_by_the_engine_file() -> None:
    taken = take_in_limits(BASE, EXAMPLE)
    engine = parse_engine_file(taken.text)
    assert [(f.name, f.kind, f.places) for f in engine.fits] == [
        ("cylinder", "bore", ("cyl1", "cyl2")), ("top ring", "ring gap", ("cyl1", "cyl2")),
    ]  # fmt: skip
    assert engine.fits[0].limits_m == pytest.approx((0.061, 0.06102))
    assert engine.fits[0].wear_limit_m == pytest.approx(0.0611)
    assert (engine.fasteners[0].torque_nm, engine.fasteners[0].thread) == (22.0, "M8x1.25")
    assert engine.valves is not None
    assert engine.valves.inlet_clearance_m == pytest.approx((0.08e-3, 0.13e-3))
    assert len(taken.written) == 4


def test_everything_else_in_the_file_stays() -> None:
    text = take_in_limits(BASE, EXAMPLE).text
    for line in BASE.splitlines():
        assert line in text.splitlines()


@pytest.mark.parametrize("table", [
    "name;kind;from;to;unit\ntop ring;ring gap;0,15;0,30;mm\n",
    "Name\tKind\tLow\tHigh\tUnits\ntop ring\tring gap\t0.15\t0.30\tmm\n",
    '\ufeff"name","kind","from","to","unit"\r\n\r\n"top ring","ring gap","0.15","0.30","mm"\r\n',
])  # fmt: skip
def test_what_spreadsheets_of_several_countries_write_is_read(table: str) -> None:
    engine = parse_engine_file(take_in_limits(BASE, table).text)
    assert engine.fits[0].limits_m == pytest.approx((0.15e-3, 0.30e-3))


def test_the_same_table_twice_changes_nothing() -> None:
    once = take_in_limits(BASE, EXAMPLE).text
    assert take_in_limits(once, EXAMPLE).text == once


def test_every_bad_row_is_named_with_its_line_and_column() -> None:
    table = (
        "name,kind,places,from,to,unit,wear limit,thread,count\n"
        "cylinder,bor,,61,61.02,mm,,,\n"
        "piston,piston,,sixty,61,mm,,,\n"
        "head,torque,,22,24,Nm,,,\n"
        "head,torque,,22,,,,,\n"
        "head,torque,,22,,Nm,,,²\n"
        "valves.foo,,,1,2,mm,,,\n"
        "gap,ring gap,,,,,,,\n"
        ",bore,,1,2,mm,,,\n"
    )
    assert [(line, key) for line, key, _ in problems(table)] == [
        (2, "kind"), (3, "from"), (4, "to"), (5, "unit"), (6, "count"), (7, "name"), (8, "from"),
        (9, "name"),
    ]  # fmt: skip


def test_what_only_the_engine_file_can_refuse_is_told_by_its_row() -> None:
    table = "name,kind,places,from,to,unit\ncylinder,bore,cyl9,61,61.02,mm\npin,bore,,16,16.1,mm\n"
    assert [(line, key) for line, key, _ in problems(table)] == [(2, "cylinder")]
    swapped = "name,from,to,unit\nvalves.inlet_clearance,0.13,0.08,mm\n"
    assert [(line, key) for line, key, _ in problems(swapped)] == [(2, "valves.inlet_clearance")]


@pytest.mark.parametrize(("table", "said"), [
    ("", "nothing in the table"),
    ("name,from\n", "nothing below it"),
    ("name,kind\na,bore\n", "column from is missing"),
    ("nam,from\na,1\n", "not known"),
    ("name,kind,from,to,unit\nring,ring gap,0,15,0,30,mm\n", "more cells than columns"),
    ("name,from\n" + "valves.inlet,1\n" * (MOST_ROWS + 1), "too many rows"),
    ('name,from\n"a' + "\0" * 5, "has no kind"),
    ("name,from\na" + "b" * 200_000 + ",1\n", "no CSV"),
])  # fmt: skip
def test_what_is_no_such_table_is_refused_in_words(table: str, said: str) -> None:
    found = problems(table)
    assert any(said in f"{key} {words}" for _, key, words in found), found


def test_words_in_a_cell_cannot_write_other_keys() -> None:
    hostile = 'x"\n[show]\nclearance = "thou'
    table = f'name,kind,from,to,unit\n"{hostile.replace(chr(34), chr(34) * 2)}",bore,61,62,mm\n'
    try:
        text = take_in_limits(BASE, table).text
    except EngineFileError:
        return  # refused: nothing is written
    assert parse_engine_file(text).show.clearance == "mm"
