"""Written elsewhere, seen within seconds; typing is never disturbed."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect
from support_web import until

from tickover.book.bodies import Note
from tickover.web.app import create_app

Watched = Any
Site = Any


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build; its id."""
    text = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text()
    return str(site.store.create_build("Shed triple", text, site.clock(), "tester").id)


def test_two_pages_see_each_other_within_seconds(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    one = open_page(f"/builds/{build}/book").page
    two = open_page(f"/builds/{build}").page
    two.get_by_label("anything worth remembering").fill("seen on the other phone")
    two.get_by_role("button", name="Keep this note").click()
    expect(one.locator("#main")).to_contain_text("Seen on the other phone")
    site.store.append(build, Note("from the terminal"), at=site.clock(), by="terminal")
    expect(one.locator("#main")).to_contain_text("From the terminal")


def test_an_open_page_looks_every_three_seconds(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}").page
    # by its own clock, which goes on only when told: a busy machine makes it no slower
    page.clock.install(time="2031-03-01T10:00:00Z")
    page.reload()
    page.clock.pause_at("2031-03-01T11:00:00Z")
    looks: list[int] = []
    page.on("request", lambda asked: looks.append(seconds) if asked.url.endswith("/last") else None)
    seconds = 0

    def a_second(rest: float) -> None:
        nonlocal seconds
        seconds += 1
        page.clock.run_for(1000)
        page.wait_for_timeout(1000 * rest)

    # a look that is still under way lets the next one go by, so not every pause is the shortest
    until(
        lambda: 3 in [after - before for before, after in itertools.pairwise(looks)],
        "no two looks came three seconds apart",
        a_second,
    )


def test_typing_is_never_disturbed_by_what_others_write(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}").page
    page.get_by_label("anything worth remembering").fill("half a sent")
    site.store.append(build, Note("somebody else"), at=site.clock(), by="terminal")
    expect(page.locator("#news")).to_contain_text("One new entry")
    expect(page.get_by_label("anything worth remembering")).to_have_value("half a sent")


def hold_drawing(page: Page, build: str) -> list[Route]:
    """What the page fetches to draw itself anew, from here on held up on its way."""
    held: list[Route] = []

    def hold(route: Route) -> None:
        asked = route.request
        if asked.method == "GET" and "hx-request" in asked.headers:
            held.append(route)
        else:
            route.continue_()

    page.route(re.compile(f"/builds/{build}"), hold)
    return held


def passing(page: Page) -> Callable[[float], None]:
    """Lets seconds pass while the browser's driver goes on."""
    return lambda seconds: page.wait_for_timeout(1000 * seconds)


def test_what_is_typed_while_the_page_is_fetched_anew_stays(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}").page
    held = hold_drawing(page, build)
    site.store.append(build, Note("somebody else"), at=site.clock(), by="terminal")
    until(lambda: held, "the page did not ask to be drawn anew", passing(page))
    page.get_by_label("anything worth remembering").fill("half a sent")
    held.pop().continue_()
    expect(page.locator("#news")).to_contain_text("One new entry")
    expect(page.get_by_label("anything worth remembering")).to_have_value("half a sent")
    page.get_by_role("button", name="Draw this page anew").click()
    until(lambda: held, "the page was not fetched anew", passing(page))
    held.pop().continue_()
    expect(page.get_by_label("anything worth remembering")).to_have_value("")


def test_a_page_that_was_left_while_it_was_fetched_anew_does_not_come_back(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/check?name=earths").page
    held = hold_drawing(page, build)
    site.store.append(build, Note("somebody else"), at=site.clock(), by="terminal")
    until(lambda: held, "the page did not ask to be drawn anew", passing(page))
    page.get_by_label("what you read").fill("0.05 V")
    page.get_by_role("button", name="Keep reading").click()
    expect(page.locator("#main")).to_contain_text("In the book: earths")
    title = page.title()
    page.evaluate(
        """() => document.addEventListener("htmx:afterRequest", (event) => {
             if (event.detail.requestConfig.verb === "get") window.over = true;
           })"""
    )
    held.pop().continue_()
    until(lambda: page.evaluate("window.over"), "no answer came", passing(page))
    expect(page.locator("#main")).to_contain_text("In the book: earths")
    expect(page.locator("h1")).not_to_have_text("Earths", use_inner_text=True)
    assert page.title() == title, "the name of the page that was left"


def test_the_number_of_the_latest_entry_is_told_and_a_missing_build_is_missing(
    client_for: Callable[..., Any], site: Site, build: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    assert client.get(f"/builds/{build}/last").json() == {"last": 1}
    assert client.get("/builds/none/last").status_code == 404
