"""The listening page: recordings sent, decoded in the page, refused, named, compared, deleted."""

from __future__ import annotations

import io
import itertools
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from support_pages import TOO_SMALL
from tests.support_listen import LABEL, engine_file, engine_sound, hum_file, packed

from tickover.book.bodies import Reading, Work
from tickover.engine import parse_engine_file
from tickover.pages.strobe import readings_in_book
from tickover.tasks.ignition import ADVANCE
from tickover.tasks.listen.in_book import CHECK, IDLE, heard_idle, recordings

ENGINES = Path(__file__).parents[2] / "examples" / "engines"


@pytest.fixture
def build(site: Any) -> str:
    text = (
        '[engine]\nname = "Triple"\nlayout = "inline"\ncylinders = 3\nfiring_order = [1, 3, 2]\n'
        "firing_angles = [0, 240, 480]\n"
    )
    return str(site.store.create_build("Listened triple", text, site.clock(), "tester").id)


def give(client: Any, build: str, content: bytes, name: str = "idle.wav", **typed: str) -> Any:
    return client.send(
        f"/builds/{build}/listen", typed, files={"recording": (name, content, "audio/wav")}
    )


def test_a_weak_cylinder_is_heard_kept_once_named_and_points_to_checks(
    client: Any, site: Any, build: str
) -> None:
    for _ in range(2):  # pressed twice
        answer = give(client, build, engine_file(0.4), about="1000 rpm", once="7" * 32)
        assert answer.status_code == 303, answer.text
    (kept,) = recordings(site.store.state(build))
    assert kept.heard.weak_slot is not None
    assert not kept.synthetic
    with soundfile.SoundFile(io.BytesIO(site.store.get_blob(kept.sha256))) as sound:
        assert (sound.format, sound.channels) == ("FLAC", 1)
    idle = heard_idle(site.store.state(build))
    assert idle is not None
    assert idle.low < 1100 < idle.high
    shown = client.get(f"/builds/{build}/listen").text
    assert "one cylinder is about" in shown
    assert "Which cylinder is it?" in shown
    for words in ("low compression in one cylinder", "plug or cap", "pilot jet", "Clearances"):
        assert words.casefold() in shown.casefold()
    assert "1100" in shown
    entry = str(kept.entry.number)
    wrong = client.send(f"/builds/{build}/listen/weak", {"entry": entry, "cylinder": "9"})
    assert wrong.status_code == 422
    assert "1 to 3" in wrong.text
    named = client.send(
        f"/builds/{build}/listen/weak", {"entry": entry, "cylinder": "2", "way": "wet rag"}
    )
    assert named.status_code == 303
    page = client.get(f"/builds/{build}/listen?entry={entry}").text
    assert "cylinder 2 is about" in page
    # the wheel goes on in the firing order 1 3 2 from the weak one
    names = [page.index(f'<th scope="row">cylinder {n}</th>') for n in (1, 3, 2)]
    weak = kept.heard.weak_slot
    order = sorted(range(3), key=lambda n: names[n])
    assert [(1, 3, 2)[n] for n in order] == [((1, 3, 2) * 2)[(2 - weak + i) % 3] for i in range(3)]


def test_a_proof_by_ear_goes_void_when_jets_are_changed(client: Any, site: Any, build: str) -> None:
    give(client, build, engine_file(1.0))
    address = f"/builds/{build}/check?name={CHECK.replace(' ', '+')}"
    assert "no firing slot stands out as weak" in client.get(address).text
    site.store.append(build, Work("jets changed", ()), at=site.clock(), by="tester")
    assert "stale" in client.get(address).text
    assert "Since then: jets changed" in client.get(f"/builds/{build}/listen").text
    give(client, build, engine_file(1.0, 1200.0))
    shown = client.get(f"/builds/{build}/listen").text
    assert "Done since: jets changed" in shown
    assert "+100 rpm" in shown or "+99 rpm" in shown or "+101 rpm" in shown


def test_a_synthetic_recording_is_labelled_and_proves_nothing(
    client: Any, site: Any, build: str
) -> None:
    give(client, build, engine_file(0.4, label=LABEL))
    (kept,) = recordings(site.store.state(build))
    assert kept.synthetic
    assert heard_idle(site.store.state(build)) is None
    assert "Synthetic: computed" in client.get(f"/builds/{build}/listen").text
    sound = client.get(f"/builds/{build}/listen/{kept.entry.number}.flac")
    assert sound.headers["content-disposition"].count("synthetic")
    with soundfile.SoundFile(io.BytesIO(sound.content)) as again:
        assert "synthetic" in again.copy_metadata()["comment"]
    check = client.get(f"/builds/{build}/check?name={CHECK.replace(' ', '+')}").text
    assert "weaker" not in check


