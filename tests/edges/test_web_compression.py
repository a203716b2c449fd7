"""The compression page as a mechanic uses it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

Watched = Any
Site = Any

FOUR = """
[engine]
name = "Shed four"
layout = "inline"
cylinders = 4
firing_order = [1, 3, 4, 2]
bore = "56 mm"
stroke = "56 mm"
rod = "110 mm"
compression_ratio = 9.2
[cams]
inlet = { opens = "20 deg BTDC", closes = "45 deg ABDC" }
exhaust = { opens = "45 deg BBDC", closes = "20 deg ATDC" }
[show]
pressure = "psi"
"""


@pytest.fixture
def four(site: Site) -> str:
    return str(site.store.create_build("Shed four", FOUR, site.clock(), "tester").id)


@pytest.fixture
def sparse(site: Site) -> str:
    text = '[engine]\nname = "Sparse"\nlayout = "single"\n'
    return str(site.store.create_build("Sparse", text, site.clock(), "tester").id)


def test_readings_are_keyed_in_one_after_the_other(
    open_page: Callable[..., Watched], four: str
) -> None:
    page = open_page(f"/builds/{four}/compression").page
    expect(page.locator("#verdict")).to_have_text("Nothing is measured yet.", use_inner_text=True)
    for number, value in enumerate(("152", "105", "151", "153"), 1):
        expect(page.get_by_label("cylinder", exact=True)).to_have_value(f"cyl{number}")
        page.get_by_label("what it shows").fill(value)
        page.get_by_role("button", name="Keep reading").click()
        page.get_by_text(f"Entry {number + 1}, strike it out").wait_for()
    expect(page.locator("#verdict")).to_contain_text("Cylinder 2 is out", use_inner_text=True)
    expect(page.locator("#every li .state-out")).to_have_count(1)
    expect(page.locator("#next")).to_contain_text("cannot tell apart", use_inner_text=True)


def test_the_page_fits_a_phone_and_asks_nobody_else(
    open_page: Callable[..., Watched], four: str
) -> None:
    watched = open_page(f"/builds/{four}/compression", width=360)
    wide = watched.page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 360
    assert watched.foreign == []
    assert watched.complaints == []


def test_a_refused_form_loses_nothing(
    site: Site, client_for: Callable[..., Any], four: str
) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    before = site.store.state(four).last_number
    answer = client.send(
        f"/builds/{four}/compression",
        {"place": "cyl3", "kind": "dry", "value": "lots", "altitude": "600"},
    )
    assert answer.status_code == 422
    assert 'value="lots"' in answer.text
    assert 'value="600"' in answer.text
    tall = client.send(
        f"/builds/{four}/compression",
        {"place": "cyl3", "kind": "dry", "value": "150", "altitude": "tall"},
    )
    assert tall.status_code == 422
    assert site.store.state(four).last_number == before
    strange = client.send(f"/builds/{four}/compression", {"place": "cyl9", "value": "150"})
    assert strange.status_code == 404
    assert client.get(f"/builds/{four}/compression?at=cyl9").status_code == 404


def test_leak_down_and_where_the_air_went_are_kept(
    site: Site, client_for: Callable[..., Any], four: str
) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    for typed in (
        {"place": "cyl1", "kind": "leakdown", "value": "60/80 psi"},
        {"place": "cyl1", "kind": "air heard at", "heard": "exhaust", "value": ""},
    ):
        answer = client.send(f"/builds/{four}/compression", typed)
        assert answer.status_code == 303
    text = client.get(f"/builds/{four}/compression").text
    assert "25 % lost" in text
    assert "exhaust valve" in text


def test_an_engine_file_that_says_too_little_is_told_what_to_add(
    site: Site, client_for: Callable[..., Any], sparse: str
) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    answer = client.get(f"/builds/{sparse}/compression")
    assert answer.status_code == 200
    assert "bore" in answer.text
