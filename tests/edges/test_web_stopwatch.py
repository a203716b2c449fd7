"""The stopwatch: every touch arrives once and in order, with and without a connection."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect
from support_web import Serving, own_port, until

from tickover.book.bodies import StartAttempt
from tickover.book.store import Store
from tickover.web.app import create_app
from tickover.web.assets import FOLDER
from tickover.web.posted import LARGEST_POSTED

Client = Any
Watched = Any
Site = Any

START = """
[start]
crank_for = "6 s"
rest_for = "40 s"
oil_within = "4 s"
first_run = "3 min"
"""
GONE = (
    "ERR_INTERNET_DISCONNECTED",
    "ERR_FAILED",
    "ERR_CONNECTION_REFUSED",
    "status of 403",
    "error occurred when fetching the script",  # the worker, asked for without a connection
)

# the policy of the page allows no evaluated predicate, so this waits for itself
CONTROLLED = """async () => {
  for (let n = 0; !navigator.serviceWorker.controller; n++) {
    if (n > 6000) throw new Error("no worker after two minutes");
    await new Promise(go => setTimeout(go, 20));
  }
}"""


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build with its own limits of the first start; its id."""
    text = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text() + START
    return str(site.store.create_build("Shed triple", text, site.clock(), "tester").id)


def touch_of(number: int, what: str = "nothing", **more: Any) -> dict[str, Any]:
    """A touch as a phone sends it."""
    return {
        "id": f"{number:032x}", "attempt": "a" * 32, "what": what, "seconds": number / 2,
        "at": "2031-03-01T10:00:00Z", "note": "", **more,
    }  # fmt: skip


def post(client: Client, build: str, data: Any, **headers: str) -> Any:
    """Touches as the script sends them."""
    named = {
        "origin": "http://localhost",
        "tickover-token": client.token(),
        "content-type": "application/json",
        **headers,
    }
    body = data if isinstance(data, bytes) else json.dumps(data).encode()
    return client.post(f"/builds/{build}/observations", content=body, headers=named)


def outcomes(store: Store, build: str) -> list[str]:
    """What the book holds, in its order."""
    return [e.body.outcome for e in store.entries(build) if isinstance(e.body, StartAttempt)]


# -- what the server takes ----------------------------------------------------------------------


def test_touches_sent_again_are_answered_as_before_and_not_doubled(
    client: Client, site: Site, build: str
) -> None:
    sent = [touch_of(1, "fired"), touch_of(2, "oil-out"), touch_of(3, "ran")]
    first = post(client, build, sent[:2]).json()["answers"]
    again = post(client, build, sent).json()["answers"]
    assert [each["id"] for each in again] == [each["id"] for each in sent]
    assert again[:2] == first
    assert outcomes(site.store, build) == ["fired", "oil light out", "ran"]


def test_one_bad_touch_loses_no_other(client: Client, site: Site, build: str) -> None:
    sent = [
        touch_of(1, "fired"), touch_of(2, "sparkled"), touch_of(3, seconds=-1), {"id": "x"},
        "touch", touch_of(4, at="yesterday"), touch_of(5, "ran"), touch_of(6, note="\ud800"),
    ]  # fmt: skip
    answer = post(client, build, sent)
    assert answer.status_code == 200
    said = answer.json()["answers"]
    assert {each["id"] for each in said if "kept" in each} == {touch_of(1)["id"], touch_of(5)["id"]}
    assert all(each["refused"] for each in said if "kept" not in each)
    assert len(said) == len(sent)
    assert outcomes(site.store, build) == ["fired", "ran"]


def test_an_id_kept_with_other_words_is_refused_and_the_rest_is_kept(
    client: Client, site: Site, build: str
) -> None:
    post(client, build, [touch_of(1, "fired")])
    said = post(client, build, [touch_of(1, "ran"), touch_of(2, "ran")]).json()["answers"]
    assert [sorted(each) for each in said] == [["id", "kept"], ["id", "refused"]]
    later = [touch_of(1, "fired", at="2031-03-02T10:00:00Z"), touch_of(3, "stalled")]
    said = post(client, build, later).json()["answers"]
    assert {each["id"] for each in said if "refused" in each} == {touch_of(1)["id"]}
    assert outcomes(site.store, build) == ["fired", "ran", "stalled"]


