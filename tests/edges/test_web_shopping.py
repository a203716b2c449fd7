"""The shopping list: added, arrived in parts, noted twice, not wanted, refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect
from support_day import engine_text, entries_of

from tickover.book.bodies import StrikeOut
from tickover.plan.shopping import want_entry

Client = Any
Watched = Any
Site = Any


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build of it; its id."""
    return str(site.store.create_build("Shed triple", engine_text(), site.clock(), "tester").id)


def once_of(client: Client, path: str) -> str:
    """The number of the forms on a page."""
    found = re.search(r'name="once" value="([0-9a-f]{32})"', client.get(path).text)
    assert found is not None
    return found[1]


@pytest.mark.parametrize("script", [True, False])
def test_a_thing_is_added_arrives_in_parts_and_settles(
    open_page: Callable[..., Watched], site: Site, build: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/shopping", java_script_enabled=script).page
    page.get_by_label("what, as the shop calls it").fill("main jet 118")
    page.get_by_label("how many").last.fill("three")
    page.get_by_label("price of one").fill("4,20")
    page.get_by_role("button", name="Put it on the list").click()
    page.get_by_text("Nothing was written.").wait_for()
    expect(page.get_by_label("what, as the shop calls it")).to_have_value("main jet 118")
    expect(page.get_by_label("price of one")).to_have_value("4,20")
    page.locator("#add").get_by_label("how many").fill("3")
    page.get_by_role("button", name="Put it on the list").click()
    expect(page.locator("#to-buy")).to_contain_text("3 x main jet 118")
    expect(page.locator("#verdict")).to_contain_text("12.60")
    row = page.locator("#to-buy li").filter(has_text="main jet 118")
    row.get_by_label("how many").fill("2")
    row.get_by_role("button", name="Arrived: main jet 118").click()
    expect(page.locator("#to-buy")).to_contain_text("1 x main jet 118")
    expect(page.locator("#to-buy")).to_contain_text("2 of 3 arrived")
    page.locator("#to-buy").get_by_role("button", name="Arrived: main jet 118").click()
    expect(page.locator("#settled")).to_contain_text("3 x main jet 118")
    assert [e.kind for e in entries_of(site, build)] == ["engine file", "work", "stock", "stock"]


def test_what_is_not_wanted_after_all_needs_a_reason(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    site.store.append(build, want_entry("head gasket"), at=site.clock(), by="t")
    page = open_page(f"/builds/{build}/shopping").page
    page.get_by_text("Not wanted after all").click()
    page.get_by_role("button", name="Strike it out: head gasket").click()
    page.get_by_text("Nothing was written.").wait_for()
    # the field is focused, and scrolled to, a moment after the page was put in place
    expect(page.get_by_label("why head gasket is not wanted")).to_be_focused()
    page.get_by_label("why head gasket is not wanted").fill("found a new one in the box")
    page.get_by_role("button", name="Strike it out: head gasket").click()
    expect(page.locator("#to-buy")).not_to_contain_text("head gasket")
    assert isinstance(entries_of(site, build)[-1].body, StrikeOut)


def test_two_people_noting_one_arrival_are_both_kept_and_told(
    client: Client, site: Site, build: str
) -> None:
    want = site.store.append(build, want_entry("head gasket"), at=site.clock(), by="t")[0]
    for _ in range(2):
        typed = {"key": want.id, "count": "1", "once": once_of(client, f"/builds/{build}/shopping")}
        assert client.send(f"/builds/{build}/shopping/arrived", typed).status_code == 303
    assert "perhaps noted twice" in client.get(f"/builds/{build}/shopping").text


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "1000000", "٣"])
def test_a_count_that_is_none_is_refused_beside_its_line(
    client: Client, site: Site, build: str, count: str
) -> None:
    want = site.store.append(build, want_entry("head gasket"), at=site.clock(), by="t")[0]
    answer = client.send(f"/builds/{build}/shopping/arrived", {"key": want.id, "count": count})
    assert answer.status_code == 422
    assert f'value="{count}"' in answer.text
    assert site.store.last_number(build) == 2
