"""The CSV files people really make."""

from __future__ import annotations

import pytest
from support import four

from tickover.errors import FileError, InputError
from tickover.tasks.valves.tables import drawer_from_csv, readings_from_csv

ENGINE = four()
HEADER = "place,go,no_go,value,unit,shim,shim_unit,shim_known_by\n"


def read(text: str | bytes):
    data = text if isinstance(text, bytes) else text.encode()
    return readings_from_csv(ENGINE, data, "R.csv")


def test_plain_table() -> None:
    readings, shims = read(HEADER + "in1,4,5,,thou,2.60,mm,micrometer\nex4,,1.5,,thou,,,\n")
    assert set(readings) == {"in1", "ex4"}
    assert shims["in1"].known_by == "micrometer"


def test_spreadsheet_dialect_with_byte_order_mark_and_decimal_commas() -> None:
    text = HEADER.replace(",", ";") + "in1;0,10;0,13;;mm;2,60;mm;mark\n"
    readings, _ = read(b"\xef\xbb\xbf" + text.encode())
    assert readings["in1"].go_m == pytest.approx(0.0001)


def test_header_alone_means_nothing_measured() -> None:
    assert read(HEADER) == ({}, {})


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("in1,4,5,,thou,,,\n", "place"),
        (HEADER + "in1,4,5,,thou,,,\nin1,4,5,,thou,,,\n", "two readings for in1"),
        (HEADER + "in9,4,5,,thou,,,\n", "in4"),
        (HEADER + "in1,six,5,,thou,,,\n", "line 2"),
        (HEADER + "in1,6,5,,thou,,,\n", "not thinner"),
        (HEADER + "in1,,,,,,,\n", "Nothing stands beside"),
    ],
)
def test_unusable_tables_say_line_and_remedy(text: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        read(text)
    assert says in str(refused.value)


def test_all_wrong_rows_are_told_at_once() -> None:
    with pytest.raises(FileError) as refused:
        read(HEADER + "in1,six,5,,thou,,,\nin2,9,5,,thou,,,\n")
    assert "line 2" in str(refused.value)
    assert "line 3" in str(refused.value)


def test_drawer_with_counts_and_prices() -> None:
    drawer = drawer_from_csv(ENGINE, b"size,unit,count,price\n2.60,mm,2,\n2.65,mm,0,9.5\n", "S.csv")
    assert [(round(s.size_m * 1e3, 3), s.count, s.price) for s in drawer] == [
        (2.6, 2, None),
        (2.65, 0, 9.5),
    ]
