"""Every page a link of a build leads to, on the smallest phone; a new one is tried unnamed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe

from tickover.demo import open_running_demo

Watched = Any
Site = Any
NARROW = 360  # [px]
TOO_SMALL = (Path(__file__).parent / "too_small.js").read_text(encoding="utf-8")  # under 48 px
OPEN_FOLDS = "document.querySelectorAll('details').forEach(d => { d.open = true; })"
FILES = re.compile(r"\.(pdf|zip|csv|svg|ics|flac|html|js)$|/pictures/[0-9a-f]")


def test_every_page_is_accessible_fits_a_small_phone_and_can_be_pressed(
    open_page: Callable[..., Watched], site: Site
) -> None:
    build = open_running_demo(site.store)
    home = f"/builds/{build}"
    page = open_page("/", width=NARROW, reduced_motion="reduce").page
    axe = Axe().axe_script
    todo, seen, wrong = ["/", "/new", "/phones", home], set(), []
    walked = 0
    while todo:
        at = todo.pop(0)
        plain = at.partition("?")[0]
        # one page of each kind is enough where an address asks for one of many parts
        if plain in seen or FILES.search(plain):
            continue
        seen.add(plain)
        answer = page.goto(site.at(at))
        assert answer is not None
        assert answer.status == 200, f"{at} answers {answer.status}"
        assert "text/html" in answer.headers["content-type"], at
        walked += 1
        page.evaluate(OPEN_FOLDS)
        page.evaluate(axe)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
            wrong += [f"{at}, {scheme}: {v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]
        if page.evaluate("document.documentElement.scrollWidth") > NARROW:
            wrong.append(f"{at}: wider than the screen")
        wrong += [f"{at}: {small}" for small in page.evaluate(TOO_SMALL)]
        if page.locator("h1").count() != 1:
            wrong.append(f"{at}: not one heading above all")
        links = page.locator("a[href^='/']").evaluate_all(
            "all => all.map(a => a.getAttribute('href').split('#')[0])"
        )
        todo += [link for link in links if link.startswith(home)]
    assert wrong == []
    assert walked > 35
