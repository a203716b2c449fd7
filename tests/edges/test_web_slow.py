"""A bench that answers slowly: one press is one entry, the page says it works, nothing is lost."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import anyio
import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect
from support_forms import photograph

from tickover.book.bodies import Picture, Reading, StartAttempt
from tickover.book.store import Store
from tickover.web.app import create_app
from tickover.web.serve import address, bind

DELAY_S = 2.0
"""Each answer to a form waits as long; over the second after which a page has to say so."""
TRIPLE = Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml"
AT = "2031-03-01T10:00:00+00:00"


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Store]]:
    """The address of a server that takes its time over every form, and its book."""
    with Store.open(tmp_path_factory.mktemp("slow") / "slow.book") as store:
        app = create_app(store)

        async def late(scope: Any, receive: Any, send: Any) -> None:
            if scope["type"] == "http" and scope["method"] == "POST":
                if "charging" in scope["path"] or "pictures" in scope["path"]:
                    await anyio.sleep(DELAY_S)  # the way there is slow
                    await app(scope, receive, send)
                    return

                async def answer(message: Any) -> None:
                    await anyio.sleep(DELAY_S / 2)  # the way back is slow, head and body
                    await send(message)

                await app(scope, receive, answer)
                return
            await app(scope, receive, send)

        sock = bind("127.0.0.1", 0)
        server = uvicorn.Server(uvicorn.Config(late, log_level="warning", lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
        thread.start()
        for _ in range(200):
            if server.started:
                break
            time.sleep(0.02)
        yield address(sock).rstrip("/"), store
        server.should_exit = True
        thread.join(timeout=10)


@pytest.fixture
def bench(browser: Browser, slow: tuple[str, Store]) -> Iterator[tuple[Page, str, Any]]:
    """A page, the address of a new build, and what gives its entries of a kind."""
    at, store = slow
    build = store.create_build("Slow", TRIPLE.read_text(encoding="utf-8"), AT, "tester").id
    context = browser.new_context(viewport={"width": 390, "height": 800})
    context.set_default_timeout(20_000)

    def kept(kind: type) -> list[Any]:
        return [e.body for e in store.state(build).live if isinstance(e.body, kind)]

    yield context.new_page(), f"{at}/builds/{build}", kept
    context.close()


def settled(page: Page) -> None:
    """Every request that is under way, a second press's too, has its answer."""
    page.wait_for_timeout(DELAY_S * 1000 + 500)
    page.wait_for_load_state("networkidle")


def test_a_reading_pressed_twice_is_one_and_the_page_says_it_works(
    bench: tuple[Page, str, Any],
) -> None:
    page, home, kept = bench
    page.goto(f"{home}/charging")
    page.get_by_label("what the meter shows").fill("12.6 V at 20 C")
    press = page.get_by_role("button", name="Keep reading")
    press.dblclick()
    working = page.locator("#enter .working")
    expect(working).to_be_visible()
    assert working.get_attribute("role") == "status"
    settled(page)
    expect(page.locator(".kept")).to_be_visible()
    assert page.locator(".working").count() == 0
    assert len(kept(Reading)) == 1


def test_a_line_pressed_twice_is_one(bench: tuple[Page, str, Any]) -> None:
    page, home, kept = bench
    page.goto(home)
    page.locator("#quick-line").fill("in1 0.10 / 0.12 mm")
    page.get_by_role("button", name="Read", exact=True).dblclick()
    expect(page.locator("form.working, .working")).to_be_visible()
    page.get_by_role("button", name="Keep it").dblclick()
    settled(page)
    expect(page.locator(".kept")).to_be_visible()
    assert len(kept(Reading)) == 1


def test_a_touch_pressed_twice_without_script_is_one(
    browser: Browser, bench: tuple[Page, str, Any]
) -> None:
    _, home, kept = bench
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{home}/stopwatch")
    page.get_by_role("button", name="Fired").dblclick()
    settled(page)
    context.close()
    assert len(kept(StartAttempt)) == 1


def test_a_picture_pressed_twice_is_one(bench: tuple[Page, str, Any]) -> None:
    page, home, kept = bench
    page.goto(f"{home}/pictures")
    sent = {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
    page.locator("#picture").set_input_files(sent)
    page.get_by_role("button", name="Keep this picture").dblclick()
    expect(page.locator(".working")).to_be_visible()
    settled(page)
    assert len(kept(Picture)) == 1


@pytest.mark.parametrize(
    ("path", "field"), [("", "#note"), ("/charging", "#value"), ("/pictures", "#caption")]
)
def test_what_is_typed_and_not_sent_is_there_again(
    bench: tuple[Page, str, Any], path: str, field: str
) -> None:
    page, home, _ = bench
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
    bench: tuple[Page, str, Any], path: str, field: str, typed: str, button: str
) -> None:
    page, home, kept = bench
    page.goto(home + path)
    page.locator(field).fill(typed)
    page.get_by_role("button", name=button).click()
    page.wait_for_timeout(300)
    page.goto(f"{home}/checks")
    page.wait_for_timeout(DELAY_S * 1000)
    page.goto(home + path)
    expect(page.locator(field)).to_have_value(typed)
    page.get_by_role("button", name=button).click()
    settled(page)
    expect(page.locator(".kept")).to_be_visible()
    assert len(kept(Reading)) == 1
    page.goto(home + path)
    expect(page.locator(field)).to_have_value("")
