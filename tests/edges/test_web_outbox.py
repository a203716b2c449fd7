"""Written without a connection, kept once; written elsewhere, seen within seconds."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, Route, expect

from tickover.book.bodies import Note

Watched = Any
Site = Any
GONE = (
    "ERR_INTERNET_DISCONNECTED", "ERR_FAILED", "ERR_CONNECTION_RESET", "status of 422",
    "htmx:sendError", "htmx:afterRequest",  # htmx notes the lost connection too
)  # fmt: skip


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build; its id."""
    text = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text()
    return str(site.store.create_build("Shed triple", text, site.clock(), "tester").id)


def notes(site: Site, build: str) -> list[str]:
    return [e.body.text for e in site.store.entries(build) if isinstance(e.body, Note)]


def write_note(page: Page, words: str) -> None:
    page.get_by_label("anything worth remembering").fill(words)
    page.get_by_role("button", name="Keep this note").click()


def forgive(watched: Watched) -> None:
    """A lost connection is what these tests are about; anything else stays a complaint."""
    watched.complaints[:] = [c for c in watched.complaints if not any(g in c for g in GONE)]


def test_notes_written_without_a_connection_arrive_once_and_in_order(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.context.set_offline(True)
    for n in range(1, 4):
        write_note(page, f"written offline {n}")
        expect(page.locator("#outbox")).to_contain_text(f"not sent yet: {n}")
    assert notes(site, build) == []
    page.context.set_offline(False)
    expect(page.locator("#outbox")).to_be_hidden()
    assert notes(site, build) == [f"written offline {n}" for n in range(1, 4)]
    forgive(watched)


def test_a_picture_that_cannot_be_sent_stays_chosen_with_its_words(
    open_page: Callable[..., Watched], site: Site, build: str, tmp_path: Path
) -> None:
    target = tmp_path / "crack.png"
    Image.new("RGB", (40, 30), "red").save(target)
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.get_by_label("and a picture, if one helps").set_input_files(target)
    page.context.set_offline(True)
    write_note(page, "seen offline")
    expect(page.locator("#outbox")).to_contain_text("it is still chosen")
    assert page.get_by_label("anything worth remembering").input_value() == "seen offline"
    page.context.set_offline(False)
    page.get_by_role("button", name="Keep this note").click()
    expect(page.get_by_label("anything worth remembering")).to_have_value("")
    state = site.store.state(build)
    assert [e.body.text for e in state.notes()] == ["seen offline"]
    assert [e.body.caption for e in state.pictures()] == ["seen offline"]
    forgive(watched)


def test_a_form_whose_answer_was_lost_is_not_kept_twice(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    lost: list[int] = []

    def lose(route: Route) -> None:
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch(max_redirects=0).status)  # it arrives; its answer does not
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route(f"**/builds/{build}/note", lose)
    write_note(page, "heard, but not answered")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    expect(page.locator("#outbox")).to_be_hidden()
    assert lost == [303]
    assert notes(site, build) == ["heard, but not answered"]
    forgive(watched)


def test_what_the_bench_refuses_later_is_told_and_can_be_thrown_away(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/shopping")
    page = watched.page
    page.context.set_offline(True)
    page.locator("#add").get_by_label("how many").fill("three")
    page.get_by_label("what, as the shop calls it").fill("main jet")
    page.get_by_role("button", name="Put it on the list").click()
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    page.context.set_offline(False)
    expect(page.locator("#outbox")).to_contain_text("How many is a whole number")
    expect(page.locator("#outbox")).to_contain_text("main jet")
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#outbox")).to_be_hidden()
    forgive(watched)


def test_a_line_written_offline_is_looked_at_before_it_is_kept(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.context.set_offline(True)
    page.get_by_label("a line for the book").fill("loose oil line off")
    page.get_by_role("button", name="Read", exact=True).click()
    expect(page.locator("#outbox")).to_contain_text("loose oil line off")
    page.context.set_offline(False)
    page.get_by_role("link", name="Look at it").click()
    page.get_by_text("It is understood as").wait_for()
    expect(page.locator("#outbox")).to_be_hidden()  # let go here, and not on the way
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("Back to where you were").wait_for()
    assert site.store.entries(build)[-1].kind == "loose end opened"
    expect(page.locator("#outbox")).to_be_hidden()
    forgive(watched)


def test_two_pages_see_each_other_within_seconds(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    one = open_page(f"/builds/{build}/book").page
    two = open_page(f"/builds/{build}").page
    write_note(two, "seen on the other phone")
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
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    assert client.get(f"/builds/{build}/last").json() == {"last": 1}
    assert client.get(f"/builds/{build}/sent/{'0' * 32}").json() == {"kept": 0}
    assert client.get("/builds/none/last").status_code == 404
    assert client.get(f"/builds/none/sent/{'0' * 32}").status_code == 404


def test_a_form_sent_again_under_its_id_is_kept_once(
    client_for: Callable[..., Any], site: Site, build: str
) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    again = {"tickover-sending": "ab" * 16, "tickover-written": "2031-03-01T07:00:00+00:00"}
    for _ in range(3):
        client.send(f"/builds/{build}/note", {"note": "once"}, headers=again)
    found = [e for e in site.store.entries(build) if isinstance(e.body, Note)]
    assert [(e.body.text, e.at) for e in found] == [("once", "2031-03-01T07:00:00Z")]
    assert client.get(f"/builds/{build}/sent/{'ab' * 16}").json()["kept"] == found[0].number
    for broken in ("zz" * 16, "ab" * 20, ""):
        client.send(f"/builds/{build}/note", {"note": "x"}, headers={"tickover-sending": broken})
    assert len(notes(site, build)) == 4
