"""With a keyboard alone: everything is met in order and seen, and a whole story can be told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tickover.book.bodies import Reading

Watched = Any
Site = Any
HERE = Path(__file__).parent
MARK_ORDER = (HERE / "tab_order.js").read_text(encoding="utf-8")
MET = """() => {
  const e = document.activeElement;
  if (!e || e.dataset.met === undefined) return [-1, true];
  return [Number(e.dataset.met), window.looksOf(e) !== e.dataset.looks];
}"""
AT_THE_TOP = """() => {
  document.body.tabIndex = -1;
  document.body.focus();
  document.body.removeAttribute('tabindex');
}"""
KINDS = (
    "", "/valves", "/valves/all", "/checks", "/fit", "/book", "/mixture", "/why", "/stopwatch",
    "/wiring", "/guide", "/engine", "/pictures", "/quick",
)  # fmt: skip
"""One page of each build of parts: lists, tables to fill in, drawings, folds, files, a clock."""


@pytest.mark.parametrize("path", KINDS)
def test_tab_meets_everything_in_order_and_shows_where_it_is(
    open_page: Callable[..., Watched], triple: str, path: str
) -> None:
    page = open_page(f"/builds/{triple}{path}", width=390).page
    page.evaluate(AT_THE_TOP)
    wanted = page.evaluate(MARK_ORDER)
    assert len(wanted) > 20
    met, unseen = [], []
    for _ in range(len(wanted) + 1):
        page.keyboard.press("Tab")
        number, shown = page.evaluate(MET)
        if number < 0:
            break
        met.append(number)
        if not shown:
            unseen.append(wanted[number])
    assert unseen == []
    missed = [wanted[n] for n in range(len(wanted)) if n not in met]
    assert missed == []
    assert met == sorted(met), "the order of the page and the order of the keys differ"
    # and back out again: nothing holds fast
    for number in met[-1:-4:-1]:
        page.keyboard.press("Shift+Tab")
        assert page.evaluate(MET)[0] == number


def test_the_first_key_leads_past_the_head(open_page: Callable[..., Watched], triple: str) -> None:
    page = open_page(f"/builds/{triple}/checks", width=390).page
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    assert page.locator(".skip").bounding_box()["y"] >= 0  # type: ignore[index]
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()


def test_a_fold_opens_and_shuts_with_enter(open_page: Callable[..., Watched], triple: str) -> None:
    page = open_page(f"/builds/{triple}/valves", width=390).page
    summary = page.locator("main details:not([open]) > summary").first.element_handle()
    assert summary is not None
    for opened in (True, False):
        summary.focus()
        page.keyboard.press("Enter")
        assert summary.evaluate("e => e.parentElement.open") == opened
        assert summary.evaluate("e => e === document.activeElement")


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until an element has the focus."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    raise AssertionError(f"the Tab key never meets {selector}")


def test_a_clearance_is_written_looked_at_kept_and_struck_out_by_keys_alone(
    open_page: Callable[..., Watched], site: Site, triple: str
) -> None:
    page = open_page(f"/builds/{triple}", width=390).page
    before = len(site.store.state(triple).live)
    tab_to(page, "#quick-line")
    page.keyboard.type("in1 0.10 / 0.12 mm")
    page.keyboard.press("Enter")
    understood = page.locator("[data-busy]")
    expect(understood).to_have_text("in1: 3.9 to 4.7 thou")  # 0.10 and 0.12 over 0.0254 mm
    tab_to(page, "form[action$='/quick/keep'] button")
    page.keyboard.press("Enter")
    expect(page.locator(".kept")).to_be_visible()
    kept = site.store.state(triple).live[-1]
    assert isinstance(kept.body, Reading)
    tab_to(page, ".kept a")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("The book")
    tab_to(page, f"#reason-{kept.number}")
    page.keyboard.type("wrong cylinder")
    page.keyboard.press("Enter")
    expect(page.locator(f"#entry-{kept.number}")).to_contain_text("Struck out: wrong cylinder")
    state = site.store.state(triple)
    assert state.is_struck(kept.id)
    assert len(state.live) >= before
