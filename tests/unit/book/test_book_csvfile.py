"""Tables as people make them, and as we write them."""

import io

import pytest

from tickover.book.csvfile import read_table, write_table
from tickover.book.entries import Reading, number_entries
from tickover.book.readings import readings_from_csv, readings_to_csv
from tickover.errors import FileError

COLUMNS = ("place", "go", "no_go", "value", "unit")


def read(source, required=("place",)):
    return read_table(source, "readings.csv", COLUMNS, required)


def values(source):
    return [(r["place"], r["go"], r["no_go"], r["value"], r["unit"]) for r in read(source)]


PLAIN = b"place,go,no_go,unit\nin1,0.10,0.11,mm\nex1,,0.30,mm\n"
EXPECTED = [("in1", "0.10", "0.11", "", "mm"), ("ex1", "", "0.30", "", "mm")]


def test_a_plain_table():
    assert values(PLAIN) == EXPECTED
    assert [row.line for row in read(PLAIN)] == [2, 3]


@pytest.mark.parametrize(
    "source",
    [
        b"\xef\xbb\xbf" + PLAIN,
        PLAIN.replace(b"\n", b"\r\n"),
        PLAIN.replace(b"\n", b"\r"),
        PLAIN.replace(b",", b"\t"),
        PLAIN.replace(b",", b";"),
        b"sep=;\r\n" + PLAIN.replace(b",", b";"),
        PLAIN.decode().encode("utf-16"),
        b"\n\n" + PLAIN.replace(b"\n", b"\n\n,,,\n") + b"\n\n",
        PLAIN.replace(b"place,go,no_go,unit", b" Place , Go, No Go ,UNIT"),
        PLAIN.replace(b"no_go", b"no-go"),
        PLAIN.replace(b"in1", b'"in1"').replace(b"0.10", b' "0.10"'),
        PLAIN.replace(b"in1,0.10,0.11,mm", b"in1,0.10,0.11,mm,,,"),
        PLAIN.rstrip(),
        PLAIN.decode(),
        "\ufeff" + PLAIN.decode(),
    ],
)
def test_the_same_table_as_spreadsheets_write_it(source):
    assert values(source) == EXPECTED


