"""Starting a build without a text editor: begin, step by step, from a similar one, from a table."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL

TWIN = '# mine\n[engine]\nname = "Twin"\nlayout = "inline"\ncylinders = 2   # two\n'


@pytest.fixture
def build(site: Any) -> str:
    return str(site.store.create_build("Twin", TWIN, site.clock(), "tester").id)


def engine_text(site: Any, build: str) -> str:
    return str(site.store.state(build).engine_text)


@pytest.mark.parametrize("script", [True, False])
def test_a_build_is_begun_and_described_step_by_step(
    open_page: Any, site: Any, script: bool
) -> None:
    page = open_page("/", java_script_enabled=script).page
    page.get_by_role("link", name="Describe a machine step by step").click()
    scratch = page.locator("#scratch")
    scratch.get_by_label("what it is called").fill("Step triple")
    scratch.get_by_label("layout").select_option("inline")
    scratch.get_by_label("cylinders").fill("none")
    scratch.get_by_role("button", name="Begin this build").click()
    page.get_by_text("Nothing was started.").wait_for()
    expect(page.get_by_label("what it is called")).to_have_value("Step triple")
    page.locator("#scratch").get_by_label("cylinders").fill("3")
    page.get_by_role("button", name="Begin this build").click()
    page.get_by_role("heading", name="Crank and firing").wait_for()
    expect(page).to_have_url(re.compile("/builds/[^/]+/guide"))
    build = page.url.split("/builds/")[1].split("/")[0]
    page.get_by_label("firing order").fill("1-3")
    page.get_by_role("button", name="Keep, then").click()
    page.get_by_text("Nothing was written.").wait_for()
    expect(page.get_by_label("firing order")).to_have_value("1-3")
    assert "firing_order" not in engine_text(site, build)
    page.get_by_label("firing order").fill("1-3-2")
    page.get_by_role("button", name="Keep, then").click()
    page.get_by_role("heading", name="Bore and stroke").wait_for()
    page.get_by_label("bore").fill("61 mm")
    page.get_by_label("compression ratio").fill("9,4")
    page.get_by_role("button", name="Keep, then").click()
    page.get_by_role("heading", name="Valves and clearances").wait_for()
    page.get_by_label("set by").select_option("shim over bucket")
    page.get_by_label("inlet clearance, cold").fill("3-5 thou")
    page.get_by_role("button", name="Keep, then").click()
    page.get_by_role("heading", name="Cam timing").wait_for()
    assert engine_text(site, build) == (
        '[engine]\nname = "Step triple"\nlayout = "inline"\ncylinders = 3\n'
        'firing_order = [1, 3, 2]\nbore = "61 mm"\ncompression_ratio = 9.4\n\n'
        '[valves]\nadjustment = "shim over bucket"\ninlet_clearance = "3-5 thou"\n'
    )
    expect(page.locator("#written pre")).to_contain_text(
        'inlet_clearance = "3-5 thou"', use_inner_text=True
    )


def test_answers_keep_comments_and_an_emptied_field_goes(
    client: Any, site: Any, build: str
) -> None:
    form = {"step": "size", "engine.bore": "61 mm", "engine.stroke": "60 mm"}
    assert client.send(f"/builds/{build}/guide", form).status_code == 303
    assert engine_text(site, build) == TWIN + 'bore = "61 mm"\nstroke = "60 mm"\n'
    number = site.store.last_number(build)
    assert client.send(f"/builds/{build}/guide", form).status_code == 303
    assert site.store.last_number(build) == number, "nothing changed, nothing written"
    form = {"step": "size", "engine.bore": "61 mm", "engine.stroke": ""}
    client.send(f"/builds/{build}/guide", form)
    assert engine_text(site, build) == TWIN + 'bore = "61 mm"\n'


def test_a_similar_machine_is_taken_over_with_its_comments(
    client: Any, site: Any, build: str
) -> None:
    assert "example: triple-240" in client.get("/new").text
    typed = {"like": f"build {build}", "name": "Second twin"}
    answer = client.send("/new/like", typed)
    assert answer.status_code == 303
    made = answer.headers["location"].split("/")[2]
    assert engine_text(site, made) == TWIN.replace('"Twin"', '"Second twin"')
    assert client.send("/new/like", {"like": "example triple-240", "name": "T"}).status_code == 303
    for bad in ({"like": "example ../secret", "name": "T"}, {"like": f"build {build}"}, {}):
        refused = client.send("/new/like", bad)
        assert refused.status_code == 422
        assert "Nothing was started." in refused.text


def test_a_name_is_only_ever_a_name(client: Any, site: Any) -> None:
    name = '"\n[show]\nclearance = "thou" <script>alert(1)</script>'
    form = {"engine.name": name, "engine.layout": "single", "engine.cylinders": "1"}
    answer = client.send("/new", form)
    if answer.status_code == 303:
        made = answer.headers["location"].split("/")[2]
        assert "\n[show]" not in engine_text(site, made)
    assert "<script>alert" not in answer.text


def test_limits_come_from_a_table_all_or_none(client: Any, site: Any, build: str) -> None:
    home = f"/builds/{build}/guide/limits"
    table = "name,kind,from,to,unit\nring,ring gap,0.15,0.30,mm\nbore,boar,61,62,mm\n"
    refused = client.send(home, {"table": table})
    assert refused.status_code == 422
    assert "Line 3, kind." in refused.text
    assert "ring,ring gap,0.15,0.30,mm" in refused.text, "what was typed is still there"
    assert engine_text(site, build) == TWIN
    sent = {"file": ("limits.csv", table.replace("boar", "bore").encode(), "text/csv")}
    answer = client.send(home, {"table": ""}, files=sent)
    assert answer.status_code == 303
    assert engine_text(site, build).startswith(TWIN)
    shown = client.get(answer.headers["location"]).text
    assert "limits = &#34;0.15..0.30 mm&#34;" in shown
    bad = {"file": ("limits.csv", b"\xff\xfe\0n", "text/csv")}
    assert client.send(home, {}, files=bad).status_code == 422


def test_unknown_steps_and_files_that_cannot_be_read_lead_somewhere(
    client: Any, site: Any, build: str
) -> None:
    assert client.get(f"/builds/{build}/guide?step=soup").status_code == 404
    assert client.send(f"/builds/{build}/guide", {"step": "soup"}).status_code == 404
    assert client.get("/builds/nobody/guide").status_code == 404
    empty = site.store.create_build("Empty", "", site.clock(), "tester").id
    assert client.get(f"/builds/{empty}/guide").headers["location"].endswith("/engine")


PAGES = ("/new", "/builds/{build}/guide?step=valves", "/builds/{build}/guide/limits")


@pytest.mark.parametrize("path", PAGES)
def test_the_pages_can_be_read_and_pressed(
    open_page: Any, site: Any, build: str, path: str
) -> None:
    page = open_page(path.format(build=build)).page
    for width, scheme in itertools.product((360, 1280), ("light", "dark")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        found = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        small = page.evaluate(TOO_SMALL)
        assert small == []
