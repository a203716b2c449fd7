"""Every page a link of a build leads to, on the smallest phone; a new one is tried unnamed."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from axe_playwright_python.sync_playwright import Axe

from tickover.demo import open_running_demo

Watched = Any
Site = Any
NARROW = 360  # [px]
LEAST = 46  # of a target; 48 less the line round it [px]
TARGETS = "button, summary, select, input:not([type=hidden]):not([type=radio]):not([type=checkbox])"
FILES = re.compile(r"\.(pdf|zip|csv|svg|ics|flac|html|js)$|/pictures/[0-9a-f]")


def test_every_page_is_accessible_fits_a_small_phone_and_can_be_pressed(
    open_page: Callable[..., Watched], site: Site
) -> None:
    build = open_running_demo(site.store)
    home = f"/builds/{build}"
    page = open_page("/", width=NARROW, reduced_motion="reduce").page
    axe = Axe().axe_script
    todo, seen, wrong = ["/", "/new", "/phones", home], {""}, []
    while todo:
        at = todo.pop(0)
        plain = at.partition("?")[0]
        # one page of each kind is enough where an address asks for one of many parts
        if plain in seen or FILES.search(plain):
            continue
        seen.add(plain)
        answer = page.goto(site.at(at))
        if answer is None or "text/html" not in answer.headers.get("content-type", ""):
            continue
        page.evaluate(axe)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        wrong += [f"{at}: {v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]
        if page.evaluate("document.documentElement.scrollWidth") > NARROW:
            wrong.append(f"{at}: wider than the screen")
        wrong += page.locator(TARGETS).evaluate_all(
            "(all, [at, least]) => all.filter(b => b.offsetHeight && b.offsetHeight < least)"
            ".map(b => at + ': too low: ' + b.outerHTML.slice(0, 120))",
            [at, LEAST],
        )
        if page.locator("h1").count() != 1:
            wrong.append(f"{at}: not one heading above all")
        links = page.locator("a[href^='/']").evaluate_all(
            "all => all.map(a => a.getAttribute('href').split('#')[0])"
        )
        todo += [link for link in links if link.startswith(home)]
    assert wrong == []
    assert len(seen) > 30
