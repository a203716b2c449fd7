"""A build made just now: every page stands, can be used by everybody, and says what to do next."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from support_pages import TOO_SMALL
from support_walk import walk

from tickover.web.app import create_app
from tickover.web.beginnings import BEGINNINGS

Watched = Any
Site = Any
HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples" / "engines"
SMALLEST = '[engine]\nname = "Single"\nlayout = "single"\n'
NARROW = 360  # [px]
LAYOUT = (HERE / "layout_faults.js").read_text(encoding="utf-8")
NAMES = (HERE / "name_faults.js").read_text(encoding="utf-8")
OPEN_FOLDS = "document.querySelectorAll('details').forEach(d => { d.open = true; })"
# Something to press, to follow or to copy in what is the page's own: head and foot do not count.
NEXT = """() => Array.from(document.querySelectorAll(
  'main form, main a[href], main pre, main code')).some(e => e.checkVisibility())"""
HEAD = '[engine]\nname = "Bare"\nlayout = "single"\n'
SHOWN_AT = {"loom": "wiring/loom", "shims": "drawer"}
"""Parts whose page is called otherwise."""


@pytest.mark.parametrize(
    "text",
    [SMALLEST, (EXAMPLES / "triple-240.toml").read_text(encoding="utf-8")],
    ids=["smallest", "example"],
)
def test_every_page_of_a_new_build_stands_and_says_what_to_do_next(
    open_page: Callable[..., Watched],
    client_for: Callable[..., Any],
    site: Site,
    text: str,
) -> None:
    build = site.store.create_build("New", text, site.clock(), "tester").id
    home = f"/builds/{build}"
    client = client_for(create_app(site.store, clock=site.clock))
    pages = list(walk(client, [home, f"{home}/quick"], home))  # each answers 200
    assert len(pages) > 30
    page = open_page(home, width=NARROW, reduced_motion="reduce").page
    axe, wrong = Axe().axe_script, []
    for at in pages:
        page.goto(site.at(at))
        if not page.evaluate(NEXT):
            wrong.append(f"{at}: nothing to do next")
        page.evaluate(OPEN_FOLDS)
        page.evaluate(axe)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        wrong += [f"{at}: {v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]
        for probe in (LAYOUT, NAMES, TOO_SMALL):
            wrong += [f"{at}: {fault}" for fault in page.evaluate(probe)]
    assert wrong == [], "\n".join(wrong)


@pytest.mark.parametrize("part", BEGINNINGS)
def test_the_lines_a_page_shows_to_begin_with_bring_it_to_life(
    client_for: Callable[..., Any], site: Site, part: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    for text, shown in ((HEAD, True), (HEAD + BEGINNINGS[part], False)):
        build = site.store.create_build("Bare", text, site.clock(), "tester").id
        page = client.get(f"/builds/{build}/{SHOWN_AT.get(part, part)}")
        assert page.status_code == 200
        assert ('aria-label="Lines for the engine file"' in page.text) == shown
