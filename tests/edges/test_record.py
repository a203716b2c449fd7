"""The build record: one page object, an accessible PDF, one HTML file, the command."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from pypdf import PdfReader
from support_book import state_of
from support_loom import TWIN
from support_record import ROW, pdf_words, printed_part

from tickover.book.state import State
from tickover.book.store import Store
from tickover.cli import group
from tickover.demo import open_demo
from tickover.errors import InputError
from tickover.pages.record import PARTS, assembled
from tickover.pages.record.assembled import build_record
from tickover.pages.record.blocks import Drawing, Paragraph, RecordPart, Stated, Table
from tickover.paper.record import no_picture, record_html, record_pdf
from tickover.paper.sheets import SHEETS, print_sheet
from tickover.web.app import create_app

ENGINES = Path(__file__).parents[2] / "examples" / "engines"
AT = "2031-03-01T10:00:00+00:00"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory):
    with Store.open(tmp_path_factory.mktemp("record") / "test.book") as store:
        yield store, store.build(open_demo(store)), store.state(store.builds()[0].id)


@pytest.fixture(scope="module")
def pdf(demo) -> bytes:
    _, row, state = demo
    return record_pdf(row, state, no_picture, printed_at=AT)


def test_the_pdf_is_tagged_titled_in_english_and_says_it_is_accessible(pdf: bytes) -> None:
    """ISO 14289-1 (PDF/UA-1): marked, titled and shown so, a language, its mark in the metadata."""
    reader = PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert str(root["/Lang"]).startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Build record: Hill-climb 539 triple (demo, invented)"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


@pytest.mark.parametrize("name", list(SHEETS))
def test_every_other_sheet_is_accessible_too(name: str) -> None:
    text = (TWIN if name.startswith("loom") else ENGINES / "triple-240.toml").read_text()
    state = state_of([], text)
    root = PdfReader(io.BytesIO(print_sheet(name, ROW, state))).trailer["/Root"]
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


def _tags(node, found):
    node = node.get_object()
    if isinstance(node, list):
        for each in node:
            _tags(each, found)
    elif isinstance(node, dict):
        if "/S" in node:
            found.append((str(node["/S"]), node.get("/Alt")))
        if "/K" in node and not isinstance(node["/K"], int):
            _tags(node["/K"], found)
    return found


def test_every_drawing_has_words_and_every_table_a_head(pdf: bytes) -> None:
    tags = _tags(PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]["/K"], [])
    kinds = [kind for kind, _ in tags]
    figures = [alt for kind, alt in tags if kind == "/Figure"]
    assert len(figures) >= 2
    assert all(figures)
    assert kinds.count("/TH") >= 5
    assert "/TOC" in kinds


def test_bookmarks_and_contents_name_every_part_and_pages_are_numbered(pdf: bytes, demo) -> None:
    _, row, state = demo
    reader = PdfReader(io.BytesIO(pdf))

    def titles(items):
        for item in items:
            if isinstance(item, list):
                yield from titles(item)
            else:
                yield item.title

    marks = list(titles(reader.outline))
    first = " ".join(reader.pages[0].extract_text().split())
    for number, part in enumerate(build_record(row, state).parts, 1):
        assert f"{number} {part.title}" in [" ".join(mark.split()) for mark in marks]
        assert part.title in first
    for number, page in enumerate(reader.pages, 1):
        assert f"page {number} of {len(reader.pages)}" in page.extract_text()


@pytest.mark.parametrize(("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_it_prints_on_a4_and_on_letter(demo, paper: str, points: tuple[int, int]) -> None:
    _, row, state = demo
    box = PdfReader(io.BytesIO(record_pdf(row, state, no_picture, paper=paper))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == points


def test_no_other_paper(demo) -> None:
    _, row, state = demo
    for make in (record_pdf, record_html):
        with pytest.raises(InputError, match="a4, letter"):
            make(row, state, no_picture, paper="foolscap")


def test_readings_stand_beside_their_limits_with_who_says_so(pdf: bytes) -> None:
    _, words = pdf_words(pdf)
    for said in ("0.07 to 0.09 mm", "0.08 to 0.13 mm", "cannot be told yet", "entry 20",
                 "539 cc", "One is out, one cannot be told yet.", "breather hose off"):  # fmt: skip
        assert said in words, said


def test_a_part_that_cannot_be_made_takes_no_other_with_it(demo, monkeypatch) -> None:
    _, row, state = demo

    def broken_part(engine, state):
        raise InputError("The gauge is not given", allowed="[compression]")

    monkeypatch.setattr(assembled, "PARTS", (broken_part, *PARTS))
    record = build_record.__wrapped__(row, state)
    assert record.parts[0].title == "Broken"
    assert "The gauge is not given" in record.parts[0].blocks[0].text
    assert len(record.parts) > 2


def test_blocks_refuse_what_nobody_could_read() -> None:
    with pytest.raises(InputError, match="as long as its head"):
        Table(("a", "b"), (("1",),))
    with pytest.raises(InputError, match="in words"):
        Drawing("<svg/>", " ")
    with pytest.raises(InputError, match="No such state"):
        Stated("fine", "fine")


HOSTILE = '<script>alert(1)</script> #panic("x") $x$ {{ 7 * 7 }} \\" =CMD()'


def test_words_from_the_book_are_never_read_as_markup(demo) -> None:
    _, row, state = demo
    part = RecordPart("words", HOSTILE, (Paragraph(HOSTILE), Table((HOSTILE,), ((HOSTILE,),))))
    assert '<script>alert(1)</script> #panic("x") $x$ {{ 7 * 7 }}' in printed_part(part, state)
    html = record_html(replace(row, name=HOSTILE), state, no_picture)
    assert "<script" not in html.replace("&lt;script", "")
    assert "49" not in re.findall(r"<header>.*?</header>", html)[0]


def test_the_html_is_one_file_that_asks_nobody_and_can_be_read(
    demo, browser, tmp_path: Path
) -> None:
    _, row, state = demo
    target = tmp_path / "record.html"
    target.write_text(record_html(row, state, no_picture, printed_at=AT), encoding="utf-8")
    context = browser.new_context(viewport={"width": 390, "height": 800})
    page = context.new_page()
    asked: list[str] = []
    trouble: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda m: trouble.append(m.text) if m.type == "error" else None)
    page.goto(target.as_uri())
    assert [url for url in asked if not url.startswith("data:")] == [target.as_uri()]
    assert trouble == []
    for width, scheme in ((390, "light"), (1280, "dark")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        found = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    printed = page.pdf(prefer_css_page_size=True)
    context.close()
    assert round(PdfReader(io.BytesIO(printed)).pages[0].mediabox.width) in (595, 594)


def test_the_command_writes_pdf_html_and_json(demo, tmp_path: Path) -> None:
    store, row, _ = demo
    run = CliRunner()
    for form, begins in (("--pdf", b"%PDF"), ("--html", b"<!doctype html>")):
        target = tmp_path / f"out{form}"
        said = run.invoke(group, ["record", row.id, form, "--paper", "letter", "--out",
                                  str(target), "--where", store.where])  # fmt: skip
        assert said.exit_code == 0, said.output
        assert target.read_bytes().startswith(begins)
    said = run.invoke(group, ["record", "--json", "--where", store.where])
    assert '"title": "Valve clearances"' in said.output


def test_a_build_without_an_engine_file_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="no engine file"):
        build_record(ROW, State())


@pytest.mark.parametrize(("path", "kind", "begins"), [
    ("record.pdf?paper=letter", "application/pdf", b"%PDF"),
    ("record.html", "text/html; charset=utf-8", b"<!doctype html>"),
])  # fmt: skip
def test_the_page_hands_over_the_files(
    demo, client_for, path: str, kind: str, begins: bytes
) -> None:
    store, row, _ = demo
    client = client_for(create_app(store, clock=lambda: AT))
    answer = client.get(f"/builds/{row.id}/{path}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == kind
    assert answer.content.startswith(begins)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    if kind.startswith("text"):
        assert "script" not in policy, "nothing runs in what is handed over"
        assert "sandbox" in policy
        assert answer.headers["content-disposition"].startswith("inline")


def test_the_page_lists_the_parts_and_refuses_other_paper(demo, client_for) -> None:
    store, row, state = demo
    client = client_for(create_app(store, clock=lambda: AT))
    text = client.get(f"/builds/{row.id}/record").text
    for part in build_record(row, state).parts:
        assert f"/record.html#{part.key}" in text
    assert client.get(f"/builds/{row.id}/record.pdf?paper=foolscap").status_code == 404
    assert client.get("/builds/nobody/record").status_code == 404


def test_the_page_can_be_read_on_a_phone(open_page, site) -> None:
    build = open_demo(site.store)
    page = open_page(f"/builds/{build}/record", width=360).page
    assert Axe().run(page).response["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_role("link", name="Read it here").click()
    page.get_by_role("heading", name="Build record").wait_for()
    assert page.evaluate("getComputedStyle(document.body).fontFamily").startswith('"Atkinson')
