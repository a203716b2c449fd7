"""Written elsewhere, seen within seconds; typing is never disturbed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

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
    expect(one.locator("#main")).to_contain_text("Seen on the other phone", timeout=8_000)
    site.store.append(build, Note("from the terminal"), at=site.clock(), by="terminal")
    expect(one.locator("#main")).to_contain_text("From the terminal", timeout=8_000)


def test_typing_is_never_disturbed_by_what_others_write(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}").page
    page.get_by_label("anything worth remembering").fill("half a sent")
    site.store.append(build, Note("somebody else"), at=site.clock(), by="terminal")
    expect(page.locator("#news")).to_contain_text("One new entry", timeout=8_000)
    expect(page.get_by_label("anything worth remembering")).to_have_value("half a sent")


def test_the_number_of_the_latest_entry_is_told_and_a_missing_build_is_missing(
    client_for: Callable[..., Any], site: Site, build: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    assert client.get(f"/builds/{build}/last").json() == {"last": 1}
    assert client.get("/builds/none/last").status_code == 404
