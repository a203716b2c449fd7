"""Wiring, loom and the test wire by wire, as a mechanic with gloves uses them."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from support_loom import TWIN
from support_pages import TOO_SMALL

from tickover.book.bodies import EngineFileKept

Watched = Any
Site = Any

# What can be pressed and is smaller than 48 px.
BARE = '[engine]\nname = "Bare"\nlayout = "single"\n# a word of mine\n'


@pytest.fixture
def twin(site: Site) -> str:
    text = TWIN.read_text(encoding="utf-8")
    return str(site.store.create_build("Shed twin", text, site.clock(), "tester").id)


@pytest.fixture
def bare(site: Site) -> str:
    return str(site.store.create_build("Bare", BARE, site.clock(), "tester").id)


def test_pages_fit_a_phone_and_big_buttons_go_from_wire_to_wire(
    open_page: Callable[..., Watched], twin: str
) -> None:
    watched = open_page(f"/builds/{twin}/wiring/test", width=360)
    page = watched.page
    page.get_by_role("button", name="Good: it beeps").click()
    page.get_by_text("loom continuity wire 1: ok; loom insulation wire 1: open").wait_for()
    page.get_by_role("heading", name="Wire 2").wait_for()
    page.get_by_role("button", name="No path end to end").click()
    page.get_by_role("heading", name="No path, or a bad one").wait_for()
    # With something typed the Enter key keeps that, not the first button's 'good'.
    page.get_by_label("end to end").fill("0,2")
    page.get_by_label("to earth").fill("3")
    page.get_by_label("to earth").press("Enter")
    page.get_by_role("heading", name="Reaches earth").wait_for()
    for path in ("wiring/test", "wiring", "wiring/loom"):
        page.goto(page.url.split("/wiring")[0] + f"/{path}")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert page.evaluate(TOO_SMALL) == []
        assert Axe().run(page).response["violations"] == []


def test_a_wire_read_wrong_is_on_the_list_until_it_is_made_anew(client: Any, twin: str) -> None:
    here, home = f"/builds/{twin}/wiring/test", f"/builds/{twin}"
    remake = 'value="remade"'
    assert remake not in client.get(f"{here}?wire=4").text
    client.send(here, {"wire": "4", "press": "open"})
    assert remake in client.get(f"{here}?wire=4").text
    assert "for wire 4 again" in client.get(f"{home}/shopping").text
    assert "Wire 4 read no path end to end" in client.get(f"{home}/wiring/loom").text
    answer = client.send(here, {"wire": "4", "press": "remade"})
    assert "wire 4, made anew: read it again" in client.get(answer.headers["location"]).text
    page = client.get(f"{here}?wire=4").text
    assert "what was read before counts no more" in page
    assert remake not in page
    assert "for wire 4 again" not in client.get(f"{home}/shopping").text
    assert client.send(here, {"wire": "99", "press": "remade"}).status_code == 404


def test_a_refused_reading_loses_nothing(site: Site, client: Any, twin: str) -> None:
    here = f"/builds/{twin}/wiring/test"
    before = site.store.state(twin).last_number
    answer = client.send(here, {"wire": "4", "end_to_end": "lots", "to_earth": "open"})
    assert answer.status_code == 422
    assert 'value="lots"' in answer.text
    assert 'value="open"' in answer.text
    nothing = client.send(here, {"wire": "4", "press": "typed"})
    assert nothing.status_code == 422
    assert site.store.state(twin).last_number == before
    assert client.send(here, {"wire": "99", "press": "good"}).status_code == 404
    assert client.get(f"{here}?wire=99").status_code == 404


def test_pressed_twice_is_kept_once(site: Site, client: Any, twin: str) -> None:
    typed = {"wire": "4", "press": "good", "once": "0" * 32}
    for _ in range(2):
        assert client.send(f"/builds/{twin}/wiring/test", typed).status_code == 303
    assert len(site.store.state(twin).readings("loom continuity")) == 1


def test_a_loom_is_typed_in_line_by_line_and_comments_stay(
    site: Site, client: Any, bare: str
) -> None:
    here = f"/builds/{bare}/wiring"
    assert "No loom is described" in client.get(f"{here}/loom").text
    assert "No loom is described yet" in client.get(here).text
    steps: tuple[dict[str, str], ...] = (
        {"table": "wiring", "battery": "box", "fuses": "box", "main_fuse": "10 A"},
        {"table": "branches", "from": "box", "to": "tail", "length": "800 mm"},
        {"table": "circuits", "name": "lamps", "colour": "YE"},
        {"table": "switches", "name": "light switch", "at": "box"},
        {"table": "loads", "name": "tail lamp", "kind": "lamp", "circuit": "lamps", "at": "tail",
         "rated": "5 W", "feed": "light switch"},
    )  # fmt: skip
    for step in steps:
        answer = client.send(here, step)
        assert answer.status_code == 303, answer.text[-3000:]
    text = site.store.state(bare).engine_text
    assert text.startswith(BARE)
    assert 'feed = ["light switch"]' in text
    assert "sizes and fuses go together" in client.get(here).text
    assert "tail lamp" in client.get(f"{here}/loom").text
    svg = client.get(f"{here}/board.svg")
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert 'width="' in svg.text[:400]


def test_a_starter_cable_is_added_and_told_once_its_current_is_known(
    site: Site, client: Any, bare: str
) -> None:
    here = f"/builds/{bare}/wiring"
    cable = {"table": "starter_cables", "name": "battery to relay", "length": "400 mm"}
    refused = client.send(here, {**cable, "resistance": "1 mohm"})
    assert refused.status_code == 422
    assert 'value="1 mohm"' in refused.text
    assert client.send(here, cable).status_code == 303
    assert 'id="starter"' not in client.get(here).text
    text = site.store.state(bare).engine_text + '[starter]\ncurrent = "120 A"\n'
    site.store.append(bare, EngineFileKept(text), at=site.clock(), by="tester")
    assert "Battery to relay: 6 mm², chosen" in client.get(here).text


def test_a_circuit_written_before_its_loads_is_a_problem_told_and_no_page_fails(
    client: Any, twin: str
) -> None:
    home = f"/builds/{twin}"
    added = {"table": "circuits", "name": "grips", "colour": "OG"}
    assert client.send(f"{home}/wiring", added).status_code == 303
    shown = client.get(f"{home}/wiring").text
    assert "No load is on the circuit grips" in shown
    assert "circuit-7" not in shown  # the six that feed something are drawn
    for path in ("wiring/loom", "wiring/test", "sheets/loom-schedule.pdf", "record", "shopping"):
        assert client.get(f"{home}/{path}").status_code == 200, path


def test_watts_for_amperes_are_refused_with_what_was_typed(
    site: Site, client: Any, twin: str
) -> None:
    here = f"/builds/{twin}/wiring"
    before = site.store.state(twin).engine_text
    answer = client.send(
        here,
        {"table": "loads", "name": "heated grip", "circuit": "signals", "at": "left bar",
         "real": "30 W"},
    )  # fmt: skip
    assert answer.status_code == 422
    assert "in amperes, and this is in watts" in answer.text
    assert 'value="heated grip"' in answer.text
    assert site.store.state(twin).engine_text == before
    assert client.send(here, {"table": "moon"}).status_code == 404


def test_another_lamp_is_compared_and_a_strange_one_told(client: Any, twin: str) -> None:
    text = client.get(f"/builds/{twin}/wiring?lamp=tail+lamp+=+1+W").text
    assert "tail lamp 5 to 1 W" in text
    strange = client.get(f"/builds/{twin}/wiring?lamp=moon+=+1+W")
    assert strange.status_code == 422
    assert "names no load" in strange.text


def test_a_fuse_above_its_wire_is_shown_with_its_line_and_nothing_is_lost(
    site: Site, client: Any
) -> None:
    text = TWIN.read_text(encoding="utf-8").replace('fuse = "20 A"', 'fuse = "20 A"\nsize = "1"')
    build = site.store.create_build("Thin", text, site.clock(), "tester").id
    shown = client.get(f"/builds/{build}/wiring").text
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row == 'fuse = "20 A"')
    assert "above what wire" in shown
    assert f"Line {line}." in shown
    assert client.get(f"/builds/{build}/wiring/test").status_code == 200


def test_the_guide_leads_to_the_loom_and_shows_how_a_whole_one_is_written(
    client: Any, bare: str, twin: str
) -> None:
    guide = client.get(f"/builds/{bare}/guide").text
    assert f'href="/builds/{bare}/wiring#add"' in guide
    assert "line by line, on its own page" in guide
    assert re.search(r"\d+ loads, \d+ branches", client.get(f"/builds/{twin}/guide").text)
    assert "How a whole loom is written" in client.get(f"/builds/{bare}/wiring").text
    assert "Shed twin, cut-down loom" in client.get(f"/builds/{bare}/wiring").text
    assert "How a whole loom is written" not in client.get(f"/builds/{twin}/wiring").text
