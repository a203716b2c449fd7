"""The compression sheets as PDF: what must stand on them."""

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import InputError
from tickover.pages.compression import compression_page
from tickover.pages.sheets_compression import compression_report
from tickover.paper.sheets import print_blank
from tickover.paper.typeset import typeset
from tickover.tasks.compression import PSI, Conditions, CylinderReadings, assess, spec_from_file

ENGINE = load_engine_file(Path(__file__).parents[2] / "examples" / "engines" / "inline-four.toml")


def words(pdf):
    reader = PdfReader(io.BytesIO(pdf))
    return len(reader.pages), " ".join(
        " ".join(page.extract_text().split()) for page in reader.pages
    )


def test_the_bench_sheet_is_one_page_with_steps_boxes_and_cautions():
    pages, text = words(print_blank("compression-bench", ENGINE, printed_at="2031-03-01"))
    assert pages == 1
    for said in ("Throttle held wide open", "Leads earthed", "All plugs out", "count",
                 "stand clear", "cylinder 4", "first stroke", "leak-down"):  # fmt: skip
        assert said in text


def test_the_report_tells_readings_causes_and_doubt():
    dry = (152, 105, 151, 153)
    readings = [CylinderReadings(f"cyl{i}", dry=x * PSI) for i, x in enumerate(dry, 1)]
    page = compression_page(ENGINE, assess(spec_from_file(ENGINE), readings, Conditions()))
    data = compression_report(ENGINE, page)
    _, text = words(typeset("compression", data, paper="a4", printed_at="2031-03-01"))
    for said in ("Cylinder 2 is out", "105 psi", "cannot tell apart", "Next:", "broken"):
        assert said in text


def test_an_engine_file_without_a_bore_is_refused_in_words():
    bare = parse_engine_file('[engine]\nname = "Bare"\nlayout = "single"\n', "bare.toml")
    with pytest.raises(InputError, match="bore"):
        print_blank("compression-bench", bare)


@pytest.mark.parametrize(
    ("sheet", "wanted"),
    [
        ("ratio-bench", ("burette", "9.2 to 1", "cyl4", "gasket, mm", "no flame")),
        ("cam-timing-bench", ("Piston stop", "24 / 56", "inlet closes", "By hand only")),
    ],
)
def test_the_sheets_of_burette_and_wheel_are_one_page_each(sheet, wanted):
    pages, text = words(print_blank(sheet, ENGINE, printed_at="2031-03-01"))
    assert pages == 1
    assert [said for said in wanted if said not in text] == []
