"""Running in: due, done, dated, and the calendar file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import icalendar
import pytest
from playwright.sync_api import expect
from support_day import engine_text

from tickover.pages.stopwatch import attempt_body

Client = Any
Watched = Any
Site = Any


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build of it; its id."""
    return str(site.store.create_build("Shed triple", engine_text(), site.clock(), "tester").id)


def test_nothing_is_dated_before_the_first_start(client: Client, build: str) -> None:
    text = client.get(f"/builds/{build}/run-in").text
    assert "The engine has not run yet" in text
    assert "run-in.ics" not in text
    answer = client.get(f"/builds/{build}/run-in.ics")
    assert answer.status_code == 422
    assert "Nothing to put into a calendar" in answer.text


@pytest.mark.parametrize("script", [True, False])
def test_what_it_has_run_makes_steps_due_and_done_ends_them(
    open_page: Callable[..., Watched], site: Site, build: str, script: bool
) -> None:
    site.store.append(build, attempt_body("ran", 4.0), at=site.clock(), by="t")
    page = open_page(f"/builds/{build}/run-in", java_script_enabled=script).page
    page.get_by_role("button", name="One heat cycle more").click()
    leaks = page.locator("#due li").filter(has_text="Leaks and fasteners")
    leaks.get_by_role("button", name="Done").click()
    expect(page.locator("#done")).to_contain_text("Leaks and fasteners")
    page.get_by_label("on the distance meter now").fill("far")
    page.get_by_label("running time since the start").fill("2 h")
    page.get_by_role("button", name="Keep what it has run").click()
    page.get_by_text("Nothing was written.").wait_for()
    expect(page.get_by_label("on the distance meter now")).to_have_value("far")
    expect(page.get_by_label("running time since the start")).to_have_value("2 h")
    page.get_by_label("on the distance meter now").fill("160")
    page.get_by_role("button", name="Keep what it has run").click()
    expect(page.locator("#due")).to_contain_text("Chain and wheel nuts again")
    readings = {e.body.what: (e.body.low, e.body.typed) for e in site.store.state(build).readings()}
    assert readings == {"distance run": (160e3, "160 km"), "running time": (7200.0, "2 h")}


def test_use_in_a_week_moves_the_dates(client: Client, site: Site, build: str) -> None:
    site.store.append(build, attempt_body("ran", 4.0), at=site.clock(), by="t")
    home = f"/builds/{build}/run-in"
    assert "our assumption" in client.get(home).text
    bad = client.send(f"{home}/use", {"use_distance": "200 km", "use_cycles": "-1"})
    assert bad.status_code == 422
    assert 'value="200 km"' in bad.text
    typed = {"use_distance": "200 km", "use_running": "4", "use_cycles": "2,5"}
    assert client.send(f"{home}/use", typed).status_code == 303
    text = client.get(home).text
    assert "200 km, 4 h and 2.5 heat cycles a week" in text
    assert "our assumption" not in text


def test_the_calendar_file_is_one_that_calendars_read(
    client: Client, site: Site, build: str
) -> None:
    site.store.append(build, attempt_body("ran", 4.0), at=site.clock(), by="t")
    answer = client.get(f"/builds/{build}/run-in.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == len(events) >= 8
    assert any("chain and wheel nuts again" in str(event["SUMMARY"]) for event in events)


def test_nothing_filled_in_is_refused(client: Client, site: Site, build: str) -> None:
    assert client.send(f"/builds/{build}/run-in", {}).status_code == 422
    assert client.send(f"/builds/{build}/shopping", {"item": " "}).status_code == 422
    assert site.store.last_number(build) == 1
