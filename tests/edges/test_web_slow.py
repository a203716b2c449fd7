"""A bench that answers slowly: one press is one entry, the page says it works, nothing is lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import anyio
import pytest
from playwright.sync_api import Browser, Page, expect
from support_forms import photograph
from support_web import Serving, until

from tickover.book.bodies import Picture, Reading, StartAttempt
from tickover.book.store import Store
from tickover.web.app import create_app

PATIENCE_MS = 60_000
TRIPLE = Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml"
AT = "2031-03-01T10:00:00+00:00"


@dataclass
class Line:
    """The line to the bench: every form waits on it, on the way there or back, until let through.

    Nothing here takes a time: what a page does while it waits is looked at while it waits.
    """

    app: Any
    open: threading.Event = field(default_factory=threading.Event)
    arrived: int = 0
    done: int = 0

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] != "http" or scope["method"] != "POST":
            await self.app(scope, receive, send)
            return
        self.arrived += 1
        try:
            if "charging" in scope["path"] or "pictures" in scope["path"]:
                await self._wait()  # the way there is slow
                await self.app(scope, receive, send)
            else:

                async def answer(message: Any) -> None:
                    await self._wait()  # the way back is slow
                    await send(message)

                await self.app(scope, receive, answer)
        finally:
            self.done += 1

    async def _wait(self) -> None:
        while not self.open.is_set():
            await anyio.sleep(0.01)

    def let_through(self, page: Page) -> None:
        """Everything that waits goes on; this returns when all that was sent has its answer."""
        self.open.set()
        until(
            lambda: self.arrived and self.done == self.arrived,
            "a form was not answered",
            lambda seconds: page.wait_for_timeout(1000 * seconds),
        )


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Store, Line]]:
    """The address of a server at the end of a slow line, its book, and the line."""
    with Store.open(tmp_path_factory.mktemp("slow") / "slow.book") as store:
        line = Line(create_app(store))
        served = Serving(line)
        yield served.url.rstrip("/"), store, line
        line.open.set()
        served.stop()


@pytest.fixture
def bench(browser: Browser, slow: tuple[str, Store, Line]) -> Iterator[tuple[Page, str, Any, Line]]:
    """A page, the address of a new build, what gives its entries of a kind, and the line."""
    at, store, line = slow
    line.open.clear()
    line.arrived = line.done = 0
    build = store.create_build("Slow", TRIPLE.read_text(encoding="utf-8"), AT, "tester").id
    context = browser.new_context(viewport={"width": 390, "height": 800})
    context.set_default_timeout(PATIENCE_MS)

    def kept(kind: type) -> list[Any]:
        return [e.body for e in store.state(build).live if isinstance(e.body, kind)]

    yield context.new_page(), f"{at}/builds/{build}", kept, line
    line.open.set()
    context.close()
    until(lambda: line.done == line.arrived, "a form was not answered")


def test_a_reading_pressed_twice_is_one_and_the_page_says_it_works(
    bench: tuple[Page, str, Any, Line],
) -> None:
    page, home, kept, line = bench
    page.goto(f"{home}/charging")
    page.get_by_label("what the meter shows").fill("12.6 V at 20 C")
    press = page.get_by_role("button", name="Keep reading")
    press.dblclick()
    working = page.locator("#enter .working")
    expect(working).to_be_visible()
    expect(working).to_have_attribute("role", "status")
    line.let_through(page)
    expect(page.locator(".kept")).to_be_visible()
    line.let_through(page)  # a second press would be sent after the first was answered
    expect(page.locator(".working")).to_have_count(0)
    assert len(kept(Reading)) == 1


def test_a_line_pressed_twice_is_one(bench: tuple[Page, str, Any, Line]) -> None:
    page, home, kept, line = bench
    page.goto(home)
    page.locator("#quick-line").fill("in1 0.10 / 0.12 mm")
    page.get_by_role("button", name="Read", exact=True).dblclick()
    expect(page.locator("form.working, .working")).to_be_visible()
    line.let_through(page)
    keep = page.get_by_role("button", name="Keep it")
    expect(keep).to_be_visible()
    line.open.clear()
    keep.dblclick()
    expect(page.locator("form.working, .working")).to_be_visible()
    line.let_through(page)
    expect(page.locator(".kept")).to_be_visible()
    line.let_through(page)
    assert len(kept(Reading)) == 1


def test_a_touch_pressed_twice_without_script_is_one(
    browser: Browser, bench: tuple[Page, str, Any, Line]
) -> None:
    _, home, kept, line = bench
    context = browser.new_context(java_script_enabled=False)
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto(f"{home}/stopwatch")
    # a press that leads to another page is over when the page is there: not waited for here
    page.get_by_role("button", name="Fired").dblclick(no_wait_after=True)
    until(lambda: line.arrived, "no press arrived", lambda s: page.wait_for_timeout(1000 * s))
    line.let_through(page)
    expect(page.locator("#tries")).to_contain_text("Fired")
    line.let_through(page)
    context.close()
    assert len(kept(StartAttempt)) == 1


def test_a_picture_pressed_twice_is_one(bench: tuple[Page, str, Any, Line]) -> None:
    page, home, kept, line = bench
    page.goto(f"{home}/pictures")
    sent = {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
    page.locator("#picture").set_input_files(sent)
    page.get_by_role("button", name="Keep this picture").dblclick()
    expect(page.locator(".working")).to_be_visible()
    line.let_through(page)
    expect(page.locator("main img").first).to_be_visible()
    line.let_through(page)
    assert len(kept(Picture)) == 1


@pytest.mark.parametrize(
    ("path", "field"), [("", "#note"), ("/charging", "#value"), ("/pictures", "#caption")]
)
def test_what_is_typed_and_not_sent_is_there_again(
    bench: tuple[Page, str, Any, Line], path: str, field: str
) -> None:
    page, home, *_ = bench
    page.goto(home + path)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.locator(field).fill("half a thought")
    page.goto(f"{home}/checks")
    page.goto(home + path)
    expect(page.locator(field)).to_have_value("half a thought")
    expect(page.locator(field)).to_be_visible()


@pytest.mark.parametrize(
    ("path", "field", "typed", "button"),
    [
        ("/charging", "#value", "12.6 V at 20 C", "Keep reading"),  # lost on the way there
        ("/ratio", "#value", "15.2", "Keep measurement"),  # kept, and the answer lost
    ],
)
def test_who_leaves_before_the_answer_finds_the_words_and_keeps_them_once(
    bench: tuple[Page, str, Any, Line], path: str, field: str, typed: str, button: str
) -> None:
    page, home, kept, line = bench
    page.goto(home + path)
    page.locator(field).fill(typed)
    page.get_by_role("button", name=button).click()
    until(lambda: line.arrived, "no press arrived", lambda s: page.wait_for_timeout(1000 * s))
    page.goto(f"{home}/checks")
    line.let_through(page)
    page.goto(home + path)
    expect(page.locator(field)).to_have_value(typed)
    page.get_by_role("button", name=button).click()
    expect(page.locator(".kept")).to_be_visible()
    line.let_through(page)
    assert len(kept(Reading)) == 1
    page.goto(home + path)
    expect(page.locator(field)).to_have_value("")
