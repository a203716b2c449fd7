"""Recordings from files, and files that are none."""

import io
import tracemalloc
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


def claiming(frames: int, channels: int) -> bytes:
    """A FLAC of a tenth of a second whose head claims to hold so many frames.

    FLAC packs silence to almost nothing, so a small upload may truly unpack to such a length; the
    count stands in the last 36 bits before the checksum of STREAMINFO (RFC 9639, 8.2).
    """
    held = io.BytesIO()
    silence = np.zeros((4800, channels), dtype=np.int16)
    soundfile.write(held, silence, 48_000, format="FLAC", subtype="PCM_16")
    content = bytearray(held.getvalue())
    assert content[:4] == b"fLaC"
    assert content[4] & 0x7F == 0
    place = 8 + 13  # after mark and block head: sizes 10 bytes, rate, channels and depth 28 bits
    content[place] = (content[place] & 0xF0) | (frames >> 32)
    content[place + 1 : place + 5] = (frames & 0xFFFFFFFF).to_bytes(4, "big")
    return bytes(content)


def test_more_values_than_may_be_unpacked_are_refused_before_they_are() -> None:
    frames = reading.MOST_VALUES // 8 + 1
    content = claiming(frames, 8)
    assert len(content) < 20_000
    tracemalloc.start()
    with pytest.raises(FileError, match="too many channels for its length") as told:
        read_bytes(content, "silence.flac")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "8 channels of 313 s" in str(told.value)
    assert peak < 2_000_000  # half a gigabyte, had it been unpacked


def test_the_most_values_are_read_and_one_more_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    held = io.BytesIO()
    soundfile.write(held, np.stack([WAVE, WAVE, WAVE], axis=1), RATE, format="FLAC")
    monkeypatch.setattr(reading, "MOST_VALUES", 3 * WAVE.size)
    assert read_bytes(held.getvalue(), "three.flac").samples.size == WAVE.size
    monkeypatch.setattr(reading, "MOST_VALUES", 3 * WAVE.size - 1)
    with pytest.raises(FileError, match="one or two"):
        read_bytes(held.getvalue(), "three.flac")


def test_no_length_within_the_limits_unpacks_to_more_than_half_a_gigabyte() -> None:
    # What libsndfile hands over is four bytes a value; two channels of the longest pass.
    assert 4 * reading.MOST_VALUES <= 500_000_000
    assert 2 * reading.LONGEST_S * 96_000 <= reading.MOST_VALUES
