"""The valve page as a mechanic uses it: phone, dirty fingers, keyboard, no script."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tickover.book.bodies import LooseEndOpened
from tickover.demo import open_demo
from tickover.web.app import create_app

Client = Any
Watched = Any
Site = Any

FOUR = """
[engine]
name = "Shed four"
layout = "inline"
cylinders = 4
firing_order = [1, 3, 4, 2]
[cams]
inlet = { opens = "22 deg BTDC", closes = "54 deg ABDC" }
exhaust = { opens = "56 deg BBDC", closes = "20 deg ATDC" }
arrangement = "two camshafts"
[valves]
inlet = 1
exhaust = 1
adjustment = "shim over bucket"
inlet_clearance = "4..6 thou"
exhaust_clearance = "6..8 thou"
[shims]
sizes = "2.00..3.20 mm step 0.05 mm"
price = 8.0
[show]
clearance = "thou"
"""


@pytest.fixture
def four(site: Site) -> str:
    """A fresh build of a four with nothing measured; its id."""
    return str(site.store.create_build("Shed four", FOUR, site.clock(), "tester").id)


@pytest.fixture
def demo(site: Site) -> str:
    """The demo build; its id."""
    return open_demo(site.store)


def focused(page: Any) -> str:
    return str(page.evaluate("document.activeElement.id"))


def test_a_reading_is_keyed_in_with_enter_alone_and_the_next_valve_waits(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/valves").page
    expect(page.locator("#verdict")).to_have_text("Nothing is measured yet.", use_inner_text=True)
    expect(page.locator("#enter-head")).to_have_text("Inlet 1", use_inner_text=True)
    page.get_by_label("thickest that goes").focus()
    page.keyboard.type("4")
    page.keyboard.press("Enter")
    assert focused(page) == "no_go"
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    page.get_by_text("Entry 2, strike it out").wait_for()
    expect(page.locator("#verdict")).to_have_text("Seven are not measured.", use_inner_text=True)
    # the next one in working order at the same stop, hands already on it
    expect(page.locator("#enter-head")).to_have_text("Exhaust 1", use_inner_text=True)
    expect(page.get_by_label("thickest that goes")).to_be_focused()
    page.keyboard.type("6")
    page.keyboard.press("Enter")
    page.keyboard.type("7")
    page.keyboard.press("Enter")
    page.get_by_text("Entry 3, strike it out").wait_for()
    expect(page.locator("#verdict")).to_have_text("Six are not measured.", use_inner_text=True)


def test_a_decimal_comma_and_another_unit_are_understood(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/valves?at=in3").page
    page.get_by_label("thickest that goes").fill("0,10 mm")
    page.get_by_label("thinnest that does not").fill("0,15 mm")
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("Entry 2, strike it out").wait_for()
    link = page.locator("svg.engine a[data-place=in3]:visible")
    # 0.10 mm is 3.94 thou, just under the lower limit: this pair of blades cannot tell
    name = link.get_attribute("aria-label")
    assert name.startswith("Inlet 3: undecided, 3.9 to 5.9")


@pytest.mark.parametrize("script", [True, False])
def test_a_refused_reading_keeps_what_was_typed_and_says_what_to_write(
    open_page: Callable[..., Watched], site: Site, four: str, script: bool
) -> None:
    page = open_page(f"/builds/{four}/valves?at=ex2", java_script_enabled=script).page
    page.get_by_label("thickest that goes").fill("8")
    page.get_by_label("thinnest that does not").fill("6")
    page.get_by_label("The engine is warm").check()
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("Nothing was written.").wait_for()
    words = page.inner_text("#reading-wrong")
    assert "not thinner" in words
    assert "8 goes, 6 does not" in words
    assert "'6' and '8'" in words
    expect(page.get_by_label("thickest that goes")).to_have_value("8")
    expect(page.get_by_label("thinnest that does not")).to_have_value("6")
    expect(page.get_by_label("The engine is warm")).to_be_checked()
    expect(page.get_by_label("thickest that goes")).to_have_attribute("aria-invalid", "true")
    assert site.store.last_number(four) == 1


@pytest.mark.parametrize(
    ("go", "no_go", "words"),
    [
        ("abc", "5", "needs a number"),
        ("-1", "5", "cannot be negative"),
        ("", "", "Nothing was read"),
        ("4 mil", "5", "4 mil"),
        ("400 mm", "500 mm", "not a valve clearance"),
    ],
)
def test_bad_figures_get_a_sentence_and_nothing_is_kept(
    client_for: Callable[..., Client], site: Site, four: str, go: str, no_go: str, words: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    answer = client.send(f"/builds/{four}/valves/in1", {"go": go, "no_go": no_go})
    assert answer.status_code == 422
    assert words in answer.text
    assert site.store.last_number(four) == 1


def test_no_gap_is_an_empty_first_field(open_page: Callable[..., Watched], four: str) -> None:
    page = open_page(f"/builds/{four}/valves?at=ex4").page
    page.get_by_label("thinnest that does not").fill("1.5")
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("Entry 2, strike it out").wait_for()
    name = page.locator("svg.engine a[data-place=ex4]:visible").get_attribute("aria-label")
    assert name.startswith("Exhaust 4: out, no gap")
    expect(page.locator("#verdict")).to_have_text(re.compile("^One is out"), use_inner_text=True)


def test_the_order_of_work_shows_the_dial_and_follows_the_valve_at_hand(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/valves").page
    dial = page.locator("svg.dial")
    assert "start" in dial.get_attribute("aria-label")
    first = page.inner_text("#turn .big")
    assert first == "Stop 1 of 2"
    # one turn on: inlets 3 and 4, exhausts 2 and 4 (common practice, no source)
    page.locator("svg.engine a[data-place=ex4]:visible").click()
    page.wait_for_url("**at=ex4*")
    expect(page.locator("#turn .big")).to_have_text("Stop 2 of 2", use_inner_text=True)
    expect(dial).to_have_attribute("aria-label", "Crank dial: one turn on")
    words = page.inner_text("#turn .stop")
    for valve in ("inlet 3", "inlet 4", "exhaust 2", "exhaust 4"):
        assert valve in words


def test_the_whole_page_works_by_keyboard_alone(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/valves").page
    reached = []
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate(
                "(e => e.dataset.place || e.id || e.textContent.trim().slice(0, 30))"
                "(document.activeElement)"
            )
        )
        if reached[-1] == "go":
            break
    assert reached[0] == "To the work"
    assert {f"{kind}{n}" for kind in ("in", "ex") for n in range(1, 5)} <= set(reached)
    assert reached[-1] == "go"
    page.keyboard.type("4")
    page.keyboard.press("Tab")
    page.keyboard.type("6")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # warm
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the button
    page.get_by_text("Entry 2, strike it out").wait_for()


def test_all_valves_on_one_sheet_are_kept_at_once_or_not_at_all(
    open_page: Callable[..., Watched], site: Site, four: str
) -> None:
    page = open_page(f"/builds/{four}/valves/all").page
    for place, go, no_go in (("in1", "4", "5"), ("ex1", "6", "7"), ("in2", "x", "5")):
        page.locator(f"#go-{place}").fill(go)
        page.locator(f"#no_go-{place}").fill(no_go)
    page.get_by_role("button", name="Keep these readings").click()
    page.get_by_text("one valve needs another look").or_(
        page.get_by_text("1 valve needs another look")
    ).wait_for()
    assert site.store.last_number(four) == 1
    expect(page.locator("#go-in1")).to_have_value("4")
    page.locator("#go-in2").fill("4")
    page.get_by_role("button", name="Keep these readings").click()
    page.get_by_text("Five are not measured.").wait_for()
    assert site.store.last_number(four) == 4
    for said in ("inlet 1: 4", "exhaust 1: 6", "inlet 2: 4"):
        expect(page.locator(".kept")).to_contain_text(said)


def test_the_sheet_goes_from_field_to_field_in_working_order(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/valves/all").page
    page.locator("form input[id^=go-]").first.focus()
    order = [focused(page)]
    for _ in range(3):
        page.keyboard.press("Enter")
        order.append(focused(page))
    assert order == ["go-in1", "no_go-in1", "go-ex1", "no_go-ex1"]


@pytest.mark.parametrize("script", [True, False])
def test_the_plan_is_fitted_written_down_and_makes_the_right_checks_stale(
    open_page: Callable[..., Watched], site: Site, script: bool
) -> None:
    text = site.store.state(open_demo(site.store)).engine_text
    build = site.store.create_build("Demo copy", text, site.clock(), "tester")
    for entry in site.store.entries(open_demo(site.store))[1:]:
        site.store.append(build.id, entry.body, at=site.clock(), by="tester")
    before = site.store.last_number(build.id)
    page = open_page(f"/builds/{build.id}/valves", java_script_enabled=script).page
    expect(page.locator("#verdict")).to_have_text(
        "One is out, one cannot be told yet.", use_inner_text=True
    )
    expect(page.locator("#fit table tbody tr")).to_have_count(2)
    page.get_by_label(re.compile("^Inlet 2: .* is in")).uncheck()
    page.get_by_role("button", name="Fitted, write it in the book").click()
    page.get_by_text("must be read again after work").wait_for()
    name = page.locator("svg.engine a[data-place=ex2]:visible").get_attribute("aria-label")
    assert name.startswith("Exhaust 2: stale")
    new = site.store.entries(build.id, after=before)
    assert [entry.body.places for entry in new if entry.kind == "work"] == [("ex2",)]


def test_a_plan_made_before_somebody_else_wrote_is_not_carried_out(
    open_page: Callable[..., Watched], site: Site
) -> None:
    text = site.store.state(open_demo(site.store)).engine_text
    build = site.store.create_build("Demo race", text, site.clock(), "tester")
    for entry in site.store.entries(open_demo(site.store))[1:]:
        site.store.append(build.id, entry.body, at=site.clock(), by="tester")
    watched = open_page(f"/builds/{build.id}/valves")
    page = watched.page
    # with a hand on it the page does not draw itself anew, which would show the new plan
    page.get_by_role("button", name="Fitted, write it in the book").focus()
    site.store.append(build.id, LooseEndOpened("plug out"), at=site.clock(), by="other")
    before = site.store.last_number(build.id)
    page.get_by_role("button", name="Fitted, write it in the book").click()
    page.get_by_text("Somebody kept an entry since you looked").wait_for()
    assert site.store.last_number(build.id) == before
    expect(page.locator("a.loose")).to_contain_text("plug out", use_inner_text=True)
    watched.complaints[:] = [c for c in watched.complaints if "status of 409" not in c]


def test_a_shim_is_written_down_where_it_lies(open_page: Callable[..., Watched], four: str) -> None:
    page = open_page(f"/builds/{four}/valves?at=in2").page
    page.get_by_text("Shim at inlet 2: not known").click()
    page.get_by_label("size of the shim that lies there now").fill("9.9")
    page.get_by_role("button", name="Keep this shim").click()
    page.get_by_text("outside the sizes of the engine file").wait_for()
    expect(page.get_by_label("size of the shim that lies there now")).to_have_value("9.9")
    page.get_by_label("size of the shim that lies there now").fill("2,65")
    page.get_by_role("button", name="Keep this shim").click()
    page.get_by_text("Shim at inlet 2: 2.65 mm, by micrometer").wait_for()


def test_the_sums_can_be_asked_for(open_page: Callable[..., Watched], demo: str) -> None:
    page = open_page(f"/builds/{demo}/valves").page
    page.get_by_text("Which shim where").click()
    fold = page.locator("#sums details[open]")
    for heading in ("What goes in", "How", "From where", "How sure"):
        expect(fold.get_by_text(heading, exact=True)).to_be_visible()
    expect(fold).to_contain_text("clearance + shim out - shim in", use_inner_text=True)


def test_an_unknown_valve_and_a_machine_without_valves_say_so(
    client_for: Callable[..., Client], site: Site, four: str
) -> None:
    client = client_for(create_app(site.store, clock=site.clock))
    answer = client.get(f"/builds/{four}/valves?at=in9")
    assert answer.status_code == 404
    assert "in9" in answer.text
    assert client.send(f"/builds/{four}/valves/in9", {"go": "4"}).status_code == 404
    bare = site.store.create_build(
        "Bare", '[engine]\nname = "Bare"\nlayout = "single"\n', site.clock(), "tester"
    )
    answer = client.get(f"/builds/{bare.id}/valves")
    assert answer.status_code == 200
    assert "[valves]" in answer.text
    assert f'href="/builds/{bare.id}/guide"' in answer.text
    assert client.send(f"/builds/{bare.id}/valves/in1", {"go": "4"}).status_code == 404
    assert client.get(f"/builds/{bare.id}").status_code == 200
