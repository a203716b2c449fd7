"""The day of the first start: every page, fit to start, start card, by keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from support_day import HOSTILE, LAMPS, engine_text, entries_of
from support_pages import TOO_SMALL

from tickover.book.bodies import Acceptance, LooseEndOpened, Note, Work
from tickover.pages.building import fitness_of
from tickover.pages.stopwatch import attempt_body
from tickover.plan.faultfinding import answer_entry, begin_entry, knowledge, looked_entry
from tickover.plan.runin import DISTANCE, HEAT_CYCLE, progress_reading
from tickover.plan.shopping import want_entry

Client = Any
Watched = Any
Site = Any

SMALL = """
[engine]
name = "Small single"
layout = "single"
[[checks]]
name = "tank strap"
required = "first start"
"""


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build of it; its id."""
    return str(site.store.create_build("Shed triple", engine_text(), site.clock(), "tester").id)


@pytest.fixture
def small(site: Site) -> str:
    """A build with one thing left in the way, a strap on the tank; its id."""
    made = site.store.create_build("Small single", SMALL, site.clock(), "tester").id
    blockers = fitness_of(site.store.state(made)).blockers
    others = [Acceptance(b.check, b.place, "by eye") for b in blockers if b.check != "tank strap"]
    if others:
        site.store.append(made, others, at=site.clock(), by="tester")
    return str(made)


@pytest.fixture(scope="module")
def told(site: Site) -> str:
    """A build with something of everything on these pages; its id."""
    store = site.store
    made = store.create_build("Told triple", engine_text(), site.clock(), "tester").id
    known = knowledge("will not start")
    attempt = "a" * 32
    store.append(
        made,
        [
            want_entry("head gasket", 1, price=34.5, why=HOSTILE),
            want_entry("main jet 118", 3, price=4.2),
            want_entry("fuel line", 2),
            begin_entry(known),
            answer_entry(known, LAMPS, "yes"),
            answer_entry(known, LAMPS, "no"),
            looked_entry(known, "fuel tap closed", found=False),
            LooseEndOpened("breather hose off"),
            Acceptance("valve clearance", "in1", "Read by Kim, who answers for it"),
            attempt_body("nothing", 5.2),
            attempt_body("fired", 2.1, "", attempt),
            attempt_body("oil light out", 3.4, "", attempt),
            attempt_body("ran", 8.0, HOSTILE, attempt),
            attempt_body("oil light stays on", 9.0, "", attempt),
            Work(HEAT_CYCLE),
            progress_reading(DISTANCE, 60e3, "60 km"),
            progress_reading(DISTANCE, 40e3, "40 km"),
        ],
        at=site.clock(),
        by="tester",
    )
    return str(made)


# -- every page, as it looks ---------------------------------------------------------------------

PAGES = (
    "fit", "fit?stage=riding", "start", "stopwatch", "why", "why?symptom=runs%2C+but",
    "shopping", "run-in",
)  # fmt: skip
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def axe() -> Axe:
    return Axe()


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_accessible_fits_the_screen_and_can_be_pressed(
    open_page: Callable[..., Watched], axe: Axe, told: str, path: str
) -> None:
    page = open_page(f"/builds/{told}/{path}").page
    page.evaluate(axe.axe_script)
    looks = [(1280, "dark", True)]
    if "?" not in path:  # the other stage and symptom differ only in their words
        looks += [(360, "light", True), (390, "dark", False)]
    for width, scheme, fold in looks:
        where = f"{path} at {width} px, {scheme}, folds {'open' if fold else 'shut'}"
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        page.evaluate(
            "open => document.querySelectorAll('details').forEach(d => { d.open = open; })", fold
        )
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == [], where
        assert page.evaluate(TOO_SMALL) == [], where
        for narrow in (width, 360):
            page.set_viewport_size({"width": narrow, "height": 800})
            assert page.evaluate(SIDEWAYS) <= 0, f"{where}, at {narrow} px"


def test_no_page_calls_anything_safe_and_hostile_words_stay_words(
    client: Client, told: str
) -> None:
    for path in PAGES:
        html = client.get(f"/builds/{told}/{path}").text
        main = re.sub(r"<[^>]+>", " ", html[html.index("<main") : html.index("</main>")])
        assert not re.search(r"\bsafe(ly)?\b", main, re.IGNORECASE), path
        assert "<img" not in html, path
        assert "alert(2)</script>" not in html, path
    assert "&lt;img src=x" in client.get(f"/builds/{told}/shopping").text