def test_paths_and_open_files(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_bytes(PLAIN)
    assert values(path) == EXPECTED
    assert values(io.BytesIO(PLAIN)) == EXPECTED
    assert values(io.StringIO(PLAIN.decode())) == EXPECTED
    with pytest.raises(FileError, match="cannot be read"):
        read(tmp_path / "nothing.csv")


def test_semicolons_keep_decimal_commas_as_typed():
    table = b"place;go;no_go;unit\nin1;0,10;0,11;mm\n"
    assert values(table) == [("in1", "0,10", "0,11", "", "mm")]


def test_old_windows_letters_are_read():
    assert read("place,value,unit\nin1,5,µm\n".encode("latin-1"))[0]["unit"] == "µm"


def test_quoted_cells_hold_line_ends_and_lines_are_still_counted():
    rows = read(b'place,note\nin1,"two\nlines, ""said"""\nin2,x\n')
    assert rows[0].values["note"] == 'two\nlines, "said"'
    assert [row.line for row in rows] == [2, 4]


def test_spare_columns_are_kept_under_their_own_names():
    assert read(b"place,Who Read It\nin1,Ada\n")[0].values["who_read_it"] == "Ada"


def test_short_rows_are_filled_up():
    assert values(b"place,go,no_go\nin1\n") == [("in1", "", "", "", "")]


@pytest.mark.parametrize("header", [b"place,go,no_go,value,unit", b"place\n", b"place;go\r\n\r\n"])
def test_a_header_alone_means_nothing_measured_yet(header):
    assert read(header) == []


@pytest.mark.parametrize(
    ("source", "says"),
    [
        (b"", r"empty.*place,go,no_go"),
        (b"\n \n", r"empty.*place,go,no_go"),
        (b"in1,0.10,0.11\n", r"no header: 'in1,0.10,0.11'.*place,go,no_go,value,unit"),
        (b"go,no_go\n1,2\n", "line 1: The column 'place' is missing"),
        (b"place,nogo\nin1,2\n", "not known: 'nogo'. Write 'no_go'"),
        (b"place,place\nin1,in2\n", "twice: 'place'"),
        (b"place,go\nin1,0.1,0.2\n", "line 2: 3 cells where the header has 2 columns"),
        (b"place,go,no_go\nin1,0,10,0,11\n", "decimal commas need semicolons"),
        (b"place,go\n,0.1\n", "line 2, column place: Nothing is written"),
        (b'place,go\nin1,"0.1\nin2,0.2\n', "line 2: A quotation mark is never closed"),
        (b'place,go\nin1,"0.1"x\n', "line 2: A quotation mark"),
        (b'place,go\nin1,"' + b"x" * 200_000 + b'"\n', "far too long"),
        (b"place,go\nin1,0.1\nin\x002,0.2\n", "line 3: .*character 0"),
        (b"\xff\xfep", "not text"),
        (b"PK\x03\x04\x14\x00\x00\x00", "character 0"),
        (b"place\n" + b"x" * 5_000_001, "too large"),
        (b"place\n" + b"x\n" * 100_001, "Too many rows"),
    ],
)
def test_what_cannot_be_used_is_said_with_line_and_column(source, says):
    with pytest.raises(FileError, match=f"(?s)readings.csv.*{says}"):
        read(source)


@pytest.mark.parametrize("text", ["=1+1", "+A1", "-A1", "@SUM(A1)", "'=1", "''=1", "-", "=-5"])
def test_no_text_cell_is_run_as_a_formula(text):
    written = write_table(["place", "note"], [{"place": "in1", "note": text}])
    cell = written.splitlines()[1].split(",")[1]
    assert cell[0] == "'"
    assert read(written)[0].values["note"] == text


def test_a_formula_is_guarded_inside_quotation_marks_too():
    text = '=HYPERLINK("x","y")'
    written = write_table(["place", "note"], [{"place": "in1", "note": text}])
    assert "\"'=HYPERLINK" in written
    assert read(written)[0].values["note"] == text


@pytest.mark.parametrize("value", [-0.5, 1e-300, 0.1 + 0.2, -3, 12345678901234567])
def test_numbers_are_left_alone_and_read_back_exactly(value):
    cell = read(write_table(["place", "value"], [{"place": "x", "value": value}]))[0]["value"]
    assert type(value)(cell) == value
    assert read(write_table(["place", "value"], [{"place": "x", "value": str(value)}]))[0][
        "value"
    ] == str(value)


def test_empty_and_yes_no_cells():
    written = write_table(["place", "value"], [{"place": "x", "value": True}, {"place": "y"}])
    assert written == "place,value\r\nx,yes\r\ny,\r\n"


def test_readings_go_out_and_come_back():
    readings = [
        Reading("clearance", "in1", 1e-4, 1.1e-4, "m", "4-5 thou", "blades", {"engine": "cold"}),
        Reading("clearance", "ex1", None, 3e-4, "m", "/ 0,30 mm"),
        Reading("compression", "cyl1", 1.07e6, 1.07e6, "Pa", "-=odd typed"),
    ]
    entries = number_entries(readings, at="2031-04-05T18:30:00Z", by="Ada")
    drafts = readings_from_csv(readings_to_csv(entries), "readings.csv")
    assert [draft.body for draft in drafts] == readings
    assert {(draft.at, draft.by, draft.id) for draft in drafts} == {
        ("2031-04-05T18:30:00Z", "Ada", "")
    }


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("clearance,in1,x,1,m", "line 2, column low: A number is wanted here: 'x'"),
        ("clearance,in1,,,m", "line 2, column low: A reading needs a value"),
        ("clearance,in1,2,1,m", "line 2, column low: The lower end"),
        ("clearance,in1,nan,1,m", "line 2, column low: The number is not finite"),
        ("clearance,in1,1,1,", "line 2, column unit: Nothing is written"),
    ],
)
def test_readings_that_cannot_be_used_name_line_and_column(line, says):
    with pytest.raises(FileError, match=says):
        readings_from_csv(f"what,place,low,high,unit\n{line}\n", "r.csv")
