"""Speedometer and noise on the phone: entered, judged, refused with nothing lost, void then."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

Client = Any
Site = Any
ENGINE = Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml"


@pytest.fixture
def build(site: Site) -> str:
    """A build of the example triple; its id."""
    return str(site.store.create_build("Road triple", ENGINE.read_text(), site.clock(), "t").id)


def wrongs(text: str) -> list[str]:
    return re.findall(r'class="wrong".*?<b>(.*?)</b>', text, re.DOTALL)


def true_speed(text: str) -> tuple[float, float]:
    """The interval of the first reading shown [km/h]."""
    low, high = re.findall(r"True <b>([\d.]+) to ([\d.]+) km/h</b>", text)[0]
    return float(low), float(high)


def gpx(speed_m_s: float, seconds: int) -> bytes:
    """A straight ride north at one speed; a degree of latitude is 111,132 m at 45 degrees."""
    points = "".join(
        f'<trkpt lat="{45 + n * speed_m_s / 111_132:.7f}" lon="8"><time>2031-03-05T10:'
        f"{n // 60:02d}:{n % 60:02d}Z</time></trkpt>"
        for n in range(seconds)
    )
    head = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    return f"{head}{points}</trkseg></trk></gpx>".encode()


def test_a_mile_between_two_posts_is_kept_and_judged(
    client: Client, site: Site, build: str
) -> None:
    home = f"/builds/{build}/speed"
    run = {"shown": "60 mph", "way": "1 mi", "time": "66"}
    assert client.send(f"{home}/timed", run).status_code == 303
    text = client.get(home).text
    low, high = true_speed(text)
    assert low < 1609.344 / 66 * 3.6 < high  # a mile in 66 s
    assert high - low < 2.0
    changed = {"what": "tyre changed", "wheel": "rear"}
    assert client.send(f"{home}/changed", changed).status_code == 303
    assert "void since" in client.get(home).text


@pytest.mark.parametrize(
    ("path", "typed", "says"),
    [
        ("timed", {"shown": "60 mph", "way": "", "time": "61.5"}, "all three"),
        ("rolled", {"wheel": "rear", "way": "9.85", "turns": "0"}, ""),
        ("timed", {"shown": "sixty", "way": "1 mi", "time": "61.5"}, ""),
    ],
)
def test_what_cannot_be_meant_is_refused_and_stays(
    client: Client, site: Site, build: str, path: str, typed: dict[str, str], says: str
) -> None:
    answer = client.send(f"/builds/{build}/speed/{path}", typed)
    assert answer.status_code == 422
    assert any(says in words for words in wrongs(answer.text))
    for value in filter(None, typed.values()):
        assert value in answer.text
    assert len(site.store.entries(build)) == 1


def test_a_track_gives_its_steady_stretches_and_is_not_kept(
    client: Client, site: Site, build: str
) -> None:
    home = f"/builds/{build}/speed"
    sent = {"track": ("ride.gpx", gpx(20.0, 90), "application/gpx+xml")}
    answer = client.send(f"{home}/track", {}, files=sent)
    assert answer.status_code == 200
    assert "What did the dial show?" in answer.text
    stretches = re.findall(r'name="(stretch-\d+)" value="([^"]*)"', answer.text)
    assert stretches
    typed = dict(stretches) | {"shown-0": "76 km/h"}
    assert client.send(f"{home}/keep", typed).status_code == 303
    text = client.get(home).text
    low, high = true_speed(text)
    assert low < 72.0 < high  # 20 m/s
    assert high - low < 0.5
    assert "45.0" not in str(site.store.entries(build)[-1].body)  # no place in the book
    for data in (b"", b"<gpx/>", b"\x00\xff" * 50):
        bad = {"track": ("x.gpx", data, "application/gpx+xml")}
        assert client.send(f"{home}/track", {}, files=bad).status_code == 422


def test_noise_is_kept_compared_and_void_after_work(client: Client, site: Site, build: str) -> None:
    home = f"/builds/{build}/noise"
    assert client.get(home).status_code == 200
    reading = {"level": "94.1", "background": "70", "speed": "4500", "silencers": ""}
    assert client.send(home, reading).status_code == 303
    assert "94.1" in client.get(home).text
    assert client.send(home, reading | {"level": "loud"}).status_code == 422
    assert client.send(home, reading | {"level": ""}).status_code == 422
    kept = [e for e in site.store.entries(build) if e.kind == "reading"]
    assert len(kept) == 1


@pytest.mark.parametrize("path", ["speed", "noise"])
def test_a_page_is_accessible_fits_the_screen_and_can_be_pressed(
    open_page: Callable[..., Any], site: Site, build: str, path: str
) -> None:
    page = open_page(f"/builds/{build}/{path}", width=360).page
    page.evaluate(Axe().axe_script)
    found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
    assert [f"{v['id']}: {v['nodes'][0]['html']}" for v in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    low = page.locator("main button").evaluate_all(
        "all => all.filter(b => b.offsetHeight && b.offsetHeight < 48).map(b => b.textContent)"
    )
    assert low == []