def test_the_strobe_takes_the_idle_that_was_heard_with_its_doubt(client: Any, site: Any) -> None:
    text = (ENGINES / "triple-240.toml").read_text()
    build = site.store.create_build("Strobed", text, site.clock(), "tester").id
    page = f"/builds/{build}/strobe"
    refused = client.send(page, {"speed": "heard", "degrees": "10"})
    assert refused.status_code == 422
    assert "No recording gives the idle speed" in refused.text
    assert "at the idle heard" not in client.get(page).text
    body = Reading(IDLE, "", 18.0, 18.6, "Hz", "heard", "recording")
    site.store.append(build, body, at=site.clock(), by="tester")
    assert "Keep it at the idle heard, 1098 rpm" in client.get(page).text
    for typed in ({"degrees": "10", "at": "heard"}, {"speed": "Heard", "degrees": "11"}):
        assert client.send(page, typed).status_code == 303
    state = site.store.state(build)
    kept = state.readings(ADVANCE)[-1].body
    assert kept.conditions["speed_hz"] == pytest.approx(18.3, abs=0.01)
    (read,) = readings_in_book(parse_engine_file(text), state)
    assert read.degrees == 11.0
    assert read.spread >= 1.0


def test_a_sound_two_builds_share_is_told_before_it_is_gone_from_both(
    client: Any, site: Any, build: str
) -> None:
    give(client, build, engine_file(1.03))
    kept = recordings(site.store.state(build))[-1]
    entry = str(kept.entry.number)
    assert "the same recording" not in client.get(f"/builds/{build}/listen").text
    row, text = site.store.build(build), site.store.state(build).engine_text
    copy = site.store.create_build("A copy of it", text, site.clock(), "tester")
    bodies = [e.body for e in site.store.entries(row.id)[1:]]
    site.store.append(copy.id, bodies, at=site.clock(), by="tester")
    told = client.get(f"/builds/{build}/listen").text
    assert "A copy of it</b> has the same recording" in told
    client.send(f"/builds/{build}/listen/delete", {"entry": entry, "sure": "yes"})
    after = client.get(f"/builds/{copy.id}/listen").text
    assert "no more: it was deleted with another build" in after
    assert "Save the sound" not in after


def test_the_sound_is_deleted_the_analysis_stays_and_says_so(
    client: Any, site: Any, build: str
) -> None:
    give(client, build, engine_file(1.0))
    (kept,) = recordings(site.store.state(build))
    entry = str(kept.entry.number)
    asked = client.send(f"/builds/{build}/listen/delete", {"entry": entry})
    assert asked.status_code == 422
    assert site.store.has_blob(kept.sha256)
    done = client.send(f"/builds/{build}/listen/delete", {"entry": entry, "sure": "yes"})
    assert done.status_code == 303
    assert not site.store.has_blob(kept.sha256)
    shown = client.get(f"/builds/{build}/listen").text
    assert f"The sound of entry {entry} was deleted" in shown
    assert "It idles at" in shown
    assert client.get(f"/builds/{build}/listen/{entry}.flac").status_code == 404
    again = client.send(f"/builds/{build}/listen/delete", {"entry": entry, "sure": "yes"})
    assert again.status_code == 422
    assert "deleted already" in again.text


def lying_header() -> bytes:
    """A WAV that says it is two gigabytes long and holds a tenth of a second."""
    body = packed(engine_sound()[:1600])
    return body[:4] + struct.pack("<I", 2**31) + body[8:40] + struct.pack("<I", 2**31) + body[44:]


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"", "empty.wav", "No recording came along"),
        (b"GIF89a" + b"\0" * 500, "picture.wav", "not a recording Tickover can read"),
        (b"\0\0\0\x18ftypM4A " + b"\0" * 500, "voice.m4a", "lets the telephone decode it"),
        (packed(engine_sound()[:0]), "none.wav", "empty"),
        (packed(engine_sound()[:8000]), "short.wav", "3 s is the least"),
        (lying_header(), "lie.wav", "least"),
        (engine_file()[:3000], "cut.wav", "least"),
        (hum_file(), "hum.wav", "Nothing was written"),
    ],
)
def test_what_is_no_engine_is_told_in_the_same_place_and_nothing_is_kept(
    client: Any, site: Any, build: str, content: bytes, name: str, said: str
) -> None:
    answer = give(client, build, content, name, about="1150")
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="1150"' in answer.text  # nothing typed is lost
    assert recordings(site.store.state(build)) == ()


