"""Pictures on the pages: attached from the note and the check, shown, struck out, refused."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image

from tickover.book.bodies import Note, Picture

OWN = '[engine]\nname = "Single"\nlayout = "single"\n[[checks]]\nname = "chain cover on"\n'


def photograph(colour: str = "red") -> bytes:
    packed = io.BytesIO()
    data = Image.Exif()
    data.get_ifd(0x8825)[1] = "N"
    Image.new("RGB", (640, 480), colour).save(packed, "JPEG", exif=data)
    return packed.getvalue()


@pytest.fixture
def build(site: Any) -> str:
    return str(site.store.create_build("Single", OWN, site.clock(), "tester").id)


def bodies(site: Any, build: str) -> list[Any]:
    return [entry.body for entry in site.store.state(build).live][1:]


def test_a_note_takes_a_picture_along_and_the_book_shows_it_once(
    client: Any, site: Any, build: str
) -> None:
    for _ in range(2):  # pressed twice
        answer = client.send(
            f"/builds/{build}/note",
            {"note": "cracked boss", "once": "5" * 32},
            files={"picture": ("x.jpg", photograph(), "image/jpeg")},
        )
        assert answer.status_code == 303
    note, picture = bodies(site, build)
    assert note == Note("cracked boss")
    assert (picture.caption, picture.media_type) == ("cracked boss", "image/jpeg")
    assert site.store.state(build).pictures(site.store.state(build).notes()[0].id)
    shown = client.get(f"/builds/{build}/book").text
    assert shown.count(f"/pictures/{picture.sha256}/small") == 1
    small = client.get(f"/builds/{build}/pictures/{picture.sha256}/small")
    with Image.open(io.BytesIO(small.content)) as seen:
        assert seen.size == (480, 360)
        assert not seen.getexif()


def test_a_picture_alone_is_enough_for_a_note_and_nothing_is_not(
    client: Any, site: Any, build: str
) -> None:
    sent = {"picture": ("x.jpg", photograph(), "image/jpeg")}
    assert client.send(f"/builds/{build}/note", {"note": ""}, files=sent).status_code == 303
    assert [type(body) for body in bodies(site, build)] == [Picture]
    refused = client.send(f"/builds/{build}/note", {"note": " "})
    assert refused.status_code == 422
    assert "a few words, or a picture" in refused.text


def test_a_refused_picture_keeps_the_words_and_writes_nothing(
    client: Any, site: Any, build: str
) -> None:
    sent = {"picture": ("x.heic", b"\0\0\0\x18ftypheic" + bytes(90), "image/heic")}
    for path, field in (("note", "note"), ("pictures", "caption")):
        answer = client.send(f"/builds/{build}/{path}", {field: "the crack"}, files=sent)
        assert answer.status_code == 422
        assert 'value="the crack"' in answer.text
        assert "JPEG" in answer.text
    assert bodies(site, build) == []


@pytest.mark.parametrize("script", [True, False])
def test_a_picture_of_a_check_is_taken_and_seen_in_the_gallery(
    open_page: Any, site: Any, build: str, tmp_path: Path, script: bool
) -> None:
    target = tmp_path / "cover.jpg"
    target.write_bytes(photograph("green"))
    path = f"/builds/{build}/check?name=chain%20cover%20on"
    page = open_page(path, java_script_enabled=script).page
    page.get_by_text("Add a picture of it").click()
    block = page.locator("#pictures")
    block.get_by_label("photograph").set_input_files(target)
    block.get_by_label("what it shows").fill("seen from the left")
    block.get_by_role("button", name="Keep this picture").click()
    page.locator("#pictures img").wait_for()
    assert site.store.state(build).pictures("chain cover on")
    page.goto(site.at(f"/builds/{build}/pictures"))
    image = page.get_by_alt_text("Photograph: seen from the left")
    image.wait_for()
    assert image.evaluate("i => i.decode().then(() => i.naturalWidth)") == 480
    if script:
        for width, scheme in ((360, "light"), (1280, "dark")):
            page.set_viewport_size({"width": width, "height": 800})
            page.emulate_media(color_scheme=scheme)
            found = Axe().run(page).response["violations"]
            assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
            assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_text("Strike out picture").first.click()
    page.get_by_label("is to go").fill("wrong cover")
    page.get_by_role("button", name="Strike out picture").click()
    page.get_by_text("No photograph yet.").wait_for()
    assert site.store.state(build).pictures() == ()


def test_a_picture_is_deleted_for_good_with_its_strike_out(
    client: Any, site: Any, build: str
) -> None:
    sent = {"picture": ("x.jpg", photograph("purple"), "image/jpeg")}
    home = f"/builds/{build}/pictures"
    client.send(home, {"caption": "number plate"}, files=sent)
    entry = site.store.state(build).pictures()[0]
    address = f"{home}/{entry.body.sha256}/small"
    assert client.get(address).status_code == 200
    refused = client.send(f"{home}/strike", {"entry": entry.id, "reason": " ", "gone": "yes"})
    assert refused.status_code == 422
    assert site.store.has_blob(entry.body.sha256)
    form = {"entry": entry.id, "reason": "shows a number plate", "gone": "yes"}
    assert client.send(f"{home}/strike", form).status_code == 303
    assert not site.store.has_blob(entry.body.sha256)
    assert client.get(address).status_code == 404
    assert site.store.state(build).is_struck(entry.id)
    assert "shows a number plate" in client.get(f"/builds/{build}/book").text


def test_a_picture_that_another_entry_shows_is_not_deleted_from_under_it(
    client: Any, site: Any, build: str
) -> None:
    sent = {"picture": ("x.jpg", photograph("orange"), "image/jpeg")}
    home = f"/builds/{build}/pictures"
    for caption in ("one", "two"):
        client.send(home, {"caption": caption}, files=sent)
    first = site.store.state(build).pictures()[0]
    form = {"entry": first.id, "reason": "twice", "gone": "yes"}
    answer = client.send(f"{home}/strike", form)
    assert answer.status_code == 422
    assert "Another entry shows the same picture" in answer.text
    assert site.store.has_blob(first.body.sha256)
