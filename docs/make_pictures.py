"""Make the pictures in README and guide from the demo build: `python docs/make_pictures.py`.

Pages are drawn by a real browser (Chromium), sheets by the typesetter. Run it from `.venv`. A
folder named behind it gets them instead of docs/pictures; tests/edges/test_pictures.py does so, to
see whether those shown are still true.
"""

from __future__ import annotations

import shutil
import socket
import sys
import tempfile
import threading
from pathlib import Path

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from tickover.book.store import Store
from tickover.demo import open_demo, open_running_demo
from tickover.paper.sheets import SHEETS
from tickover.paper.typeset import typeset
from tickover.web.app import create_app

HERE = Path(__file__).resolve().parent / "pictures"
PRINTED = "2026-03-11T08:00:00+00:00"
# file, path below the build, width, light or dark, height (None: the whole page)
SHOTS: tuple[tuple[str, str, int, str, int | None], ...] = (
    ("build-phone", "", 390, "light", 1100),
    ("valves-phone", "/valves", 390, "light", 1100),
    ("valves-phone-dark", "/valves", 390, "dark", 1100),
    ("valves-desk", "/valves", 1280, "light", 1000),
    ("mixture-phone", "running/mixture", 390, "light", 1100),
    ("balance-phone", "running/balance", 390, "light", 1100),
    ("charging-phone", "running/charging", 390, "light", 1100),
    ("guide-phone", "/guide?step=valves", 390, "light", 1100),
)


PATIENCE_MS = 120_000  # a busy machine is slow, not wrong

PRINTS = ("valves-bench", "valves", "record")
"""Sheets shown in README and guide, the first page of each."""


def shoot(browser: Browser, address: str, build: str, running: str, into: Path) -> None:
    """Every picture of a page."""
    for name, path, width, scheme, height in SHOTS:
        context = browser.new_context(
            viewport={"width": width, "height": height or 900},
            color_scheme="dark" if scheme == "dark" else "light",
        )
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        below = path.removeprefix("running")
        page.goto(f"{address}/builds/{build if below == path else running}{below}")
        page.wait_for_load_state("networkidle")
        page.screenshot(path=str(into / f"{name}.png"), full_page=height is None)
        context.close()


def main(into: Path = HERE) -> None:
    """Make them all."""
    into.mkdir(exist_ok=True)
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "d.tickover") as store:
        build, running = open_demo(store), open_running_demo(store)
        row, state = store.build(build), store.state(build)
        for name in PRINTS:
            sheet = SHEETS[name]
            picture = typeset(
                sheet.template, sheet.data(row, state), printed_at=PRINTED, form="png"
            )
            (into / f"sheet-{name}.png").write_bytes(picture)
        listener = socket.socket()
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        address = f"http://127.0.0.1:{listener.getsockname()[1]}"
        server = uvicorn.Server(uvicorn.Config(create_app(store), log_level="warning"))
        threading.Thread(target=server.run, args=([listener],), daemon=True).start()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=chromium,
                args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
                timeout=PATIENCE_MS,
            )
            shoot(browser, address, build, running, into)
            browser.close()
        server.should_exit = True


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
