"""Every page at phone and desk width, light and dark: readable, reachable, nothing sideways."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL

from tickover.demo import open_demo

Watched = Any
PAGES = (
    "/",
    "/phones",
    "/nothing-here",
    "/builds/{build}/engine",
    "/builds/{demo}",
    "/builds/{demo}/valves",
    "/builds/{demo}/valves?at=in2",
    "/builds/{build}/valves",
    "/builds/{six}/valves",
    "/builds/{demo}/valves/all",
    "/builds/{demo}/drawer",
    "/builds/{demo}/book",
)
WIDTHS = (360, 390, 1280)

# What can be pressed and is smaller than 48 by 48 px.


@pytest.fixture(scope="module")
def axe() -> Axe:
    return Axe()


@pytest.fixture(scope="module")
def six(site: Any) -> str:
    """A six with 24 valves: the fullest drawing there is; its id."""
    text = (
        '[engine]\nname = "Six"\nlayout = "inline"\ncylinders = 6\n'
        "firing_order = [1, 5, 3, 6, 2, 4]\n"
        '[valves]\ninlet = 2\nexhaust = 2\nadjustment = "shim over bucket"\n'
        'inlet_clearance = "0.08..0.13 mm"\nexhaust_clearance = "0.13..0.18 mm"\n'
    )
    return str(site.store.create_build("Six", text, site.clock(), "tester").id)


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_accessible_fits_the_screen_and_can_be_pressed(
    open_page: Callable[..., Watched], axe: Axe, site: Any, triple: str, six: str, path: str
) -> None:
    watched = open_page(path.format(build=triple, six=six, demo=open_demo(site.store)))
    page = watched.page
    watched.complaints[:] = [c for c in watched.complaints if "status of 404" not in c]
    page.evaluate(axe.axe_script)
    for width, scheme in itertools.product(WIDTHS, ("light", "dark")):
        where = f"{path} at {width} px, {scheme}"
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == [], where
        overflow = page.evaluate(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert overflow <= 0, where
        assert page.evaluate(TOO_SMALL) == [], where


@pytest.mark.parametrize("path", PAGES)
def test_nothing_is_hidden_below_a_fold_that_cannot_be_pressed(
    open_page: Callable[..., Watched], axe: Axe, site: Any, triple: str, six: str, path: str
) -> None:
    watched = open_page(path.format(build=triple, six=six, demo=open_demo(site.store)), width=360)
    page = watched.page
    watched.complaints[:] = [c for c in watched.complaints if "status of 404" not in c]
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.evaluate(axe.axe_script)
    found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
    assert page.evaluate(TOO_SMALL) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_the_dark_theme_is_dark_and_paper_is_white(open_page: Callable[..., Watched]) -> None:
    page = open_page("/", color_scheme="dark").page
    background = "() => getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(background) == "rgb(16, 19, 24)"
    page.emulate_media(media="print")
    assert page.evaluate(background) == "rgb(255, 255, 255)"


def test_the_chosen_theme_wins_over_the_device(open_page: Callable[..., Watched]) -> None:
    page = open_page("/", color_scheme="dark").page
    page.get_by_role("button", name="Light", exact=True).click()
    body = page.locator("body")
    expect(body).to_have_css("background-color", "rgb(255, 255, 255)")
    page.get_by_role("button", name="Dark", exact=True).click()
    expect(body).to_have_css("background-color", "rgb(16, 19, 24)")


def test_the_vendored_typeface_is_the_one_drawn(open_page: Callable[..., Watched]) -> None:
    page = open_page("/").page
    assert page.evaluate(
        """async () => { await document.fonts.ready;
        return document.fonts.check('700 18px "Atkinson Hyperlegible Next"'); }"""
    )
    loaded = page.evaluate(
        "() => Array.from(document.fonts).filter(f => f.status === 'loaded').length"
    )
    assert loaded >= 1


def test_the_first_tab_is_the_way_past_the_head(open_page: Callable[..., Watched]) -> None:
    page = open_page("/").page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the work"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


@pytest.mark.parametrize("script", [True, False])
def test_a_build_is_started_from_a_pasted_engine_file(
    open_page: Callable[..., Watched], script: bool
) -> None:
    page = open_page("/", java_script_enabled=script).page
    page.get_by_label("Engine file, as text").fill(
        '[engine]\nname = "<script>alert(1)</script>"\nlayout = "V"\n'
        'cylinders = 2\nv_angle = "60 deg"\n'
    )
    page.get_by_role("button", name="Start this build").click()
    page.wait_for_url("**/builds/*")
    page.goto(page.url + "/engine")
    expect(page.locator("header")).to_contain_text("<script>alert(1)</script>", use_inner_text=True)
    expect(page.locator("main")).to_contain_text("60 degrees between them", use_inner_text=True)


def test_a_refused_engine_file_keeps_what_was_typed_and_names_every_line(
    open_page: Callable[..., Watched],
) -> None:
    page = open_page("/").page
    typed = '[engine]\nname = "Twin"\nlayout = "inlien"\ncylinders = 2\nbore = "6.4 m"\n'
    page.get_by_label("Engine file, as text").fill(typed)
    page.get_by_role("button", name="Start this build").click()
    page.get_by_text("Line 3, engine.layout.").wait_for()
    page.get_by_text("Line 5, engine.bore.").wait_for()
    expect(page.get_by_label("Engine file, as text")).to_have_value(typed)


def test_an_engine_file_is_sent_and_a_file_that_is_not_text_is_refused(
    open_page: Callable[..., Watched], tmp_path: Path
) -> None:
    page = open_page("/").page
    bad = tmp_path / "engine.toml"
    bad.write_bytes(b"\xff\xfe\x00engine")
    page.get_by_label("or the file itself").set_input_files(bad)
    page.get_by_role("button", name="Start this build").click()
    page.get_by_text("saved as UTF-8").wait_for()
    bad.write_text('[engine]\nname = "Sent single"\nlayout = "single"\n')
    page.get_by_label("or the file itself").set_input_files(bad)
    page.get_by_role("button", name="Start this build").click()
    page.wait_for_url("**/builds/sent-single-*")


def test_an_exported_build_comes_back_exactly_and_not_twice(
    open_page: Callable[..., Watched], triple: str, tmp_path: Path
) -> None:
    page = open_page("/").page
    answer = page.request.get(page.url + f"builds/{triple}/export.zip")
    assert answer.headers["content-type"] == "application/zip"
    target = tmp_path / "build.zip"
    target.write_bytes(answer.body())
    page.get_by_label("Exported build").set_input_files(target)
    page.get_by_role("button", name="Bring in this build").click()
    page.get_by_text("already").first.wait_for()
    page.get_by_label("make a second build beside it").check()
    page.get_by_label("Exported build").set_input_files(target)
    page.get_by_role("button", name="Bring in this build").click()
    page.wait_for_url("**/builds/*-copy*")
