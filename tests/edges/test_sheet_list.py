"""The sheets to print, on the web and in the terminal: those of the machine, and no other."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tickover.cli import main
from tickover.engine import load_engine_file
from tickover.pages.sheet_list import SHEET_LINES, sheets_page
from tickover.paper.sheets import SHEETS
from tickover.web.app import create_app

ENGINES = Path(__file__).parents[2] / "examples" / "engines"
LOOM = Path(__file__).parents[2] / "examples" / "looms" / "cut-down-twin.toml"
LOOM_SHEETS = {"loom-schedule", "loom-board", "loom-test"}


def names(path: Path) -> set[str]:
    page = sheets_page(load_engine_file(path))
    return {line.name for _, lines in page.groups for line in lines}


def test_every_sheet_has_its_line_and_every_line_its_sheet() -> None:
    assert set(SHEET_LINES) == set(SHEETS)


def test_loom_sheets_are_listed_only_with_a_loom() -> None:
    assert names(LOOM) >= LOOM_SHEETS
    assert not LOOM_SHEETS & names(ENGINES / "triple-240.toml")


@pytest.mark.parametrize("path", sorted(ENGINES.glob("*.toml")), ids=lambda p: p.stem)
def test_what_is_listed_has_something_to_print(path: Path) -> None:
    engine = load_engine_file(path)
    for name in names(path):
        blank = SHEETS[name].blank
        if blank is not None:
            assert blank(engine)["title"], name


def test_the_page_lists_links_and_says_what_the_others_need(
    client_for: Callable[..., Any], site: Any, triple: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    text = client.get(f"/builds/{triple}/sheets").text
    linked = re.findall(rf"/builds/{triple}/sheets/([a-z-]+)[.]pdf\"", text)
    assert set(linked) == names(ENGINES / "triple-240.toml")
    assert linked == [name for name in SHEET_LINES if name in linked], "in working order"
    assert "needs [wiring], [[loads]] and [[branches]]" in text
    assert f'/builds/{triple}/sheets"' in client.get(f"/builds/{triple}").text


def test_a_sheet_prints_on_either_paper_and_on_no_other(
    client_for: Callable[..., Any], site: Any, triple: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    home = f"/builds/{triple}/sheets"
    assert f"{home}/oil-bench.pdf?paper=letter" in client.get(f"{home}?paper=letter").text
    for paper, size in {"a4": "595.", "letter": "612"}.items():
        answer = client.get(f"{home}/oil-bench.pdf?paper={paper}")
        assert answer.headers["content-type"] == "application/pdf"
        assert re.search(rf"/MediaBox *\[ *0 0 {size}".encode(), answer.content), paper
    assert client.get(f"{home}?paper=foolscap").status_code == 404
    assert client.get(f"{home}/oil-bench.pdf?paper=foolscap").status_code == 404
    assert client.get(f"{home}/nothing.pdf").status_code == 404
    assert client.get(f"{home}/loom-test.pdf").status_code == 404


def test_the_terminal_lists_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["sheet", "--engine", str(LOOM)])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    assert re.search(r"^  loom-test +Loom test: ", said, flags=re.MULTILINE)
    assert re.search(r"^  noise-bench +needs \[noise\]$", said, flags=re.MULTILINE)
