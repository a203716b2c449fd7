"""The server is killed under a page that holds a picture; started again, the book has it once."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from PIL import Image
from playwright.sync_api import Browser, expect
from support_web import PATIENCE_S, own_port, until

from tickover.book.store import Store

TRIPLE = Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml"
AT = "2031-03-01T10:00:00+00:00"


@contextmanager
def serving(book: Path, port: int) -> Iterator[subprocess.Popen[bytes]]:
    """The server in a process of its own; it answers once this is entered."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tickover", "serve", "--where", str(book), "--port", str(port)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip

    def answers() -> bool:
        assert process.poll() is None, "the server ended by itself"
        try:
            return httpx.get(f"http://127.0.0.1:{port}/", timeout=5.0).status_code == 200
        except httpx.TransportError:
            return False

    try:
        until(answers, "the server did not answer")
        yield process
    finally:
        process.kill()
        process.wait(timeout=PATIENCE_S)


@pytest.mark.parametrize("killed", ["before the press", "under the press"])
def test_a_picture_outlives_the_server_it_was_sent_to(
    browser: Browser, tmp_path: Path, killed: str
) -> None:
    book, port = tmp_path / "killed.book", own_port()
    with Store.open(book) as store:
        build = store.create_build("Shed triple", TRIPLE.read_text(), AT, "tester").id
    target = tmp_path / "crack.png"
    Image.effect_noise((1200, 900), 80).save(target)  # a megabyte, more than a connection holds
    context = browser.new_context(viewport={"width": 390, "height": 800})
    context.set_default_timeout(PATIENCE_S * 1000)
    page = context.new_page()
    with serving(book, port) as process:
        page.goto(f"http://127.0.0.1:{port}/builds/{build}")
        page.get_by_label("and a picture, if one helps").set_input_files(target)
        page.get_by_label("anything worth remembering").fill("a crack at the boss")
        keep = page.get_by_role("button", name="Keep this note")
        if killed == "before the press":
            process.kill()
            process.wait(timeout=PATIENCE_S)
            keep.click()
        else:
            process.send_signal(signal.SIGSTOP)  # it has the press and has not answered
            with page.expect_request(lambda request: request.method == "POST"):
                keep.click()
            process.kill()
            process.wait(timeout=PATIENCE_S)
        expect(page.locator("#outbox")).to_contain_text("not sent yet: 1", timeout=60_000)
    target.unlink()
    with serving(book, port):
        expect(page.locator("#outbox")).to_be_hidden(timeout=60_000)
        context.close()
    with Store.open(book) as store:
        state = store.state(build)
    assert [e.body.text for e in state.notes()] == ["a crack at the boss"]
    assert [e.body.caption for e in state.pictures()] == ["a crack at the boss"]
