"""Recordings in and out of files: what soundfile reads, within limits that are told."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tickover.errors import FileError
from tickover.tasks.listen.analysis import LONGEST_S

LARGEST_BYTES = 200 * 1024 * 1024
MOST_VALUES = (
    120_000_000  # of all channels together: what is unpacked at once stays under half a GB
)
READABLE = "WAV, FLAC, OGG and MP3"
M4A_SUFFIXES = (".m4a", ".mp4", ".aac", ".3gp", ".caf")


@dataclass(frozen=True, slots=True)
class Recording:
    """Mono samples, full scale 1, shape (n,), their rate [Hz] and length [s]."""

    samples: NDArray[np.float32]
    rate: float
    duration_s: float


def read_recording(path: Path) -> Recording:
    """Recording from a file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Recording

    Raises
    ------
    FileError
        If the file is missing, too large, too long or not a recording; says what to do.
    """
    if not path.is_file():
        raise FileError("There is no such file", given=str(path), where=str(path))
    size = path.stat().st_size
    if size > LARGEST_BYTES:
        raise FileError(
            "The recording is too large",
            given=f"{size / 2**20:.0f} MB",
            allowed=f"up to {LARGEST_BYTES // 2**20} MB",
            instead="a piece of 20 to 60 s",
            where=path.name,
        )
    return read_bytes(path.read_bytes(), path.name)


def read_bytes(content: bytes, name: str) -> Recording:
    """Recording from the bytes of a file, as from an upload.

    Parameters
    ----------
    content : bytes
    name : str
        For messages only; the kind of file is told from its bytes.

    Returns
    -------
    Recording

    Raises
    ------
    FileError
        If it is too large, too long, empty or not a recording.
    """
    import soundfile

    if len(content) > LARGEST_BYTES:
        raise FileError(
            "The recording is too large",
            given=f"{len(content) / 2**20:.0f} MB",
            allowed=f"up to {LARGEST_BYTES // 2**20} MB",
            where=name,
        )
    try:
        with soundfile.SoundFile(io.BytesIO(content)) as sound:
            rate, frames = float(sound.samplerate), int(sound.frames)
            if frames > LONGEST_S * rate:
                raise FileError(
                    "The recording is too long",
                    given=f"{frames / rate:.0f} s",
                    allowed=f"up to {LONGEST_S:.0f} s",
                    instead="a piece of 20 to 60 s",
                    where=name,
                )
            if frames * sound.channels > MOST_VALUES:
                raise FileError(
                    "The recording has too many channels for its length",
                    given=f"{sound.channels} channels of {frames / rate:.0f} s",
                    allowed="one or two",
                    instead="one channel of 20 to 60 s",
                    where=name,
                )
            samples = sound.read(int(LONGEST_S * rate) + 1, dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as problem:
        raise _not_readable(name, content) from problem
    if samples.shape[0] == 0:
        raise FileError("The recording is empty", where=name)
    mono = np.ascontiguousarray(samples.mean(axis=1, dtype=np.float32))
    return Recording(mono, rate, mono.size / rate)


def _not_readable(name: str, content: bytes) -> FileError:
    phone = Path(name).suffix.lower() in M4A_SUFFIXES or content[4:8] == b"ftyp"
    return FileError(
        "This is not a recording Tickover can read",
        given=name,
        allowed=READABLE,
        instead=(
            "a WAV made from it, for instance: ffmpeg -i recording.m4a recording.wav, or upload "
            "it on the page, which lets the telephone decode it"
            if phone
            else "a WAV exported by the recorder"
        ),
        where=name,
    )


def write_wav(path: Path, samples: NDArray[np.float32], rate: int, comment: str = "") -> None:
    """Write a 16 bit WAV, with a comment inside that says what it is.

    Parameters
    ----------
    path : Path
    samples : array, shape (n,)
        Full scale 1 [1]
    rate : int
        [Hz]
    comment : str
        Kept in the file's own header.
    """
    import soundfile

    with soundfile.SoundFile(
        str(path), "w", samplerate=rate, channels=1, subtype="PCM_16", format="WAV"
    ) as sound:
        if comment:
            sound.comment = comment
            sound.title = "Synthetic" if "synthetic" in comment else ""
        sound.write(samples)
