"""One press of a button is kept once: pressed twice, sent again, written without a connection."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, Route, expect

from tickover.book.bodies import Note
from tickover.demo import open_demo
from tickover.web.routes import routes

Watched = Any
Site = Any
Client = Any
LAMPS = "do the dash lamps come on?"
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


def picture(folder: Path, name: str = "crack.png", wide: int = 40) -> Path:
    """A picture to send."""
    target = folder / name
    Image.new("RGB", (wide, 30), "red").save(target)
    return target


def write_with_picture(page: Page, target: Path, words: str) -> None:
    page.get_by_label("and a picture, if one helps").set_input_files(target)
    write_note(page, words)


def test_a_picture_without_a_connection_waits_on_the_phone_in_its_turn(
    open_page: Callable[..., Watched], site: Site, build: str, tmp_path: Path
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.context.set_offline(True)
    write_note(page, "first")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    target = picture(tmp_path)
    write_with_picture(page, target, "seen offline")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 2")
    target.unlink()  # the phone has it
    write_note(page, "last")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 3")
    page.context.set_offline(False)
    expect(page.locator("#outbox")).to_be_hidden()
    assert notes(site, build) == ["first", "seen offline", "last"]
    state = site.store.state(build)
    assert [e.body.caption for e in state.pictures()] == ["seen offline"]
    forgive(watched)


def test_a_picture_waits_on_the_phone_while_the_page_is_left_and_is_kept_once(
    open_page: Callable[..., Watched], site: Site, build: str, tmp_path: Path
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    gone: list[str] = []

    def down(route: Route) -> None:
        if route.request.method == "POST" and not back:
            gone.append(route.request.url)
            route.abort("connectionrefused")
        else:
            route.continue_()

    back: list[bool] = []
    page.route(f"**/builds/{build}/note", down)
    write_with_picture(page, picture(tmp_path), "once")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    page.goto(page.url.split("/builds")[0] + "/")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    assert notes(site, build) == []
    back.append(True)
    expect(page.locator("#outbox")).to_be_hidden(timeout=20000)
    state = site.store.state(build)
    assert len(gone) >= 2
    assert [e.body.text for e in state.notes()] == ["once"]
    assert [e.body.caption for e in state.pictures()] == ["once"]
    watched.complaints.clear()  # refused connections, as asked for


def test_a_picture_too_large_for_the_phone_stays_chosen_with_its_words(
    open_page: Callable[..., Watched], site: Site, build: str, tmp_path: Path
) -> None:
    target = picture(tmp_path)
    with target.open("ab") as file:
        file.truncate(21_000_000)
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.context.set_offline(True)
    write_with_picture(page, target, "too large")
    expect(page.locator("#outbox")).to_contain_text("It is still chosen")
    assert page.get_by_label("anything worth remembering").input_value() == "too large"
    page.context.set_offline(False)
    assert notes(site, build) == []
    forgive(watched)


def test_a_file_the_bench_refuses_later_is_told_and_does_not_hold_up_the_rest(
    open_page: Callable[..., Watched], site: Site, build: str, tmp_path: Path
) -> None:
    target = tmp_path / "no-picture.png"
    target.write_bytes(b"words, and no picture")
    watched = open_page(f"/builds/{build}")
    page = watched.page
    page.context.set_offline(True)
    write_with_picture(page, target, "what is this")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    write_note(page, "behind it")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 2")
    page.context.set_offline(False)
    expect(page.locator("#outbox")).to_contain_text("Not kept:")
    expect(page.locator("#outbox")).to_contain_text("what is this")
    assert "behind it" in notes(site, build)
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#outbox")).to_be_hidden()
    forgive(watched)


def test_a_form_whose_answer_was_lost_is_not_kept_twice(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}")
    page = watched.page
    lost: list[int] = []
    looked: list[bool] = []

    def lose(route: Route) -> None:
        if looked or route.request.method != "POST":
            route.continue_()
            return
        if not lost:
            lost.append(route.fetch(max_redirects=0).status)  # it arrives; its answer does not
        route.abort("connectionreset")  # what is tried again meanwhile does not get there

    page.route(f"**/builds/{build}/note", lose)
    write_note(page, "heard, but not answered")
    expect(page.locator("#outbox")).to_contain_text("not sent yet: 1")
    looked.append(True)
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
    page.get_by_text("In the book:").wait_for()  # 'Back to where you were' stands there before
    assert site.store.entries(build)[-1].kind == "loose end opened"
    expect(page.locator("#outbox")).to_be_hidden()
    forgive(watched)


def numbers_of(client: Client, path: str) -> list[str]:
    """The numbers of the forms on a page."""
    return re.findall(r'name="once" value="([0-9a-f]{32})"', client.get(path).text)


@pytest.mark.parametrize(
    ("page", "path", "typed"),
    [
        ("start", "start", {"what": "fired", "seconds": "2"}),
        ("stopwatch", "stopwatch", {"what": "fired"}),
        ("why", "why/begin", {"symptom": "will not start"}),
        ("why", "why", {"symptom": "will not start", "question": LAMPS, "outcome": "yes"}),
        ("why", "why/looked", {"symptom": "will not start", "cause": "flooded", "found": "no"}),
        ("shopping", "shopping", {"item": "gasket", "count": "1"}),
        ("run-in", "run-in/heat-cycle", {}),
        ("run-in", "run-in/use", {"use_distance": "200 km"}),
        ("run-in", "run-in/done", {"step": "oil level again"}),
    ],
)
def test_a_button_pressed_twice_writes_once(
    client: Client, site: Site, build: str, page: str, path: str, typed: dict[str, str]
) -> None:
    home = f"/builds/{build}"
    typed = {**typed, "once": numbers_of(client, f"{home}/{page}")[0]}
    assert client.send(f"{home}/{path}", typed).status_code == 303
    after = site.store.last_number(build)
    assert after > 1
    assert client.send(f"{home}/{path}", typed).status_code == 303
    assert site.store.last_number(build) == after
    typed["once"] = numbers_of(client, f"{home}/{page}")[0]
    assert client.send(f"{home}/{path}", typed).status_code == 303
    assert site.store.last_number(build) > after, "pressed again on the page drawn anew"


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("loose", {"label": "guard off"}),
        ("loose-ends", {"label": "guard off"}),
        ("note", {"note": "clamps"}),
        ("work", {"work": "jets changed"}),
        ("drawer", {"size": "2.50", "count": "1"}),
        ("noise", {"level": "94.5 dB"}),
        ("noise/work", {"what": "baffles changed"}),
        ("run-in", {"distance": "120 km"}),
    ],
)
def test_other_buttons_pressed_twice_too(
    client: Client, site: Site, build: str, path: str, typed: dict[str, str]
) -> None:
    typed = {**typed, "once": "7" * 32}
    first = client.send(f"/builds/{build}/{path}", typed)
    assert first.status_code == 303, first.text
    after = site.store.last_number(build)
    assert after > 1
    again = client.send(f"/builds/{build}/{path}", typed)
    assert again.status_code == 303
    assert again.headers["location"] == first.headers["location"]
    assert site.store.last_number(build) == after


def test_what_a_press_did_itself_is_no_reason_to_tell_it_was_refused(
    client: Client, site: Site, build: str
) -> None:
    client.send(f"/builds/{build}/loose", {"label": "guard off"})
    end = site.store.state(build).loose_ends[0].id
    strike = {"entry": end, "reason": "typed twice"}
    for path, typed in (("loose/close", {"end": end}), ("book/strike", strike)):
        for _ in range(2):
            answer = client.send(f"/builds/{build}/{path}", {**typed, "once": "7" * 32})
            assert answer.status_code == 303
        number = site.store.last_number(build)
        assert f"#entry-{number}" in answer.headers["location"], "shown in the book"
    assert number == 4


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("/builds", {"engine_file": '[engine]\nname = "Twice"\nlayout = "single"\n'}),
        ("/new/like", {"name": "Twice", "like": "example single"}),
    ],
)
def test_a_build_begun_by_a_button_pressed_twice_is_one(
    client: Client, site: Site, path: str, typed: dict[str, str]
) -> None:
    name = f"Twice {path}"
    typed = {key: value.replace("Twice", name) for key, value in typed.items()}
    for number, count in (("7", 1), ("7", 1), ("8", 2)):
        answer = client.send(path, {**typed, "once": number * 32})
        assert answer.status_code == 303, answer.text
        assert sum(row.name == name for row in site.store.builds()) == count


def test_other_words_under_the_same_number_are_kept_too(
    client: Client, site: Site, build: str
) -> None:
    for words in ("first", "second", "second"):
        client.send(f"/builds/{build}/note", {"note": words, "once": "7" * 32})
    assert notes(site, build) == ["first", "second"]


def test_every_form_that_writes_in_a_build_carries_a_number_of_its_own(
    client: Client, site: Site
) -> None:
    home = f"/builds/{open_demo(site.store)}"
    looked = 0
    for route in routes():
        path = getattr(route, "path", "")
        reads = "GET" in (getattr(route, "methods", None) or ())
        if not reads or not path.startswith("/builds/{build}") or path.count("{") > 1:
            continue
        answer = client.get(path.replace("/builds/{build}", home))
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        inside = re.findall(
            r'<form method="post" action="/builds/[^"]*"(.*?)</form>', answer.text, re.DOTALL
        )
        numbers = [re.findall(r'name="once" value="([0-9a-f]{32})"', form) for form in inside]
        assert [len(found) for found in numbers] == [1] * len(inside), path
        assert len({found[0] for found in numbers}) == len(inside), path
        looked += len(inside)
    assert looked > 50


def test_a_form_sent_again_is_kept_once_at_the_time_it_was_written(
    client: Client, site: Site, build: str
) -> None:
    typed = {"note": "once", "once": "ab" * 16, "written": "2031-03-01T07:00:00+00:00"}
    answers = [client.send(f"/builds/{build}/note", typed).status_code for _ in range(3)]
    assert answers == [303, 204, 204]
    found = [e for e in site.store.entries(build) if isinstance(e.body, Note)]
    assert [(e.body.text, e.at) for e in found] == [("once", "2031-03-01T07:00:00Z")]


def test_a_number_that_is_none_guards_nothing_and_loses_nothing(
    client: Client, site: Site, build: str
) -> None:
    for broken in ("zz" * 16, "ab" * 20, "", "AB" * 16):
        client.send(f"/builds/{build}/note", {"note": "x", "once": broken, "written": "yesterday"})
    assert notes(site, build) == ["x"] * 4
