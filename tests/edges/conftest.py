"""A server on a temporary book and one browser, shared by all page tests."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from support_web import Serving

from tickover.book.store import Store
from tickover.demo import open_demo
from tickover.pages.building import valves_page_of
from tickover.web.app import create_app
from tickover.web.warming import all_compiled, compile_all

NAMES = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM = next(filter(None, map(shutil.which, NAMES)), NAMES[0])
PATIENCE_MS = 60_000
"""For each step of a page test: a loaded machine is slow, not wrong. Nothing waits this long
unless it fails."""
CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


class Client:
    """Talks to an application without a server; follows nothing, keeps cookies."""

    def __init__(self, app: Any, base_url: str = "http://localhost") -> None:
        # a loop in a thread of its own: the browser's driver has one in this thread
        self._stack = ExitStack()
        self._portal = self._stack.enter_context(start_blocking_portal())
        # a fault of ours is to be seen as the page a person gets, not as an exception
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        self._client = httpx.AsyncClient(transport=transport, base_url=base_url)
        self.cookies = self._client.cookies

    def request(self, method: str, path: str, **how: Any) -> httpx.Response:
        """One request."""
        return self._portal.call(partial(self._client.request, method, path, **how))

    def get(self, path: str, **how: Any) -> httpx.Response:
        """GET."""
        return self.request("GET", path, **how)

    def post(self, path: str, **how: Any) -> httpx.Response:
        """POST as it is, with no header added."""
        return self.request("POST", path, **how)

    def token(self) -> str:
        """The token on the list of builds; with it comes the session's cookie."""
        found = re.search(r'name="token" value="([0-9a-f]{64})"', self.get("/").text)
        assert found is not None
        return found.group(1)

    def send(self, path: str, typed: dict[str, str] | None = None, **how: Any) -> httpx.Response:
        """A form of our own page, with token and origin."""
        headers = {"origin": "http://localhost", **how.pop("headers", {})}
        data = {"token": self.token(), **(typed or {})}
        return self.request("POST", path, data=data, headers=headers, **how)

    def close(self) -> None:
        """Let go of the loop."""
        self._portal.call(self._client.aclose)
        self._stack.close()


class Clock:
    """A clock that goes on by a minute at every look."""

    def __init__(self) -> None:
        self.minutes = 0

    def __call__(self) -> str:
        """The next minute of an invented day."""
        self.minutes += 1
        day, minute = divmod(self.minutes, 24 * 60)
        return f"2031-03-{1 + day:02d}T{minute // 60:02d}:{minute % 60:02d}:00+00:00"


@dataclass(frozen=True)
class Site:
    """A running server and the book behind it."""

    url: str
    store: Store
    clock: Clock

    def at(self, path: str) -> str:
        """A whole address."""
        return self.url.rstrip("/") + path


@pytest.fixture
def client_for() -> Iterator[Callable[..., Client]]:
    """Makes clients for applications and closes them."""
    made: list[Client] = []

    def make(app: Any, base_url: str = "http://localhost") -> Client:
        made.append(Client(app, base_url))
        return made[-1]

    yield make
    for client in made:
        client.close()


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The web face on a book of its own, served as `serve` does."""
    folder: Path = tmp_path_factory.mktemp("book")
    clock = Clock()
    with Store.open(folder / "test.book") as store:
        # the first sums load and compile the numerics, a minute on a busy machine where nothing
        # was compiled before: not what these tests wait for
        if not all_compiled():
            compile_all()
        demo = store.build(open_demo(store))
        valves_page_of(demo, store.state(demo.id))
        served = Serving(create_app(store, clock=clock))
        yield Site(served.url, store, clock)
        served.stop()


@pytest.fixture
def client(client_for: Callable[..., Client], site: Site) -> Client:
    """Talks to the pages of the shared server's book without a browser."""
    return client_for(create_app(site.store, clock=site.clock))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One headless Chromium for the session."""
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM,
            args=CHROMIUM_ARGUMENTS,
            headless=True,
            timeout=2 * PATIENCE_MS,
        )
        yield browser
        browser.close()


ENGINES = Path(__file__).parents[2] / "examples" / "engines"


@pytest.fixture(scope="session")
def triple(site: Site) -> str:
    """A build of the example triple, with its engine file and nothing measured; its id."""
    text = (ENGINES / "triple-240.toml").read_text()
    return site.store.create_build("Shed triple", text, site.clock(), "tester").id


@dataclass
class Watched:
    """A page and everything it complained about or asked others for."""

    page: Page
    complaints: list[str]
    foreign: list[str]


@pytest.fixture
def open_page(browser: Browser, site: Site) -> Iterator[Callable[..., Watched]]:
    """Opens pages in fresh contexts; at the end nothing may have been complained about.

    Complaints are script errors and refused loads (the content policy among them); foreign are
    requests to any other address than ours.
    """
    contexts: list[BrowserContext] = []
    seen: list[Watched] = []

    def open_it(path: str = "/", *, width: int = 390, **context: Any) -> Watched:
        made = browser.new_context(viewport={"width": width, "height": 800}, **context)
        made.set_default_timeout(PATIENCE_MS)
        contexts.append(made)
        page = made.new_page()
        watched = Watched(page, [], [])
        page.on(
            "console",
            lambda m: watched.complaints.append(m.text) if m.type == "error" else None,
        )
        page.on("pageerror", lambda error: watched.complaints.append(str(error)))
        page.on(
            "request",
            lambda r: None if r.url.startswith(site.url) else watched.foreign.append(r.url),
        )
        page.goto(site.at(path))
        seen.append(watched)
        return watched

    yield open_it
    for context in contexts:
        context.close()
    for watched in seen:
        # a refused form answers 422, which the browser's console notes as an error
        grave = [c for c in watched.complaints if "status of 422" not in c]
        assert grave == []
        assert watched.foreign == []