@pytest.mark.parametrize("path", PAGES)
def test_an_unknown_build_is_not_found(client: Client, path: str) -> None:
    assert client.get(f"/builds/none/{path}").status_code == 404


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("fit", {"stage": "flying"}), ("fit/accept", {"which": "nothing|x", "reason": "r"}),
        ("why", {"symptom": "sulks"}), ("why/strike", {"entry": "0" * 32, "reason": "r"}),
        ("shopping/strike", {"entry": "0" * 32, "reason": "r"}),
        ("run-in/done", {"step": "nothing of the kind"}),
    ],
)  # fmt: skip
def test_what_is_not_there_is_not_written(
    client: Client, site: Site, build: str, path: str, typed: dict[str, str]
) -> None:
    before = site.store.last_number(build)
    assert client.send(f"/builds/{build}/{path}", typed).status_code == 404
    assert site.store.last_number(build) == before


@pytest.mark.parametrize("path", ["fit?stage=flying", "why?symptom=sulks"])
def test_a_stage_or_symptom_nobody_knows_is_not_found(
    client: Client, build: str, path: str
) -> None:
    assert client.get(f"/builds/{build}/{path}").status_code == 404


def test_the_pages_are_reached_from_the_foot_of_every_page(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}").page
    ways = page.locator(".foot .ways a").evaluate_all("all => all.map(a => a.pathname)")
    for path in ("fit", "start", "stopwatch", "why", "shopping", "run-in"):
        assert f"/builds/{build}/{path}" in ways


# -- fit to start --------------------------------------------------------------------------------


def test_every_no_leads_to_its_way_out(client: Client, site: Site, build: str) -> None:
    site.store.append(build, LooseEndOpened("rag in a port"), at=site.clock(), by="t")
    html = client.get(f"/builds/{build}/fit").text
    links = re.findall(r'href="([^"]+)"', html[html.index("in-the-way") : html.index("accept-")]
                       if "accept-" in html else html)  # fmt: skip
    ways = [link.replace("&amp;", "&") for link in links]
    home = f"/builds/{build}"
    assert f"{home}/valves?at=in1#enter" in ways
    assert f"{home}/check?{urlencode({'name': 'spark', 'place': 'plug2'})}" in ways
    assert f"{home}/check?{urlencode({'name': 'oil flow', 'place': ''})}" in ways
    assert f"{home}/loose-ends" in ways
    for way in sorted(set(ways)):
        if way.startswith(f"{home}/check?"):
            assert client.get(way).status_code == 200, way


@pytest.mark.parametrize("script", [True, False])
def test_an_answer_is_recorded_holds_and_goes_void(
    open_page: Callable[..., Watched], site: Site, small: str, script: bool
) -> None:
    page = open_page(f"/builds/{small}/fit", java_script_enabled=script).page
    expect(page.locator("h1")).to_have_text("Fit to start: no", use_inner_text=True)
    before = len(entries_of(site, small))
    page.get_by_text("Accept one of these as it is").click()
    page.get_by_role("button", name="Accept it, write it in the book").click()
    page.get_by_text("Nothing was written.").wait_for()
    assert len(entries_of(site, small)) == before
    page.get_by_label("why, and who says so").fill(HOSTILE)
    page.get_by_role("button", name="Accept it, write it in the book").click()
    expect(page.locator("h1")).to_have_text(re.compile("Fit to start: yes"))
    expect(page.locator("#accepted")).to_contain_text(HOSTILE)
    page.get_by_role("button", name="Record this answer: yes").click()
    page.get_by_text("it still holds").wait_for()
    expect(page.get_by_role("button", name=re.compile("Record this answer"))).to_have_count(0)
    kept = entries_of(site, small)[-1].body
    assert (kept.question, kept.answer) == ("fit to start", "yes")
    assert len(kept.rests_on) == 64
    site.store.append(small, LooseEndOpened("fuel line off"), at=site.clock(), by="t")
    page.reload()
    page.get_by_text("void, because something it rested on has changed").wait_for()
    expect(page.locator("h1")).to_have_text("Fit to start: no", use_inner_text=True)


