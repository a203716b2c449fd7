"""Recordings from files, and files that are none."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tickover.errors import FileError
from tickover.tasks.listen import reading
from tickover.tasks.listen.reading import read_bytes, read_recording, write_wav

RATE = 16_000
WAVE = (0.4 * np.sin(2 * np.pi * 220.0 * np.arange(2 * RATE) / RATE)).astype(np.float32)


@pytest.mark.parametrize(
    ("suffix", "kind", "subtype", "close"),
    [("wav", "WAV", "PCM_16", 1e-4), ("wav", "WAV", "FLOAT", 1e-7),
     ("flac", "FLAC", "PCM_24", 1e-6),
     ("ogg", "OGG", "VORBIS", 0.05), ("mp3", "MP3", "MPEG_LAYER_III", 0.05)],
)  # fmt: skip
def test_every_kind_is_read(
    tmp_path: Path, suffix: str, kind: str, subtype: str, close: float
) -> None:
    path = tmp_path / f"idle.{suffix}"
    soundfile.write(path, WAVE, RATE, format=kind, subtype=subtype)
    found = read_recording(path)
    assert found.rate == RATE
    assert found.duration_s == pytest.approx(2.0, abs=0.1)
    assert found.samples.dtype == np.float32
    if suffix != "mp3":  # an MP3 coder shifts the samples
        assert np.max(np.abs(found.samples[500:30_000] - WAVE[500:30_000])) < close
    assert np.std(found.samples[2000:30_000]) == pytest.approx(0.4 / np.sqrt(2), rel=0.03)


def test_channels_are_averaged(tmp_path: Path) -> None:
    path = tmp_path / "two.wav"
    soundfile.write(path, np.stack([WAVE, np.zeros_like(WAVE)], axis=1), RATE, subtype="FLOAT")
    assert np.allclose(read_recording(path).samples, WAVE / 2, atol=1e-6)


def test_written_wav_says_synthetic_inside(tmp_path: Path) -> None:
    path = tmp_path / "made.wav"
    write_wav(path, WAVE, RATE, "synthetic: computed, not recorded from an engine")
    assert b"synthetic" in path.read_bytes()
    assert np.max(np.abs(read_recording(path).samples - WAVE)) < 1e-4


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        read_recording(tmp_path / "none.wav")


@pytest.mark.parametrize("content", [b"", b"RIFF", b"hello, this is text" * 100, bytes(5000)])
def test_what_is_no_recording(content: bytes) -> None:
    with pytest.raises(FileError, match="WAV, FLAC, OGG and MP3"):
        read_bytes(content, "idle.wav")


def test_a_telephone_recording_is_told_the_way_out() -> None:
    with pytest.raises(FileError, match=r"ffmpeg.*page"):
        read_bytes(b"\x00\x00\x00\x20ftypM4A " + bytes(500), "idle.m4a")


def test_an_empty_recording(tmp_path: Path) -> None:
    path = tmp_path / "empty.wav"
    soundfile.write(path, np.zeros(0, dtype=np.float32), RATE)
    with pytest.raises(FileError, match="empty"):
        read_recording(path)


def test_too_long_and_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "long.wav"
    soundfile.write(path, WAVE, RATE)
    monkeypatch.setattr(reading, "LONGEST_S", 1.0)
    with pytest.raises(FileError, match="too long"):
        read_recording(path)
    monkeypatch.setattr(reading, "LARGEST_BYTES", 1000)
    with pytest.raises(FileError, match="too large"):
        read_recording(path)
    with pytest.raises(FileError, match="too large"):
        read_bytes(path.read_bytes(), "long.wav")