def test_a_rough_speed_that_is_none_and_unknown_ids_are_told(client: Any, build: str) -> None:
    assert "rough idle speed" in give(client, build, engine_file(), about="fast").text
    assert client.get(f"/builds/{build}/listen?entry=99").status_code == 404
    assert client.get(f"/builds/{build}/listen/99.flac").status_code == 404
    answer = client.send(f"/builds/{build}/listen/delete", {"entry": "99", "sure": "yes"})
    assert answer.status_code == 404


@pytest.mark.parametrize(("kind", "script"), [("WAV", True), ("FLAC", False)])
def test_a_recording_is_given_on_the_phone(
    open_page: Callable[..., Any], site: Any, build: str, kind: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/listen", java_script_enabled=script).page
    content = packed(engine_sound(0.4), kind=kind)
    page.set_input_files("#already", {"name": f"x.{kind}", "mimeType": "", "buffer": content})
    page.get_by_label("it idles at about").fill("1100")
    page.get_by_role("button", name="Listen and keep").click()
    page.wait_for_url("**entry=*")
    expect(page.locator("#verdict")).to_contain_text("one cylinder is about", use_inner_text=True)
    (kept,) = recordings(site.store.state(build))
    assert kept.name == f"x.{kind}"


def test_the_page_itself_decodes_what_the_bench_cannot_read(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    """The browser's own recorder makes WebM with Opus, which soundfile does not read."""
    page = open_page(f"/builds/{build}/listen").page
    made = page.evaluate(
        """async (url) => {
          const context = new AudioContext();
          await context.resume();
          const sound = await context.decodeAudioData(
            Uint8Array.from(atob(url), (c) => c.charCodeAt(0)).buffer);
          const source = context.createBufferSource();
          source.buffer = sound;
          const target = context.createMediaStreamDestination();
          source.connect(target);
          const recorder = new MediaRecorder(target.stream, { mimeType: "audio/webm" });
          const parts = [];
          recorder.ondataavailable = (event) => parts.push(event.data);
          const over = new Promise((done) => { recorder.onstop = done; });
          recorder.start();
          source.start();
          await new Promise((done) => { source.onended = done; });
          recorder.stop();
          await over;
          const file = new File(parts, "voice.webm", { type: "audio/webm" });
          const chosen = new DataTransfer();
          chosen.items.add(file);
          document.getElementById("recording").files = chosen.files;
          return Array.from(new Uint8Array(await file.slice(0, 4).arrayBuffer()));
        }""",
        _base64(packed(engine_sound(0.4, seconds=6.0))),
    )
    assert bytes(made) == b"\x1aE\xdf\xa3"  # EBML: nothing soundfile knows
    page.get_by_role("button", name="Listen and keep").click()
    page.wait_for_url("**entry=*")
    (kept,) = recordings(site.store.state(build))
    assert kept.name == "voice.webm.wav"
    assert kept.heard.idle_rpm is not None
    assert abs(kept.heard.idle_rpm.median / 1100.0 - 1.0) < 0.01


def _base64(content: bytes) -> str:
    import base64

    return base64.b64encode(content).decode()


def test_what_the_browser_cannot_decode_is_told_without_sending(
    open_page: Callable[..., Any], site: Any, build: str
) -> None:
    page = open_page(f"/builds/{build}/listen").page
    page.set_input_files("#already", {"name": "notes.m4a", "mimeType": "", "buffer": b"no sound"})
    page.get_by_role("button", name="Listen and keep").click()
    page.get_by_text("This browser can make no sound").wait_for()
    assert recordings(site.store.state(build)) == ()
    page.set_input_files("#already", {"name": "x.wav", "mimeType": "", "buffer": hum_file()})
    page.get_by_role("button", name="Listen and keep").click()
    page.get_by_text("This recording cannot say").wait_for()
    expect(page.locator("#refused-why")).to_be_visible()


def test_the_page_is_accessible_and_fits_the_screen(
    open_page: Callable[..., Any], client: Any, build: str
) -> None:
    give(client, build, engine_file(1.0, 1200.0))
    give(client, build, engine_file(0.4))
    watched = open_page(f"/builds/{build}/listen")
    page = watched.page
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.evaluate(Axe().axe_script)
    for width, scheme in itertools.product((360, 1280), ("light", "dark")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]][:3]) for v in found] == []
        assert (
            page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            <= 0
        )
        assert page.evaluate(TOO_SMALL) == []