@pytest.mark.parametrize(
    ("data", "status"),
    [
        ({"id": "1"}, 422), (b"[", 422), (b"\xff", 422), (b"[" * 100_000, 422),
        ([touch_of(n) for n in range(501)], 422), (b" " * (LARGEST_POSTED + 1), 413),
    ],
)  # fmt: skip
def test_what_is_no_list_of_touches_is_refused_whole(
    client: Client, site: Site, build: str, data: Any, status: int
) -> None:
    assert post(client, build, data).status_code == status
    assert outcomes(site.store, build) == []


def test_a_touch_needs_token_origin_and_kind(client: Client, site: Site, build: str) -> None:
    sent = [touch_of(1)]
    assert post(client, build, sent, **{"tickover-token": "0" * 64}).status_code == 403
    assert post(client, build, sent, origin="http://elsewhere.example").status_code == 403
    assert post(client, build, sent, **{"content-type": "text/plain"}).status_code == 415
    assert post(client, "no-such-build", sent).status_code == 404
    assert client.get(f"/builds/{build}/observations").status_code == 405
    assert outcomes(site.store, build) == []


# -- in a browser -------------------------------------------------------------------------------


def press(page: Page, *names: str) -> None:
    for name in names:
        page.get_by_role("button", name=name, exact=True).click()


def hold_the_clock(page: Page) -> None:
    """From here on time passes only when the test says so."""
    page.clock.install(time="2031-03-01T10:00:00Z")
    page.reload()
    page.clock.pause_at("2031-03-01T11:00:00Z")
    expect(page.locator("#clock-what")).to_have_text("Ready")


def arrived(page: Page) -> None:
    """Until every touch is in the book."""
    expect(page.locator("#touched-list")).not_to_contain_text("kept here")
    expect(page.locator("#unsent")).to_be_hidden()


def forgive(watched: Watched) -> None:
    """A lost connection is what these tests are about; the console notes each."""
    watched.complaints[:] = [c for c in watched.complaints if not any(g in c for g in GONE)]


