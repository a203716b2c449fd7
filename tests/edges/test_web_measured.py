"""The pages of ratio by burette and cam timing by degree wheel, as a mechanic uses them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

Watched = Any
Site = Any

FOUR = """
[engine]
name = "Shed four"
layout = "inline"
cylinders = 4
bore = "56 mm"
stroke = "56 mm"
compression_ratio = 9.2
[cams]
inlet = { opens = "20 deg BTDC", closes = "45 deg ABDC" }
exhaust = { opens = "45 deg BBDC", closes = "20 deg ATDC" }
[compression]
cam_sprocket_teeth = 36
[show]
pressure = "psi"
"""


@pytest.fixture
def four(site: Site) -> str:
    return str(site.store.create_build("Shed four", FOUR, site.clock(), "tester").id)


def test_volumes_are_keyed_in_and_the_ratio_is_told(
    open_page: Callable[..., Watched], four: str
) -> None:
    watched = open_page(f"/builds/{four}/ratio", width=360)
    page = watched.page
    expect(page.locator("#verdict")).to_have_text(
        "No chamber is measured yet.", use_inner_text=True
    )
    typed = (("chamber", "15,6 +- 0.2"), ("gasket", "1.0"), ("gasket hole", "57"))
    for number, (kind, value) in enumerate(typed, 2):
        expect(page.get_by_label("which")).to_have_value(kind)
        page.get_by_label("what was measured").fill(value)
        page.get_by_role("button", name="Keep measurement").click()
        page.get_by_text(f"Entry {number}, strike it out").wait_for()
    expect(page.locator("#verdict")).to_have_text("Cylinder 1 is not as told.", use_inner_text=True)
    expect(page.locator("#found")).to_contain_text("to 1, give or take", use_inner_text=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.evaluate(Axe().axe_script)
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
    assert watched.foreign == []
    assert watched.complaints == []


def test_the_wheel_tells_a_tooth_and_a_refused_form_loses_nothing(
    site: Site, client_for: Callable[..., Any], four: str
) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    here = f"/builds/{four}/cam-timing"
    assert "No event is read yet." in client.get(here).text
    for kind, value in (("inlet opens", "0"), ("inlet closes", "65")):
        assert client.send(here, {"kind": kind, "value": value}).status_code == 303
    text = client.get(here).text
    assert "The cams are not timed as told." in text
    assert "1 tooth of the cam sprocket" in text
    before = site.store.state(four).last_number
    wrong = client.send(here, {"kind": "exhaust opens", "value": "lots"})
    assert wrong.status_code == 422
    assert 'value="lots"' in wrong.text
    assert site.store.state(four).last_number == before
    strange = client.send(
        f"/builds/{four}/ratio", {"place": "cyl9", "kind": "chamber", "value": "15"}
    )
    assert strange.status_code == 404
    checks = client.get(f"/builds/{four}/checks").text
    assert "Cam timing" in checks
    assert client.send(here, {"kind": "exhaust opens", "value": "45"}).status_code == 303
    assert "&#39;exhaust closes&#39; is missing" in client.get(here).text


def test_no_such_build_is_a_page_that_says_so(site: Site, client_for: Callable[..., Any]) -> None:
    from tickover.web.app import create_app

    client = client_for(create_app(site.store, clock=site.clock))
    assert client.get("/builds/nothing/ratio").status_code == 404
