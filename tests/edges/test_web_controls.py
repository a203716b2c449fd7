"""The page of the controls keeps what was found there; the start day leads on to causes."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tickover.book.fields import LONG

Client = Any
Site = Any


@pytest.fixture
def fresh_triple(site: Site, triple: str) -> str:
    """A build of its own with the example triple's engine file; its id."""
    text = site.store.state(triple).engine_text
    return str(site.store.create_build("Controls", text, site.clock(), "tester").id)


@pytest.mark.parametrize("script", [True, False])
def test_free_play_is_kept_from_the_page_of_the_controls(
    open_page: Callable[..., Any], fresh_triple: str, script: bool
) -> None:
    page = open_page(f"/builds/{fresh_triple}/controls", java_script_enabled=script).page
    done = page.get_by_role("button", name="Yes, done and right")
    expect(done.locator("visible=true").first).to_be_visible()
    row = page.locator("#try li").filter(has_text="Throttle free play")
    row.get_by_text("What did you find?").click()
    row.get_by_label("what you read").fill("9 mm")
    row.get_by_role("button", name="Keep reading").click()
    page.get_by_text("In the book:").wait_for()
    row.get_by_text("out", exact=True).wait_for()
    row.get_by_text("Enter it again").click()
    row.get_by_label("what you read").fill("3 mm")
    row.get_by_role("button", name="Keep reading").click()
    row.get_by_text("good", exact=True).wait_for()
    expect(page).to_have_url(re.compile(r"/controls(\?|$)"))


def test_what_is_no_reading_is_refused_beside_what_was_typed(
    client: Client, site: Site, fresh_triple: str
) -> None:
    before = site.store.last_number(fresh_triple)
    sent = {"name": "throttle free play", "place": "", "typed": "loose-ish"}
    answer = client.send(f"/builds/{fresh_triple}/controls", sent)
    assert answer.status_code == 422
    assert 'value="loose-ish"' in answer.text
    assert "Nothing was written." in answer.text
    assert site.store.last_number(fresh_triple) == before
    sent["name"] = "brake free play"
    assert client.send(f"/builds/{fresh_triple}/controls", sent).status_code == 404


def test_battery_and_switches_show_why(client: Client, fresh_triple: str) -> None:
    text = client.get(f"/builds/{fresh_triple}/proving").text
    for title in ("Battery at rest", "While the starter turns", "Which states start"):
        assert f"<summary>{title}</summary>" in text
    assert "US Army TM 5-3805-262-20" in text


def test_it_does_not_charge_leads_to_the_charging_page(client: Client, fresh_triple: str) -> None:
    home = f"/builds/{fresh_triple}"
    led = f'href="{home}/charging">Why it does not charge'
    assert led in client.get(f"{home}/start").text
    assert led in client.get(f"{home}/stopwatch").text
    kept = client.send(f"{home}/start", {"what": "nothing", "seconds": "5"})
    assert kept.status_code == 303
    assert f'href="{home}/why">Why it does not start' in client.get(kept.headers["location"]).text


def test_a_note_as_long_as_a_book_is_refused_with_its_limit(
    client: Client, site: Site, fresh_triple: str
) -> None:
    before = site.store.last_number(fresh_triple)
    sent = {"what": "fired", "seconds": "5", "note": "x" * (LONG + 1)}
    answer = client.send(f"/builds/{fresh_triple}/start", sent)
    assert answer.status_code == 422
    assert f"The text is too long, {LONG + 1} characters." in answer.text
    assert f"Allowed: {LONG} characters." in answer.text
    assert "Write it shorter, or the rest as a second entry." in answer.text
    assert site.store.last_number(fresh_triple) == before
    sent["note"] = "x" * LONG
    assert client.send(f"/builds/{fresh_triple}/start", sent).status_code == 303
