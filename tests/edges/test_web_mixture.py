"""Mixture, balance and strobe on the phone: works, bad input, unknown build, accessible."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL
from support_record import pdf_words, printed_part

from tickover.book.store import Store
from tickover.engine import parse_engine_file
from tickover.pages.building import engine_of, mixture_of
from tickover.pages.mixture_map import map_rows
from tickover.pages.mixture_words import opening_words
from tickover.pages.record.dialled_in import dialled_in_part
from tickover.pages.wording import dial_speed
from tickover.paper.sheets import print_blank
from tickover.plan.shopping import jets_wanted
from tickover.tasks.mixture.in_book import findings
from tickover.web.app import create_app

Watched = Any
TRIPLE = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text()
SPARSE = '[engine]\nname = "Sparse"\nlayout = "single"\n'


@pytest.fixture
def bench(client_for: Callable[..., Any], tmp_path: Path) -> Iterator[Any]:
    with Store.open(tmp_path / "mixture.book") as store:
        at = "2031-03-01T08:00:00+00:00"
        build = store.create_build("Shed triple", TRIPLE, at, "tester").id
        sparse = store.create_build("Sparse", SPARSE, at, "tester").id
        client = client_for(create_app(store, clock=lambda: at))
        yield client, store, f"/builds/{build}", f"/builds/{sparse}"


def follow(client: Any, response: Any) -> str:
    assert response.status_code == 303, response.text[-3000:]
    return str(client.get(response.headers["location"]).text)


def test_numbers_and_words_become_readings_and_a_word_of_pinking_stops_first(bench) -> None:
    client, store, home, _ = bench
    here = f"{home}/mixture"
    first = {"opening": "1/4", "speed": "5000", "lambda": "12,5", "scale": "afr", "once": "a" * 32}
    shown = follow(client, client.send(here, first))
    assert "1/4, 5000 rpm: lambda 0.857" in shown
    again = client.send(here, first)  # pressed twice
    assert again.status_code == 303
    assert len(store.state(home.split("/")[-1]).readings("mixture")) == 1
    shown = follow(
        client, client.send(here, {"opening": "full", "speed": "7800", "word": "pinking"})
    )
    assert "Stop. Pinking" in shown
    assert shown.index("Stop. Pinking") < shown.index("What to read next")
    assert 'id="verdict"' in shown
    book = store.state(home.split("/")[-1])
    pinking = book.readings("mixture")[-1]
    strike = {"entry": pinking.id, "reason": "it was the chain"}
    assert client.send(f"{home}/book/strike", strike).status_code == 303
    assert "Stop. Pinking" not in client.get(here).text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"opening": "1/4", "lambda": "13.2"}, "13.2 AFR"),
        ({"opening": "120 %", "lambda": "0.9"}, "further than full"),
        ({"opening": "1/4"}, "Neither a lambda nor a word"),
        ({"lambda": "0.9"}, "needs the opening"),
        ({"opening": "full", "lambda": "2.4"}, "No engine runs at this mixture"),
    ],
)
def test_a_reading_that_cannot_be_meant_is_refused_and_stays_typed(bench, typed, says) -> None:
    client, _, home, _ = bench
    response = client.send(f"{home}/mixture", {"scale": "lambda", "note": "kept words", **typed})
    assert response.status_code == 422
    assert says in response.text
    assert "kept words" in response.text


def test_a_change_begins_a_round_and_what_is_not_in_the_series_is_refused(bench) -> None:
    client, store, home, _ = bench
    wrong = client.send(f"{home}/mixture/change", {"main": "107"})
    assert wrong.status_code == 422
    assert "107" in wrong.text
    assert client.send(f"{home}/mixture/change", {"clip": "9"}).status_code == 422
    shown = follow(client, client.send(f"{home}/mixture/change", {"main": "102", "clip": "4"}))
    assert "main 102" in shown
    assert "groove 4" in shown
    shown = follow(client, client.send(f"{home}/mixture/air", {"air filter changed": "open"}))
    assert "open filters" in shown
    works = [e.body.what for e in store.state(home.split("/")[-1]).live if e.kind == "work"]
    assert sorted(works) == ["air filter changed", "jets changed", "needle moved"]


def test_a_log_with_columns_of_its_own_becomes_readings(bench) -> None:
    client, store, home, _ = bench
    rows = ["Zeit;U;DK;AFR", "s;1/min;%;-"]
    for k in range(6000):
        opening = (12, 25, 50, 75)[k // 1500]
        rows.append(f"{k / 50:.2f};{3500 + 40 * opening};{opening};{13.0 - opening / 100:.2f}")
    data = "\n".join(rows).replace(".", ",").encode()
    asked = {"time": "Zeit", "speed": "U", "opening": "DK", "once": "b" * 32}
    sent = {"log": ("ride.csv", data, "text/csv")}
    wrong = client.send(f"{home}/mixture/log", {**asked, "lambda": "Sonde"}, files=sent)
    assert wrong.status_code == 422
    assert "no column for lambda" in wrong.text
    assert 'value="Zeit"' in wrong.text
    shown = follow(
        client, client.send(f"{home}/mixture/log", {**asked, "lambda": "AFR"}, files=sent)
    )
    kept = store.state(home.split("/")[-1]).readings("mixture")
    assert len(kept) >= 4
    assert {round(e.body.conditions["opening"], 2) for e in kept} >= {0.12, 0.25, 0.5, 0.75}
    assert f"{len(kept)} readings out of 120 s" in shown
    assert client.send(f"{home}/mixture/log", {"time": "Zeit"}).status_code == 422


def test_jets_to_have_ready_are_told_for_a_state(bench) -> None:
    client, _, home, _ = bench
    shown = client.get(f"{home}/mixture?ready=height+2000+m,+5+C;+open,+baffles+out").text
    assert "height 2000 m, 5 C" in shown
    assert "open, baffles out" in shown
    wrong = client.get(f"{home}/mixture?ready=on+the+moon")
    assert wrong.status_code == 422
    assert "says nothing of a state" in wrong.text


def test_gauges_in_their_unit_say_which_screw_and_a_turn_asks_for_the_next_look(bench) -> None:
    client, _, home, _ = bench
    here = f"{home}/balance"
    look = {"carb1": "22", "carb2": "18,5", "carb3": "-8.6 inHg", "unit": "cmHg", "at": "idle"}
    shown = follow(client, client.send(here, look))
    assert "Not balanced" in shown
    assert "Turn screw" in shown
    assert "29.3 kPa" in shown  # 22 cmHg of 1333.22 Pa, exact by definition
    kept = re.search(r'class="kept".*?</b>', shown)
    assert kept is not None
    for number in ("1", "2", "3"):
        assert f"carburettor {number}" in kept[0] or f"carb{number}" in kept[0]
    turn = {"screw": "screw 2-1", "way": "out", "turns": "1/4"}
    shown = follow(client, client.send(f"{here}/turned", turn))
    assert "a turn counts only when all gauges" in shown
    wrong = client.send(here, {"carb1": "22", "carb2": "9000", "unit": "cmHg"})
    assert wrong.status_code == 422
    assert "No running cylinder" in wrong.text
    assert client.send(here, {}).status_code == 422
    assert client.send(f"{here}/turned", {"screw": "screw 9-9", "turns": "1"}).status_code == 422


def test_strobe_readings_are_drawn_beside_the_curve_with_the_plate(bench) -> None:
    client, store, home, _ = bench
    here = f"{home}/strobe"
    assert "no strobe reading yet" in client.get(here).text
    for speed, degrees in (("1200", "3"), ("4100", "26")):
        shown = follow(client, client.send(here, {"speed": speed, "degrees": degrees}))
    assert "crank degrees earlier" in shown
    assert "mm along its rim" in client.get(f"{here}?plate=camshaft&radius=35").text
    assert client.get(f"{here}?radius=round").status_code == 422
    assert client.send(here, {"speed": "4000"}).status_code == 422
    assert client.send(here, {"speed": "4000", "degrees": "190"}).status_code == 422
    places = {e.body.place for e in store.state(home.split("/")[-1]).readings("advance curve")}
    assert len(places) == 2
    follow(client, client.send(here, {"speed": "2900", "degrees": "30"}))
    entry = store.state(home.split("/")[-1]).readings("advance curve")[-1]
    assert entry.body.place == "3000 rpm"  # the point of the curve it was meant for
    assert entry.body.conditions["speed_hz"] == pytest.approx(2900 / 60)


@pytest.mark.parametrize("page", ["mixture", "balance", "strobe"])
def test_a_file_that_says_too_little_and_an_unknown_build_are_told(bench, page) -> None:
    client, _, _, sparse = bench
    shown = client.get(f"{sparse}/{page}")
    assert shown.status_code == 200
    assert "verdict" in shown.text
    assert client.get(f"/builds/none/{page}").status_code == 404
    assert client.send(f"{sparse}/{page}", {"opening": "1/4", "lambda": "0.9"}).status_code == 422


def test_the_three_pages_are_accessible_fit_a_phone_and_can_be_pressed(
    open_page: Callable[..., Watched], site: Any
) -> None:
    build = site.store.create_build("Dial in", TRIPLE, site.clock(), "tester").id
    watched = open_page(f"/builds/{build}/mixture", width=360)
    page = watched.page
    page.get_by_label("opening: idle").fill("3/4")
    page.get_by_label("what the sensor shows").fill("0,97")
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("strike it out").first.wait_for()
    expect(page.locator("#rounds")).to_contain_text("3/4", use_inner_text=True)
    for name in ("mixture", "balance", "strobe"):
        page.goto(site.at(f"/builds/{build}/{name}"))
        for fold in page.locator("main details").all():
            fold.evaluate("e => { e.open = true; }")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
        assert page.evaluate(TOO_SMALL) == [], name
        report = Axe().run(page)
        assert report.violations_count == 0, (name, report.generate_report())


def test_jets_wanted_go_on_the_shopping_list_and_everything_into_the_record(bench) -> None:
    client, store, home, _ = bench
    response = client.send(f"{home}/mixture/buy", {"ready": "height 2500 m, 5 C"})
    assert response.headers["location"] == f"{home}/shopping"
    assert "to be ready for height 2500 m" in client.get(f"{home}/shopping").text
    for opening, number in (("full", "0.99"), ("3/4", "0.97"), ("1/2", "0.80")):
        client.send(f"{home}/mixture", {"opening": opening, "lambda": number, "speed": "7000"})
    client.send(f"{home}/balance", {"carb1": "22", "carb2": "18", "carb3": "22", "unit": "cmHg"})
    client.send(f"{home}/strobe", {"speed": "4100", "degrees": "26"})
    state = store.state(home.split("/")[-1])
    part = dialled_in_part(engine_of(state), state)
    assert part is not None
    text = printed_part(part, state)
    for said in ("Mixture", "lambda 0.990", "Balance", "Round 1", "under the strobe", "4100"):
        assert said in text


def test_what_the_advice_wants_and_the_drawer_lacks_is_on_the_shopping_list(bench) -> None:
    client, store, *_ = bench
    sizes = (88, 90, 92, 95, 98, 100, 102, 105, 108, 110, 112, 115, 118, 120)
    ones = ", ".join(f'"{size}" = 1' for size in sizes)
    text = TRIPLE.replace('owned = { "98" = 3, "102" = 3, "108" = 3 }', f"owned = {{ {ones} }}")
    assert text != TRIPLE
    at = "2031-03-01T08:00:00+00:00"
    name = store.create_build("One of each", text, at, "tester").id
    fine = {"idle": "0.88", "1/8": "0.88", "1/4": "0.86", "1/2": "0.80", "3/4": "0.74"}
    for opening, number in {**fine, "full": "0.72"}.items():
        client.send(f"/builds/{name}/mixture", {"opening": opening, "lambda": number})
    state = store.state(name)
    page = mixture_of(state)
    assert page.advice is not None
    wanted = jets_wanted(engine_of(state), state)
    assert [w.count for w in wanted if w.item.startswith("main jet")] == [2]  # three, less one
    assert sum(w.count * (w.price or 0) for w in wanted) == pytest.approx(page.advice.money)
    # the map as a table says rich and lean where the map is rich and lean
    head, *rows = map_rows(page)
    marks = {
        (o, row[0]): cell[-1]
        for row in rows
        for o, cell in zip(head[1:], row[1:], strict=False)
        if cell
    }
    for cell in page.advice.after:
        if cell.means_something:
            off = cell.lam / cell.target - 1.0
            mark = "▲" if off > 0.02 else "▼" if off < -0.02 else " "
            assert marks[opening_words(cell.opening), dial_speed(cell.speed_rpm)] == mark


def test_pinking_at_half_throttle_makes_the_proof_at_full_throttle_out(bench) -> None:
    client, store, home, _ = bench
    client.send(f"{home}/mixture", {"opening": "1/2", "speed": "6000", "word": "pinking"})
    state = store.state(home.split("/")[-1])
    (finding,) = findings(engine_of(state), state)
    assert finding.state == "out"
    assert finding.proof == state.readings("mixture")[-1].number


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        ("mixture-bench", ("Start rich", "pinking", "3/4", "round 3")),
        ("balance-bench", ("carburettor 3", "blip", "Carbon monoxide")),
        ("strobe-bench", ("3000", "34.0", "still turning")),
    ],
)
def test_the_bench_sheets_fit_one_page(sheet, said) -> None:
    pages, text = pdf_words(print_blank(sheet, parse_engine_file(TRIPLE), printed_at="2031-03-01"))
    assert pages == 1
    for words in said:
        assert words in text
