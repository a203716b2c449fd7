"""Checks, measurements, fasteners and proving, as a hand uses them."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL

from tickover.book.bodies import (
    Acceptance,
    LooseEndClosed,
    LooseEndOpened,
    Reading,
    StrikeOut,
    Work,
)
from tickover.book.store import Store
from tickover.engine import parse_engine_file
from tickover.tasks.quickline import understand_line

ENGINES = Path(__file__).parents[2] / "examples" / "engines"
TRIPLE = (ENGINES / "triple-240.toml").read_text()
PAGES = (
    "/checks?stage=all",
    "/check?name=spark&place=plug2",
    "/check?name=plug+gap&place=plug1",
    "/check?name=battery+at+rest",
    "/check?name=bore%3A+cylinder&place=cyl1",
    "/fits",
    "/fasteners",
    "/controls",
    "/proving?timing=1.8+mm+drop",
    "/loose-ends",
    "/quick",
)
HELD = (
    "fit cyl1 cylinder top along 61.012",
    "fit cyl1 top ring 0.2",
    "in1 .10 / .13 mm",
    "torque head bolts 11 Nm stage 1",
    "check spark plug2 no",
    "check oil flow 70 ml in 8 s",
    "check plug gap plug1 0.65 mm",
    "check intake clamps yes",
    "loose guard off",
)


def fill(store: Store, build: str, clock: Callable[[], str], by: str = "tester") -> None:
    """A book with something of everything: good, out, stale, struck out, accepted, twice closed."""
    engine = parse_engine_file(TRIPLE, "engine.toml")
    for line in HELD:
        meant = understand_line(engine, line)
        store.append(build, [meant.body, *meant.more], at=clock(), by=by)
    state = store.state(build)
    gap = state.latest("plug gap", "plug1")
    assert gap is not None
    end = state.open_loose_ends[0].id
    store.append(
        build,
        [
            StrikeOut(gap.id, "wrong plug"),
            Work("carburettors off"),
            Acceptance("battery at rest", "", "new one on Monday, Jo"),
            LooseEndClosed(end),
            LooseEndClosed(end),
            LooseEndOpened("rag in a port"),
        ],
        at=clock(),
        by=by,
    )


@pytest.fixture(scope="module")
def full(site: Any) -> str:
    build = str(site.store.create_build("Full triple", TRIPLE, site.clock(), "tester").id)
    fill(site.store, build, site.clock)
    return build


@pytest.fixture
def build(site: Any) -> str:
    return str(site.store.create_build("Fresh triple", TRIPLE, site.clock(), "tester").id)


@pytest.fixture(scope="module")
def axe() -> Axe:
    return Axe()


def last(site: Any, build: str) -> Any:
    return site.store.entries(build)[-1].body


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_accessible_fits_the_screen_and_can_be_pressed(
    open_page: Callable[..., Any], axe: Axe, full: str, path: str
) -> None:
    page = open_page(f"/builds/{full}{path}").page
    page.evaluate(axe.axe_script)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    for width, scheme in ((360, "light"), (1280, "dark")):
        where = f"{path} at {width} px, {scheme}, every fold open"
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == [], where
        assert page.evaluate("document.documentElement.scrollWidth") <= width, where
        assert page.evaluate(TOO_SMALL) == [], where


def test_all_checks_stand_with_their_state_and_what_to_do_now(client: Any, full: str) -> None:
    text = client.get(f"/builds/{full}/checks").text
    for word in ("state-out", "state-good", "state-stale", "state-accepted", "state-undecided"):
        assert word in text
    assert "Do this now" in text
    assert "waits for" in text
    assert "another plug is in" in text, "what makes a check stale is said"
    assert "chain tension" not in text.lower(), "asked for before riding, not before the start"
    assert "chain tension" in client.get(f"/builds/{full}/checks?stage=riding").text.lower()


def test_a_stage_nobody_knows_shows_the_first(client: Any, full: str) -> None:
    assert client.get(f"/builds/{full}/checks?stage=%3Cb%3E").status_code == 200


def test_an_unknown_check_is_not_found_and_the_nearest_is_named(client: Any, full: str) -> None:
    answer = client.get(f"/builds/{full}/check?name=sprak&place=plug1")
    assert answer.status_code == 404
    assert "&#39;spark&#39;" in answer.text
    assert client.send(f"/builds/{full}/check", {"name": "sprak"}).status_code == 404


@pytest.mark.parametrize("script", [True, False])
def test_a_check_answered_with_one_button_leads_to_the_next_step(
    open_page: Callable[..., Any], site: Any, build: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/check?name=oil+filter", java_script_enabled=script).page
    page.get_by_role("button", name="Yes, done and right").click()
    page.get_by_text("In the book:").wait_for()
    body = last(site, build)
    assert (body.what, body.low, body.unit) == ("oil filter", 1.0, "yes")
    expect(page).not_to_have_url(re.compile("name=oil.filter"))


def test_a_check_found_wrong_stays_until_it_is_put_right(
    open_page: Callable[..., Any], build: str
) -> None:
    page = open_page(f"/builds/{build}/check?name=oil+filter").page
    page.get_by_role("button", name="No, found wrong").click()
    page.get_by_text("In the book:").wait_for()
    expect(page).to_have_url(re.compile("name=oil.filter"))
    expect(page.locator("#verdict")).to_have_text("Out: found wrong.", use_inner_text=True)


@pytest.mark.parametrize(
    ("typed", "low_m"),
    [("0,65", 0.65e-3), (".65 mm", 0.65e-3), ("26 thou", 26 * 25.4e-6), ("0.6-0.7 mm", 0.6e-3)],
)
def test_a_value_is_taken_with_comma_point_and_its_own_unit(
    client: Any, site: Any, typed: str, low_m: float
) -> None:
    text = TRIPLE.replace('clearance = "thou"', 'clearance = "mm"')
    build = str(site.store.create_build("In mm", text, site.clock(), "tester").id)
    sent = {"name": "plug gap", "place": "plug1", "typed": typed}
    answer = client.send(f"/builds/{build}/check", sent)
    assert answer.status_code == 303
    body = last(site, build)
    assert isinstance(body, Reading)
    assert body.low == pytest.approx(low_m, rel=1e-12)
    assert body.typed == typed


@pytest.mark.parametrize("typed", ["yes", "", "about right", "0.65 bar"])
def test_a_check_marked_good_without_its_reading_is_refused_and_nothing_is_lost(
    client: Any, site: Any, build: str, typed: str
) -> None:
    before = site.store.last_number(build)
    sent = {"name": "plug gap", "place": "plug1", "typed": typed, "instrument": "wire gauge 7"}
    answer = client.send(f"/builds/{build}/check", sent)
    assert answer.status_code == 422
    assert site.store.last_number(build) == before
    text = unescape(answer.text)
    assert "Nothing was written" in text
    assert f'value="{typed}"' in text
    assert 'value="wire gauge 7"' in text
    assert re.search(r"(Allowed|Write) ?:? ", text)


def test_lead_order_is_kept_as_it_was_found(client: Any, site: Any, build: str) -> None:
    sent = {"name": "lead order", "typed": "1-2-3"}
    assert client.send(f"/builds/{build}/check", sent).status_code == 303
    assert last(site, build).low == 0.0, "the file says 1-3-2"


def test_a_build_measurement_is_kept_only_for_its_own_check(
    client: Any, site: Any, build: str
) -> None:
    here = f"/builds/{build}/check"
    sent = {"name": "ring gap: top ring", "place": "cyl1", "typed": "0.25 mm"}
    assert client.send(here, sent).status_code == 303
    assert last(site, build).low == pytest.approx(0.25e-3)
    bore = {"name": "bore: cylinder", "place": "cyl1"}
    line = "fit cyl1 cylinder top along 61.012"
    assert client.send(here, {**bore, "typed": line}).status_code == 303
    other = client.send(here, {**bore, "typed": line.replace("cyl1", "cyl2")})
    assert other.status_code == 422
    assert "another measurement" in other.text


def test_old_readings_stay_visible_struck_out_or_void(client: Any, full: str) -> None:
    gap = client.get(f"/builds/{full}/check?name=plug+gap&place=plug1").text
    assert "<s>25.6 thou</s>" in gap
    assert "wrong plug" in gap
    clamps = client.get(f"/builds/{full}/check?name=intake+clamps").text
    assert "<s>done and found right</s>" in clamps
    assert "void" in clamps


def test_a_reading_is_struck_out_with_a_reason_and_never_without(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    meant = understand_line(parse_engine_file(TRIPLE, "e.toml"), "check plug gap plug2 0.65 mm")
    site.store.append(build, meant.body, at=site.clock(), by="tester")
    before = site.store.last_number(build)
    page = open_page(f"/builds/{build}/check?name=plug+gap&place=plug2").page
    page.get_by_text("Strike out entry").first.click()
    page.get_by_role("button", name="Strike out entry").click()
    page.get_by_text("Nothing was written.").wait_for()
    assert site.store.last_number(build) == before
    page.get_by_label("does not count").fill("read at plug 3")
    page.get_by_role("button", name="Strike out entry").click()
    page.get_by_text("read at plug 3").wait_for()
    expect(page.locator("#verdict")).to_have_text("Not done.", use_inner_text=True)


def test_a_check_is_accepted_with_a_reason_and_never_without(
    client: Any, site: Any, build: str
) -> None:
    here = f"/builds/{build}/check/accept"
    refused = client.send(here, {"name": "earths", "place": "", "reason": " "})
    assert refused.status_code == 422
    assert "Accepting needs a reason" in refused.text
    assert client.send(here, {"name": "earths", "reason": "Jo looked"}).status_code == 303
    assert last(site, build) == Acceptance("earths", "", "Jo looked")
    assert "Jo looked" in client.get(f"/builds/{build}/check?name=earths").text


def test_several_stations_of_a_bore_are_kept_together_or_not_at_all(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    page = open_page(f"/builds/{build}/fits").page
    before = site.store.last_number(build)
    page.get_by_label("top along").fill("61,012")
    page.get_by_label("top across").fill("6.1")
    page.get_by_role("button", name="Keep what is filled in").click()
    page.get_by_text("Nothing was written.").wait_for()
    assert site.store.last_number(build) == before
    expect(page.get_by_label("top along")).to_have_value("61,012")
    page.get_by_label("top across").fill("61,015")
    page.get_by_role("button", name="Keep what is filled in").click()
    page.get_by_text("In the book:").wait_for()
    readings = site.store.state(build).readings("bore: cylinder", "cyl1")
    assert [r.body.low for r in readings] == pytest.approx([61.012e-3, 61.015e-3])


def test_rounds_of_tightening_are_touched_one_after_the_other(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    page = open_page(f"/builds/{build}/fasteners").page
    expect(page.locator("svg.bolts circle")).to_have_count(8)
    for stage in (1, 2, 3):
        page.locator(f"#fastener-1 button[value=stage-{stage}]").click()
        page.locator(f"#fastener-1 .rounds li:nth-child({stage})", has_text=", done").wait_for()
        assert last(site, build).detail["stage"] == stage
    page.locator("#fastener-1 .state-good").first.wait_for()
    page.get_by_role("button", name="Loosened").first.click()
    page.locator("#fastener-1 .state-stale").first.wait_for()
    expect(page.locator("#fastener-1 .rounds li", has_text=", done")).to_have_count(0)


def test_a_torque_that_is_none_is_refused_beside_its_field(
    client: Any, site: Any, build: str
) -> None:
    before = site.store.last_number(build)
    sent = {"name": "head bolts", "did": "torque", "torque": "tight"}
    answer = client.send(f"/builds/{build}/fasteners", sent)
    assert answer.status_code == 422
    assert 'value="tight"' in answer.text
    assert client.send(f"/builds/{build}/fasteners", {**sent, "torque": ""}).status_code == 422
    assert client.send(f"/builds/{build}/fasteners", {**sent, "name": "none"}).status_code == 404
    assert site.store.last_number(build) == before
    assert client.send(f"/builds/{build}/fasteners", {**sent, "torque": "16 lbf ft"})
    assert last(site, build).detail["torque_nm"] == pytest.approx(21.69, abs=0.01)


def test_proving_says_what_to_expect_and_shows_timing_in_three_forms(
    client: Any, full: str
) -> None:
    text = unescape(client.get(f"/builds/{full}/proving?timing=12").text)
    assert "ml in 10 s" in text
    assert "earthed" in text
    assert "You asked: <b>12° before TDC</b>, piston 0.85 mm down, 10.47 mm on the rotor" in text
    assert "expected, not a leak" in text
    refused = client.get(f"/builds/{full}/proving?timing=soon")
    assert refused.status_code == 422
    assert 'value="soon"' in refused.text


def test_a_clearance_carries_the_distance_run(client: Any, site: Any, build: str) -> None:
    sent = {"go": ".10 mm", "no_go": ".13 mm", "distance": "1200 km"}
    assert client.send(f"/builds/{build}/valves/in1", sent).status_code == 303
    assert last(site, build).conditions["distance_m"] == pytest.approx(1.2e6)
    refused = client.send(f"/builds/{build}/valves/in1", {**sent, "distance": "far"})
    assert refused.status_code == 422
    assert 'value="far"' in refused.text


def test_every_check_of_every_example_has_a_page_that_says_how(client: Any, site: Any) -> None:
    for name in ("single", "inline-four"):
        text = (ENGINES / f"{name}.toml").read_text()
        build = site.store.create_build(name, text, site.clock(), "tester").id
        page = client.get(f"/builds/{build}/checks?stage=all").text
        links = sorted(set(re.findall(r'href="(/builds/[^"]+/check\?[^"]+)"', page)))
        assert len(links) > 20
        for link in links[:: max(1, len(links) // 12)]:
            shown = client.get(unescape(link))
            assert shown.status_code == 200, link
            assert "What did you find?" in shown.text


def test_the_build_page_leads_to_the_next_step_and_to_everything_in_the_way(
    client: Any, full: str
) -> None:
    text = client.get(f"/builds/{full}").text
    assert f'href="/builds/{full}/check?name=spark&amp;place=plug2"' in text
    assert f'href="/builds/{full}/fit"' in text
    assert f'href="/builds/{full}/checks"' in text
    assert f'class="loose" href="/builds/{full}/loose-ends"' in text