def test_touches_without_a_connection_arrive_later_once_and_in_order(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page = watched.page
    page.context.set_offline(True)
    press(page, "Starter pressed", "Coughed", "Starter pressed", "Fired", "Oil light out", "Ran")
    page.get_by_text("Kept here, not sent yet: 4.").wait_for()
    expect(page.locator("#touched-list li")).to_have_count(3)
    expect(page.locator("#touched-list")).to_contain_text("kept here", use_inner_text=True)
    assert outcomes(site.store, build) == []
    page.context.set_offline(False)
    arrived(page)
    assert outcomes(site.store, build) == ["coughed", "fired", "oil light out", "ran"]
    attempts = [e.body.detail["attempt"] for e in site.store.state(build).start_attempts()]
    assert attempts[1] == attempts[2] == attempts[3] != attempts[0]
    expect(page.locator("#touched-list")).to_contain_text(
        "in the book, entry 5", use_inner_text=True
    )
    forgive(watched)


def test_a_lost_answer_doubles_nothing(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page = watched.page
    lost: list[int] = []
    looked: list[bool] = []

    def lose_the_first(route: Route) -> None:
        if looked:
            route.continue_()
            return
        if not lost:
            lost.append(route.fetch().status)
        route.abort()  # what is tried again meanwhile does not get there

    page.route("**/observations", lose_the_first)
    press(page, "Starter pressed", "Fired")
    page.get_by_text("No connection").wait_for()
    looked.append(True)
    assert lost == [200]
    assert outcomes(site.store, build) == ["fired"], "the server has it, the phone does not know"
    press(page, "Ran")
    arrived(page)
    assert outcomes(site.store, build) == ["fired", "ran"]
    forgive(watched)


def test_a_reload_without_a_connection_loses_nothing(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page = watched.page
    page.evaluate(CONTROLLED)
    page.context.set_offline(True)
    press(page, "Starter pressed", "Fired")
    page.get_by_text("not sent yet: 1.").wait_for()
    page.reload()
    page.get_by_text("not sent yet: 1.").wait_for()
    expect(page.locator("#clock-what")).to_have_text("It runs")
    assert page.evaluate("getComputedStyle(document.body).fontFamily").startswith('"Atkinson')
    press(page, "Ran", "Stopped")
    page.get_by_text("not sent yet: 3.").wait_for()
    assert outcomes(site.store, build) == []
    page.context.set_offline(False)
    arrived(page)
    assert outcomes(site.store, build) == ["fired", "ran", "stopped"]
    forgive(watched)


def test_a_page_closed_with_touches_unsent_sends_them_when_opened_again(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page, context = watched.page, watched.page.context
    context.set_offline(True)
    press(page, "Starter pressed", "Nothing")
    page.get_by_text("not sent yet: 1.").wait_for()
    page.close()
    context.set_offline(False)
    other = site.store.create_build("Other", site.store.state(build).engine_text, site.clock(), "t")
    again = context.new_page()
    again.goto(site.at(f"/builds/{other.id}/stopwatch"))
    until(
        lambda: outcomes(site.store, build),
        "nothing was sent",
        lambda seconds: again.wait_for_timeout(1000 * seconds),
    )
    assert outcomes(site.store, build) == ["nothing"], "sent from the stopwatch of another build"
    forgive(watched)


def test_two_windows_send_nothing_twice(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page, context = watched.page, watched.page.context
    second = context.new_page()
    second.goto(site.at(f"/builds/{build}/stopwatch"))
    context.set_offline(True)
    press(page, "Starter pressed", "Fired")
    press(second, "Starter pressed", "Smoke")
    page.get_by_text("not sent yet").wait_for()
    second.get_by_text("not sent yet").wait_for()
    context.set_offline(False)
    arrived(page)
    arrived(second)
    assert outcomes(site.store, build) == ["fired", "smoke"]
    forgive(watched)


def test_a_page_of_an_older_visit_finds_its_new_token(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    watched = open_page(f"/builds/{build}/stopwatch")
    page = watched.page
    page.context.clear_cookies()
    press(page, "Starter pressed", "Coughed")
    arrived(page)
    assert outcomes(site.store, build) == ["coughed"]
    forgive(watched)


def test_a_touch_the_book_refuses_is_said_and_holds_up_no_other(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch").page
    press(page, "Starter pressed")
    page.get_by_text("Words for the next touch").click()
    page.get_by_label("anything else seen").fill("a bell \x07 rang")
    press(page, "Nothing", "Coughed")
    page.get_by_text("not taken").first.wait_for()
    arrived(page)
    assert outcomes(site.store, build) == ["coughed"]


def test_the_limits_are_counted_down_and_said_as_they_pass(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch").page
    hold_the_clock(page)
    clock = page.locator("#clock")
    expect(clock).to_contain_text("Crank 6 s, rest 40 s")
    press(page, "Starter pressed")
    page.clock.run_for(2000)
    expect(clock).to_contain_text("Let go in 4.0 s")
    page.clock.run_for(5000)
    expect(clock).to_contain_text("6 s of cranking are over")
    expect(clock).to_have_class(re.compile("alarm"))
    press(page, "Coughed")
    page.clock.run_for(10_000)
    expect(clock).to_contain_text("Starter rests: 30.0 s left")
    page.clock.run_for(31_000)
    expect(clock).to_contain_text("Starter has rested 40 s")
    press(page, "Starter pressed")
    page.clock.run_for(1000)
    press(page, "Fired")
    page.clock.run_for(1000)
    expect(clock).to_contain_text("Oil light out within 3.0 s")
    page.clock.run_for(3500)
    expect(clock).to_contain_text("No oil after 4 s: stop the engine")
    press(page, "Oil light out")
    page.clock.run_for(500)
    expect(clock).to_contain_text("Oil light out after 4.5 s")
    expect(clock).not_to_have_class(re.compile("alarm"))
    page.clock.run_for(60_000)
    expect(clock).to_contain_text("Stop to cool in 1:55")
    page.clock.run_for(120_000)
    expect(clock).to_contain_text("Time is up")
    press(page, "Fuel drip")
    page.clock.run_for(200)
    expect(clock).to_contain_text("Stop, tap shut, wipe dry.")


def test_no_button_moves_under_the_finger(open_page: Callable[..., Watched], build: str) -> None:
    page = open_page(f"/builds/{build}/stopwatch", width=360).page
    hold_the_clock(page)
    button = page.get_by_role("button", name="Nothing", exact=True)
    seen = []
    for name, passing in (
        ("Starter pressed", 1000), ("", 6000), ("Fired", 1000), ("", 6000), ("Oil light out", 500),
    ):  # fmt: skip
        if name:
            press(page, name)
        page.clock.run_for(passing)
        seen.append(button.evaluate("e => e.getBoundingClientRect().top + window.scrollY"))
    assert max(seen) - min(seen) < 1.0, seen


def test_enter_in_the_words_presses_nothing(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch").page
    press(page, "Starter pressed")
    page.get_by_text("Words for the next touch").click()
    page.get_by_label("anything else seen").fill("throttle a quarter open")
    page.keyboard.press("Enter")
    press(page, "Fired")
    arrived(page)
    entry = site.store.state(build).start_attempts()[0]
    assert entry.body.detail["note"] == "throttle a quarter open"
    assert outcomes(site.store, build) == ["fired"]


def test_without_script_the_same_buttons_are_plain_forms(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch", java_script_enabled=False).page
    expect(page.locator("#clock")).to_be_hidden()
    press(page, "Starter pressed")
    page.wait_for_url("**/stopwatch?attempt=*")
    press(page, "Fired")
    expect(page.locator("#tries")).to_contain_text("Fired")
    page.get_by_text("Words for the next touch").click()
    page.get_by_label("after so many seconds").fill("4,5 s")
    press(page, "Ran")
    expect(page.locator("#tries")).to_contain_text("Ran")
    entries = site.store.state(build).start_attempts()
    assert [e.body.outcome for e in entries] == ["fired", "ran"]
    assert entries[0].body.detail["seconds"] > 0, "reckoned by the clock of the book"
    assert entries[1].body.detail["seconds"] == 4.5
    assert entries[0].body.detail["attempt"] == entries[1].body.detail["attempt"]
    page.get_by_text("Words for the next touch").click()
    page.get_by_label("after so many seconds").fill("soon")
    page.get_by_label("anything else seen").fill("smells")
    press(page, "Stalled")
    page.get_by_text("Nothing was written.").wait_for()
    expect(page.get_by_label("after so many seconds")).to_have_value("soon")
    expect(page.get_by_label("anything else seen")).to_have_value("smells")
    assert len(site.store.state(build).start_attempts()) == 2


def test_without_script_words_typed_before_the_starter_wait_for_the_next_touch(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch", java_script_enabled=False).page
    page.get_by_text("Words for the next touch").click()
    page.get_by_label("anything else seen").fill("choke full on")
    press(page, "Starter pressed")
    page.get_by_text("Starter pressed at").wait_for()
    expect(page.get_by_label("anything else seen")).to_have_value("choke full on")
    press(page, "Fired")
    expect(page.locator("#tries")).to_contain_text("Fired")
    (kept,) = site.store.state(build).start_attempts()
    assert kept.body.detail["note"] == "choke full on"
    assert kept.body.detail["seconds"] > 0
    assert kept.body.detail["attempt"]


def test_the_worker_keeps_all_the_page_needs_and_no_more(client: Client, build: str) -> None:
    answer = client.get(f"/builds/{build}/stopwatch-worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    facts = json.loads(re.search(r"const KEEP = (.*);\n", answer.text)[1])  # type: ignore[index]
    page = client.get(f"/builds/{build}/stopwatch", headers={}).text
    needed = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))
    assert needed <= set(facts["assets"])
    assert facts["page"] == f"/builds/{build}/stopwatch"
    for path in facts["assets"]:
        assert client.get(path).status_code == 200
    assert "importScripts" not in (FOLDER / "stopwatch-worker.js").read_text()
    assert client.get("/builds/none/stopwatch-worker.js").status_code == 404


# -- the bench itself goes away ------------------------------------------------------------------


class Bench:
    """A server that can be stopped and started again on its port."""

    def __init__(self, store: Store) -> None:
        self.store, self.port = store, own_port()
        self.start()

    def start(self) -> None:
        self._served = Serving(create_app(self.store), self.port)
        self.url = self._served.url

    def stop(self) -> None:
        self._served.stop()


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    with Store.open(tmp_path / "own.book") as store:
        bench = Bench(store)
        yield bench
        bench.stop()


def test_touches_outlive_the_bench_being_switched_off(browser: Browser, own: Bench) -> None:
    text = '[engine]\nname = "Single"\nlayout = "single"\n'
    build = own.store.create_build("Single", text, "2031-03-01T09:00:00Z", "t").id
    context = browser.new_context(viewport={"width": 390, "height": 800})
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(f"{own.url}builds/{build}/stopwatch")
    page.evaluate(CONTROLLED)
    press(page, "Starter pressed", "Coughed")
    arrived(page)
    own.stop()
    press(page, "Starter pressed", "Fired", "Ran")
    page.get_by_text("not sent yet: 2.").wait_for()
    page.reload()
    page.get_by_text("not sent yet: 2.").wait_for()
    press(page, "Stopped")
    page.get_by_text("not sent yet: 3.").wait_for()
    own.start()
    arrived(page)
    assert outcomes(own.store, build) == ["coughed", "fired", "ran", "stopped"]
    context.close()
