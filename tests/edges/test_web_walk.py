"""Every page a link of a build leads to, as it is seen, pressed and heard; new ones too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from support_pages import TOO_SMALL
from support_walk import NO_PAGE, path_kind

from tickover.demo import open_running_demo

Watched = Any
Site = Any
HERE = Path(__file__).parent
NARROW = 360
"""The smallest phone [px]."""
WIDTHS = (390, 768, 1280)
"""A phone, a tablet on the bench, a laptop [px]."""
LAYOUT = (HERE / "layout_faults.js").read_text(encoding="utf-8")
NAMES = (HERE / "name_faults.js").read_text(encoding="utf-8")
OPEN_FOLDS = "document.querySelectorAll('details').forEach(d => { d.open = true; })"
RUN_AXE = "axe.run({resultTypes: ['violations']})"
NO_LINE = {
    "/": "of no build: the line would not know whose book",
    "/new": "of no build",
    "/phones": "of no build",
}
"""Pages without the line for the book, and why: everywhere else it stands once."""
NO_SEARCH = NO_LINE
"""Likewise without a search in the book."""


def axe_faults(page: Any, scheme: str) -> list[str]:
    page.emulate_media(color_scheme=scheme)
    found = page.evaluate(RUN_AXE)["violations"]
    return [f"{scheme}: {v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]


def faults(page: Any, at: str) -> list[str]:
    """What is wrong with the page that is open, with all its folds open."""
    found = [fault for scheme in ("light", "dark") for fault in axe_faults(page, scheme)]
    found += page.evaluate(TOO_SMALL)
    found += [f"{fault} at {NARROW} px" for fault in page.evaluate(LAYOUT)]
    found += page.evaluate(NAMES)
    if page.locator("h1").count() != 1:
        found.append("not one heading above all")
    kind = path_kind(at)
    if page.locator("form[action$='/quick'] input[name=line]").count() != 1 and kind not in NO_LINE:
        found.append("no line for the book")
    if page.get_by_role("search").count() != 1 and kind not in NO_SEARCH:
        found.append("no search")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        found += [f"{fault} at {width} px" for fault in page.evaluate(LAYOUT)]
    found += [f"{fault} at {WIDTHS[-1]} px" for fault in axe_faults(page, "light")]
    page.set_viewport_size({"width": NARROW, "height": 800})
    return found


def test_every_page_is_accessible_fits_its_screen_and_can_be_pressed(
    open_page: Callable[..., Watched], site: Site
) -> None:
    build = open_running_demo(site.store)
    home = f"/builds/{build}"
    page = open_page("/", width=NARROW, reduced_motion="reduce").page
    axe = Axe().axe_script
    todo, seen, wrong = ["/", "/new", "/phones", home, f"{home}/quick"], set(), []
    while todo:
        at = todo.pop(0)
        plain = at.partition("?")[0]
        # one page of each kind is enough where an address asks for one of many parts
        if plain in seen or NO_PAGE.search(plain):
            continue
        seen.add(plain)
        answer = page.goto(site.at(at))
        assert answer is not None
        assert answer.status == 200, f"{at} answers {answer.status}"
        assert "text/html" in answer.headers["content-type"], at
        page.evaluate(OPEN_FOLDS)
        page.evaluate(axe)
        wrong += [f"{at}: {fault}" for fault in faults(page, at)]
        links = page.locator("a[href^='/']").evaluate_all(
            "all => all.map(a => a.getAttribute('href').split('#')[0])"
        )
        todo += [link for link in links if link.startswith(home)]
    assert wrong == [], "\n".join(wrong)
    assert len(seen) > 35
