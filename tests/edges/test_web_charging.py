"""The charging page as a mechanic uses it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL

Watched = Any
Site = Any
TRIPLE = (Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml").read_text()


@pytest.fixture(scope="module")
def charged(site: Site) -> str:
    """A triple of its own, with nothing measured; its id."""
    return str(site.store.create_build("Charging triple", TRIPLE, site.clock(), "tester").id)


def test_readings_are_keyed_in_and_the_page_says_what_is_behind_them(
    open_page: Callable[..., Watched], charged: str
) -> None:
    page = open_page(f"/builds/{charged}/charging").page
    expect(page.locator("#verdict")).to_contain_text("Nothing was read yet", use_inner_text=True)
    rows = (
        ("battery at rest", "12,3 V"),
        ("charging voltage, 1200 rpm", "12.5 V at 20 C"),
        ("charging voltage, 3000 rpm", "13.1 V at 20 C"),
        ("charging voltage, 5000 rpm", "16,9 V at 20 C"),
    )
    for number, (reading, value) in enumerate(rows, 2):
        page.get_by_label("which reading").select_option(reading)
        page.get_by_label("what the meter shows").fill(value)
        page.get_by_role("button", name="Keep reading").click()
        page.get_by_text(f"Entry {number}, strike it out").wait_for()
    page.get_by_role("img", name="16.9 V at 5000 rpm, out").first.wait_for(state="attached")
    page.get_by_label("which reading").select_option("drain at rest")
    page.get_by_label("what the meter shows").fill("35 A")
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("35 mA").wait_for()
    expect(page.get_by_label("what the meter shows")).to_have_value("35 A")  # nothing lost


def test_the_page_is_accessible_fits_the_screen_and_can_be_pressed(
    open_page: Callable[..., Watched], charged: str
) -> None:
    page = open_page(f"/builds/{charged}/charging").page
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.evaluate(Axe().axe_script)
    for width, scheme in ((360, "light"), (360, "dark"), (1280, "light")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
        overflow = page.evaluate(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert overflow <= 0, (width, scheme)
        assert page.evaluate(TOO_SMALL) == [], (width, scheme)


def test_strange_builds_readings_and_methods_are_refused(
    site: Site, charged: str, client_for: Callable[..., Any]
) -> None:
    import httpx

    assert httpx.get(site.at("/builds/none/charging")).status_code == 404
    assert httpx.delete(site.at(f"/builds/{charged}/charging")).status_code in (403, 405)
    assert httpx.post(site.at(f"/builds/{charged}/charging")).status_code in (400, 403)
