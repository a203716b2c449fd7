"""The short line: shown as it is understood, kept only then."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tickover.engine import parse_engine_file
from tickover.tasks.quickline import EXAMPLES, understand_line

TRIPLE = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text()


@pytest.fixture
def build(site: Any) -> str:
    return str(site.store.create_build("Fresh triple", TRIPLE, site.clock(), "tester").id)


def last(site: Any, build: str) -> Any:
    return site.store.entries(build)[-1].body


@pytest.mark.parametrize("script", [True, False])
def test_a_short_line_is_shown_as_understood_before_it_is_kept(
    open_page: Callable[..., Any], site: Any, build: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/fits", java_script_enabled=script).page
    before = site.store.last_number(build)
    page.get_by_label("a line for the book").fill("shim in2 2,65 mark")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Keep this?").wait_for()
    expect(page.locator("main")).to_contain_text(
        "shim at in2: 2.650 mm, by mark", use_inner_text=True
    )
    assert site.store.last_number(build) == before
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("In the book:").wait_for()
    assert last(site, build).low == pytest.approx(2.65e-3)
    page.get_by_role("link", name="Back to where you were").click()
    page.wait_for_url(f"**/builds/{build}/fits")


def test_a_line_that_says_nothing_is_refused_with_the_lines_that_are_understood(
    client: Any, build: str
) -> None:
    answer = client.send(f"/builds/{build}/quick", {"line": "make it go", "back": "//evil.example"})
    assert answer.status_code == 422
    text = unescape(answer.text)
    assert 'value="make it go"' in text
    assert all(example in text for example in EXAMPLES)
    assert "evil" not in text


def test_what_was_not_shown_is_not_kept(client: Any, site: Any, build: str) -> None:
    before = site.store.last_number(build)
    sent = {"line": "shim in2 2.65 mark", "words": "shim at in2: 2.600 mm, by mark"}
    answer = client.send(f"/builds/{build}/quick/keep", sent)
    assert answer.status_code == 409
    assert site.store.last_number(build) == before


def test_a_line_kept_twice_by_one_press_is_one_entry_with_what_belongs_to_it(
    client: Any, site: Any, build: str
) -> None:
    line = "check oil flow 70 ml in 8 s"
    words = understand_line(parse_engine_file(TRIPLE, "e.toml"), line).words
    before = site.store.last_number(build)
    for _ in range(2):
        sent = {"line": line, "words": words, "once": "7" * 32}
        assert client.send(f"/builds/{build}/quick/keep", sent).status_code == 303
    assert site.store.last_number(build) == before + 2, "the reading, and the line that is off"
    assert len(site.store.state(build).open_loose_ends) == 1