def test_an_answer_nobody_saw_is_not_recorded(client: Client, site: Site, small: str) -> None:
    seen = str(site.store.last_number(small))
    site.store.append(small, Note("somebody wrote"), at=site.clock(), by="other")
    answer = client.send(f"/builds/{small}/fit", {"stage": "first start", "seen": seen})
    assert answer.status_code == 409
    assert "Somebody kept an entry since you looked" in answer.text
    assert [e.kind for e in entries_of(site, small)][-1] == "note"
    for number in ("", "x", "٣", "9" * 40):
        typed = {"stage": "first start", "seen": number}
        assert client.send(f"/builds/{small}/fit", typed).status_code == 409


def test_a_loose_end_is_accepted_for_its_own_entry(client: Client, site: Site, small: str) -> None:
    end = site.store.append(small, LooseEndOpened("silencers off"), at=site.clock(), by="t")[0]
    typed = {"stage": "first start", "which": f"loose end|{end.id}", "reason": "open pipes, Jo"}
    answer = client.send(f"/builds/{small}/fit/accept", typed)
    assert answer.status_code == 303
    assert "open pipes, Jo" in client.get(f"/builds/{small}/fit").text
    assert client.send(f"/builds/{small}/fit/accept", typed).status_code == 404, "not in the way"


# -- the start card ------------------------------------------------------------------------------


def test_the_start_card_gives_the_figures_of_the_engine_file_in_big_type(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}/start").page
    assert "Crank 6 seconds at most, then let the starter rest for 40 seconds." in page.inner_text(
        "#positions"
    )
    kill = page.inner_text("#kill")
    for words in ("Oil pressure under 2.5 bar", "4 seconds after it fires", "150",
                  "under 13.8 V at 3000 rpm"):  # fmt: skip
        assert words in kill
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    for line in ("#positions .steps span", "#positions .limit", "#kill .at"):
        assert page.locator(line).first.evaluate(size) >= 22, line
    for block in ("care", "hand", "watch", "note-what"):
        assert page.locator(f"#{block} li").count() >= 4, block


@pytest.mark.parametrize("script", [True, False])
def test_an_attempt_is_written_down_by_hand_and_a_bad_one_comes_back(
    open_page: Callable[..., Watched], site: Site, build: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/start", java_script_enabled=script).page
    page.get_by_label("what came of it").select_option("coughed")
    page.get_by_label("after so many seconds").fill("a while")
    page.get_by_label("anything else seen").fill(HOSTILE)
    page.get_by_role("button", name="Write it in the book").click()
    page.get_by_text("Nothing was written.").wait_for()
    expect(page.get_by_label("what came of it")).to_have_value("coughed")
    expect(page.get_by_label("after so many seconds")).to_have_value("a while")
    expect(page.get_by_label("anything else seen")).to_have_value(HOSTILE)
    assert len(entries_of(site, build)) == 1
    page.get_by_label("after so many seconds").fill("3,5")
    page.get_by_role("button", name="Write it in the book").click()
    page.get_by_text("In the book: coughed. Rest the starter.").wait_for()
    body = entries_of(site, build)[-1].body
    assert (body.outcome, body.detail["seconds"], body.detail["note"]) == ("coughed", 3.5, HOSTILE)
    expect(page.locator("#tries")).to_contain_text(HOSTILE)


def test_each_page_of_the_day_offers_its_sheet(build: str, client: Client) -> None:
    for path, sheet in {"start": "start-card", "shopping": "shopping", "run-in": "run-in"}.items():
        address = f"/builds/{build}/sheets/{sheet}.pdf"
        assert address in client.get(f"/builds/{build}/{path}").text
        assert client.get(address).content.startswith(b"%PDF")


# -- with the keyboard alone ---------------------------------------------------------------------


def tab_to(page: Page, words: str) -> None:
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == words:
            return
    raise AssertionError(f"no Tab leads to '{words}'")


def test_the_day_is_done_with_the_keyboard_alone(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    page = open_page(f"/builds/{build}/stopwatch").page
    tab_to(page, "Starter pressed")
    page.keyboard.press("Enter")
    tab_to(page, "Fired")
    page.keyboard.press("Space")
    page.get_by_text("in the book, entry 2").wait_for()
    page.goto(site.at(f"/builds/{build}/why"))
    tab_to(page, page.locator("#next .outcomes button").first.inner_text())
    page.keyboard.press("Enter")
    page.locator("#so-far").wait_for()
    page.goto(site.at(f"/builds/{build}/fit"))
    tab_to(page, "Record this answer: no")
    page.keyboard.press("Enter")
    page.get_by_text("it still holds").wait_for()
    assert [e.kind for e in entries_of(site, build)][1:] == [
        "start attempt", "work", "reading", "answer",
    ]  # fmt: skip
