"""Loose ends: one touch to open and close, two phones, a picture where one helps."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import expect

from tickover.book.bodies import (
    Picture,
)
from tickover.book.photographs import LONGEST_EDGE, kept_picture

TRIPLE = (Path(__file__).parents[2] / "examples/engines/triple-240.toml").read_text()


@pytest.fixture
def build(site: Any) -> str:
    return str(site.store.create_build("Fresh triple", TRIPLE, site.clock(), "tester").id)


def test_a_common_loose_end_is_opened_with_one_touch_and_closed(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    page = open_page(f"/builds/{build}/loose-ends").page
    page.get_by_role("button", name="Oil line off").click()
    page.get_by_role("button", name="Back in place: oil line off").wait_for()
    expect(page.get_by_role("button", name="Oil line off", exact=True)).to_have_count(0)
    page.goto(site.at(f"/builds/{build}/drawer"))
    page.locator("a.loose").click()
    page.get_by_role("button", name="Back in place: oil line off").click()
    page.get_by_text("closed 2031").wait_for()
    assert site.store.state(build).open_loose_ends == ()


def test_a_button_pressed_twice_opens_one_loose_end(client: Any, site: Any, build: str) -> None:
    sent = {"label": "guard off", "once": "5" * 32}
    for _ in range(2):
        assert client.send(f"/builds/{build}/loose-ends", sent).status_code == 303
    assert len(site.store.state(build).loose_ends) == 1


def test_two_phones_closing_the_same_end_are_both_kept_and_said(
    client: Any, site: Any, build: str
) -> None:
    client.send(f"/builds/{build}/loose-ends", {"label": "guard off"})
    end = site.store.state(build).open_loose_ends[0].id
    for phone in ("1" * 32, "2" * 32):
        sent = {"end": end, "once": phone}
        assert client.send(f"/builds/{build}/loose-ends/close", sent).status_code == 303
    assert len(site.store.state(build).loose_ends[0].closed_again) == 1
    text = client.get(f"/builds/{build}/loose-ends").text
    assert "Contradictions in the book" in text
    assert "Closed once more by" in text
    assert client.send(f"/builds/{build}/loose-ends/close", {"end": "0"}).status_code == 404


def photograph(size: tuple[int, int] = (60, 40)) -> bytes:
    """A picture as a phone sends it: lying on its side, with a position and a comment."""
    picture = Image.new("RGB", size, "red")
    picture.paste("blue", (0, 0, size[0] // 2, size[1]))
    data = Image.Exif()
    data[0x0112] = 6  # the camera was turned: shown rotated by a quarter turn
    data[0x010F] = "Invented camera"
    data.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    packed = io.BytesIO()
    picture.save(packed, "JPEG", exif=data, comment=b"seen at home")
    return packed.getvalue()


def test_a_photograph_is_kept_upright_without_position_camera_or_comment() -> None:
    sent = photograph()
    assert b"Invented camera" in sent
    kept = kept_picture(sent)
    with Image.open(io.BytesIO(kept)) as picture:
        assert picture.size == (40, 60)
        assert not picture.getexif()
        assert "comment" not in picture.info
        top, bottom = picture.getpixel((20, 5)), picture.getpixel((20, 55))
        assert top[2] > 200 > bottom[2], "blue, left as it was taken, is on top when upright"
    for secret in (b"Exif", b"Invented camera", b"seen at home"):
        assert secret not in kept


def test_a_large_photograph_is_made_smaller_and_a_clear_png_white() -> None:
    with Image.open(io.BytesIO(kept_picture(photograph((3000, 1500))))) as picture:
        assert max(picture.size) == LONGEST_EDGE
    packed = io.BytesIO()
    Image.new("RGBA", (4, 4), (0, 0, 0, 0)).save(packed, "PNG")
    with Image.open(io.BytesIO(kept_picture(packed.getvalue()))) as picture:
        assert picture.getpixel((1, 1)) == (255, 255, 255)


def send_picture(client: Any, build: str, data: bytes, label: str = "hose off") -> Any:
    return client.send(
        f"/builds/{build}/loose-ends",
        {"label": label},
        files={"picture": ("../../etc/x.jpg", data, "text/html")},
    )


def test_a_picture_is_shown_in_its_build_and_in_no_other(
    client: Any, site: Any, build: str
) -> None:
    assert send_picture(client, build, photograph()).status_code == 303
    name = site.store.state(build).open_loose_ends[0].opened.body.picture
    assert (
        f'src="/builds/{build}/pictures/{name}/small"'
        in client.get(f"/builds/{build}/loose-ends").text
    )
    shown = client.get(f"/builds/{build}/pictures/{name}")
    assert shown.status_code == 200
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["x-content-type-options"] == "nosniff"
    other = site.store.create_build("Other triple", TRIPLE, site.clock(), "tester").id
    assert client.get(f"/builds/{other}/pictures/{name}").status_code == 404
    assert client.get(f"/builds/{build}/pictures/{'0' * 64}").status_code == 404


def test_bytes_that_are_no_picture_are_never_served_as_one(
    client: Any, site: Any, build: str
) -> None:
    name = site.store.put_blob(b"<script>alert(1)</script>")
    site.store.append(build, Picture(name, "text/html"), at=site.clock(), by="tester")
    assert client.get(f"/builds/{build}/pictures/{name}").status_code == 404


@pytest.mark.parametrize(
    "data", [b"<svg/>", b"\xff\xd8\xff\xe0broken", photograph()[:200], b"GIF89a" + b"0" * 40]
)
def test_what_is_no_picture_is_refused_and_the_words_stay(
    client: Any, site: Any, build: str, data: bytes
) -> None:
    answer = send_picture(client, build, data, "breather off")
    assert answer.status_code == 422
    assert 'value="breather off"' in answer.text
    assert site.store.state(build).loose_ends == ()
