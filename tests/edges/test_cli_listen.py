"""`tickover listen`: on files, kept with a build, refused, deleted, and the synthesiser."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
import soundfile
from click.testing import CliRunner, Result
from tests.support_listen import engine_file, engine_sound, hum_file, packed

from tickover.book.store import Store
from tickover.cli import group
from tickover.demo import open_running_demo
from tickover.errors import FileError, InputError
from tickover.tasks.listen.in_book import recordings

ENGINE = str(Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(group, list(arguments), standalone_mode=False, catch_exceptions=False)


@pytest.fixture
def idle(tmp_path: Path) -> str:
    path = tmp_path / "idle.wav"
    path.write_bytes(engine_file(0.4))
    return str(path)


def test_json_has_what_it_promises(idle: str) -> None:
    out = run("listen", idle, "--engine", ENGINE, "--about", "1100", "--json")
    assert out.return_value == 0
    data = json.loads(out.stdout)
    assert data["refused"] is None
    assert set(data["speed_rpm"]) == {"median", "low", "high"}
    assert abs(data["speed_rpm"]["median"] - 1100) < 11
    moment, rpm, confidence = data["track"][40]
    assert 0 < moment < 9
    assert 1000 < rpm < 1200
    assert 0 <= confidence <= 1
    assert 0 < data["variation_percent"] < 3
    assert len(data["slots"]) == 3
    weak = data["slots"][data["weak_slot"]]
    assert weak["interval"][0] <= weak["strength"] <= weak["interval"][1] < 0.7
    assert data["half_orders"]
    assert any("compression" in row["cause"] for row in data["look_at"])
    assert any("carbon monoxide" in words for words in data["cautions"])


@pytest.mark.parametrize("kind", ["FLAC", "OGG", "MP3"])
def test_other_kinds_of_file_say_the_same(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"idle.{kind.lower()}"
    path.write_bytes(packed(engine_sound(0.4), kind=kind))
    data = json.loads(run("listen", str(path), "--engine", ENGINE, "--json").stdout)
    assert abs(data["speed_rpm"]["median"] - 1100) < 11


def test_a_refusal_has_its_reason_and_exit_code_1(tmp_path: Path) -> None:
    path = tmp_path / "hum.wav"
    path.write_bytes(hum_file())
    out = CliRunner().invoke(group, ["listen", str(path), "--engine", ENGINE])
    assert out.exit_code == 1
    assert "This recording cannot say." in out.output
    assert "carbon monoxide" in " ".join(out.output.split())
    data = json.loads(run("listen", str(path), "--engine", ENGINE, "--json").stdout)
    assert data["refused"]["reason"]
    assert data["refused"]["what_to_do"]
    assert data["slots"] is None


def test_an_earlier_recording_is_set_beside_it(idle: str, tmp_path: Path) -> None:
    earlier = tmp_path / "earlier.wav"
    earlier.write_bytes(engine_file(1.0, 1200.0))
    out = run("listen", idle, "--engine", ENGINE, "--earlier", str(earlier), "--json")
    change = json.loads(out.stdout)["comparison"]["idle_rpm"]
    assert change["interval"][0] < -100 < change["interval"][1] < 0
    assert "Against earlier.wav" in run(
        "listen", idle, "--engine", ENGINE, "--earlier", str(earlier)
    ).output  # fmt: skip


def test_with_a_build_it_is_kept_named_and_its_sound_deleted(idle: str, tmp_path: Path) -> None:
    book = str(tmp_path / "b.book")
    text = Path(ENGINE).read_text()
    with Store.open(book) as store:
        build = store.create_build("Triple", text, "2031-03-01T10:00:00Z", "tester").id
    out = run("listen", idle, "--keep", "--where", book)
    assert "recording kept" in out.stderr
    with Store.open(book) as store:
        (kept,) = recordings(store.state(build))
    entry = str(kept.entry.number)
    assert "cylinder 3" in run("listen", "--weak", "3", "--entry", entry, "--where", book).output
    assert "cylinder 3 is about" in run("listen", "--entry", entry, "--where", book).output
    with pytest.raises(InputError, match="no way to find it"):
        run("listen", "--weak", "3", "--way", "guess", "--entry", entry, "--where", book)
    assert "what was heard stays" in run("listen", "--delete", entry, "--where", book).output
    with Store.open(book) as store:
        assert not store.has_blob(kept.sha256)
        assert recordings(store.state(build))[0].deleted is not None
    with pytest.raises(InputError, match="deleted already"):
        run("listen", "--delete", entry, "--where", book)
    with pytest.raises(InputError, match="no such recording"):
        run("listen", "--entry", "99", "--where", book)


def test_the_synthesiser_labels_what_it_writes(tmp_path: Path) -> None:
    path = tmp_path / "made.wav"
    out = run("listen", str(path), "--engine", ENGINE, "--synthesise", "--seconds", "4")
    assert "SYNTHETIC" in out.output
    with soundfile.SoundFile(str(path)) as sound:
        assert "synthetic" in sound.comment
        assert sound.frames == 4 * sound.samplerate
    again = run("listen", str(path), "--engine", ENGINE)
    assert again.output.startswith("SYNTHETIC")
    with pytest.raises(InputError, match="written as WAV"):
        run("listen", str(tmp_path / "made.mp3"), "--engine", ENGINE, "--synthesise")


def test_without_a_file_the_newest_kept_recording_is_told_and_the_others_named(
    tmp_path: Path,
) -> None:
    book = str(tmp_path / "d.book")
    with Store.open(book) as store:
        build = open_running_demo(store)
        first, newest = (kept.entry.number for kept in recordings(store.state(build)))
    out = run("listen", "--where", book)
    assert f"Entry {newest}: " in out.stderr
    assert f"--entry {first}: " in out.stderr
    assert out.stdout == run("listen", "--entry", str(newest), "--where", book).stdout
    bare = tmp_path / "bare.toml"
    bare.write_text('[engine]\nname = "x"\nlayout = "inline"\ncylinders = 4\n')
    other = str(tmp_path / "o.book")
    run("new", "--engine", str(bare), "--where", other)
    with pytest.raises(InputError, match="No recording is kept"):
        run("listen", "--where", other)


def test_what_cannot_be_used_is_told(idle: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="recording is needed"):
        run("listen", "--engine", ENGINE)
    with pytest.raises(FileError, match="no such file"):
        run("listen", str(tmp_path / "none.wav"), "--engine", ENGINE)
    with pytest.raises(InputError, match="kept with a build"):
        run("listen", idle, "--engine", ENGINE, "--keep")
    with pytest.raises(InputError, match="rough idle speed"):
        run("listen", idle, "--engine", ENGINE, "--about", "quick")
    bare = tmp_path / "bare.toml"
    bare.write_text('[engine]\nname = "x"\nlayout = "inline"\ncylinders = 4\n')
    with pytest.raises(InputError, match="when the cylinders fire"):
        run("listen", idle, "--engine", str(bare))


def test_what_a_telephone_makes_needs_ffmpeg_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the way to the program is tried here; a stand-in writes the sound it would."""
    given = tmp_path / "voice.m4a"
    given.write_bytes(b"\0\0\0\x18ftypM4A " + b"\0" * 100)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(FileError, match="need the program ffmpeg"):
        run("listen", str(given), "--engine", ENGINE)
    sound = tmp_path / "decoded.wav"
    sound.write_bytes(engine_file(1.0))
    program = tmp_path / "ffmpeg"
    program.write_text(f'#!/bin/sh\nfor last; do :; done\nexec /bin/cp "{sound}" "$last"\n')
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    data = json.loads(run("listen", str(given), "--engine", ENGINE, "--json").stdout)
    assert abs(data["speed_rpm"]["median"] - 1100) < 11
    program.write_text("#!/bin/sh\nexit 1\n")
    with pytest.raises(FileError, match="can make no sound"):
        run("listen", str(given), "--engine", ENGINE)
