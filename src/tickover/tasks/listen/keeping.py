"""A recording made ready to be kept or sent on: 16 bit mono FLAC, with nothing else in the file."""

from __future__ import annotations

import io
import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from tickover.errors import FileError
from tickover.tasks.listen.reading import M4A_SUFFIXES, Recording, read_bytes

SYNTHETIC = "synthetic"
LONGEST_DECODE_S = 60.0


def kept_bytes(recording: Recording, *, synthetic: bool) -> bytes:
    """The sound as the book keeps it.

    Position, device and time that a telephone writes into its files do not come along.

    Parameters
    ----------
    recording : Recording
    synthetic : bool
        Written into the file, so that it stays labelled wherever it goes.

    Returns
    -------
    bytes
        FLAC, 16 bit, one channel.
    """
    import soundfile

    held = io.BytesIO()
    with soundfile.SoundFile(
        held, "w", samplerate=round(recording.rate), channels=1, subtype="PCM_16", format="FLAC"
    ) as sound:
        if synthetic:
            sound.title = "Synthetic"
            sound.comment = "synthetic: computed, not recorded from an engine"
        sound.write(np.clip(recording.samples, -1.0, 1.0))
    return held.getvalue()


def says_synthetic(content: bytes) -> bool:
    """Whether a file says of itself that it was computed."""
    import soundfile

    try:
        with soundfile.SoundFile(io.BytesIO(content)) as sound:
            words = sound.copy_metadata()
    except (soundfile.LibsndfileError, RuntimeError):
        return False
    return any(SYNTHETIC in str(value).casefold() for value in words.values())


def is_telephone_file(content: bytes, name: str) -> bool:
    """Whether this is what telephones make and soundfile cannot read (m4a and its kin)."""
    return content[4:8] == b"ftyp" or Path(name).suffix.casefold() in M4A_SUFFIXES


def read_telephone_file(content: bytes, name: str) -> Recording:
    """Recording from an m4a or its kin, by the ffmpeg of this machine where there is one.

    Parameters
    ----------
    content : bytes
    name : str
        For messages.

    Returns
    -------
    Recording

    Raises
    ------
    FileError
        There is no ffmpeg, or it can make nothing of the file.
    """
    program = shutil.which("ffmpeg")
    if program is None:
        raise FileError(
            "Files of this kind need the program ffmpeg, and this machine has none",
            given=name,
            allowed="WAV, FLAC, OGG and MP3 without it",
            instead="the recording again as WAV, or give it on the page, where the browser "
            "decodes it",
            where=name,
        )
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "given", Path(folder) / "decoded.wav"
        source.write_bytes(content)
        command = [
            program, "-nostdin", "-loglevel", "error", "-protocol_whitelist", "file",
            "-i", str(source), "-vn", "-ac", "1", "-t", "601", "-c:a", "pcm_s16le", str(target),
        ]  # fmt: skip
        try:
            done = subprocess.run(command, capture_output=True, timeout=LONGEST_DECODE_S)
        except (subprocess.TimeoutExpired, OSError) as problem:
            raise _undecoded(name) from problem
        if done.returncode or not target.is_file():
            raise _undecoded(name)
        return read_bytes(target.read_bytes(), name)


def _undecoded(name: str) -> FileError:
    return FileError(
        "ffmpeg can make no sound of this file", given=name, instead="a recording, whole",
        where=name,
    )  # fmt: skip
