"""Position logs as phones and receivers write them: GPX 1.1 and NMEA 0183, bytes to arrays."""

from __future__ import annotations

from calendar import timegm
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from tickover.errors import FileError

Floats = NDArray[np.float64]

LARGEST = 100_000_000
"""Bytes of the largest log read: about a day at 10 Hz."""
KNOT = 1852.0 / 3600.0
_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class TrackLog:
    """A log as it was read, nothing left out but what is no fix.

    Parameters
    ----------
    time : array, shape (n,)
        Since 1970 UTC, or since the log's first midnight where it has no date [s]
    lat, lon : array, shape (n,)
        WGS 84 [deg]
    reported : array, shape (n,)
        Speed the receiver itself reports, nan where it does not [m/s]
    piece : array, shape (n,)
        Number of the track piece the log puts a point in.
    notes : tuple of str
        What was passed over while reading, each with its number.
    """

    time: Floats
    lat: Floats
    lon: Floats
    reported: Floats
    piece: NDArray[np.int64]
    notes: tuple[str, ...] = ()


def read_log(data: bytes, name: str) -> TrackLog:
    """A log in either form, told apart by its beginning.

    Parameters
    ----------
    data : bytes
    name : str
        How messages call it.

    Returns
    -------
    TrackLog

    Raises
    ------
    FileError
        Neither form, too large, no fix in it, or XML with a document type or entities of its own.

    Notes
    -----
    Sources: GPX 1.1 schema (trkpt, time; speed under extensions or as in 1.0); NMEA 0183
    sentences RMC and GGA with the exclusive-or of their bytes as checksum.
    Checked in tests/published/test_position_logs.py.
    """
    if len(data) > LARGEST:
        raise FileError("The log is too large", allowed=f"{LARGEST // 10**6} MB", where=name)
    head = data[:4096].removeprefix(b"\xef\xbb\xbf").lstrip()
    if head.startswith(b"<") or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        log = _read_gpx(data, name)
    elif b"$G" in head or b"$B" in head:
        log = _read_nmea(data, name)
    else:
        raise FileError("This is no position log", given=head[:30].decode("latin-1"),
                        allowed="GPX 1.1, or a log of NMEA 0183 sentences", where=name)  # fmt: skip
    if len(log.time) < 2:
        raise FileError("There is no track in this log", given="; ".join(log.notes),
                        allowed="at least two fixes with their time", where=name)  # fmt: skip
    return log


class _Gpx:
    """What expat calls while it goes through a GPX."""

    def __init__(self, parser: Any, refuse: Callable[..., None]) -> None:
        self.parser = parser
        self.lat: list[str] = []
        self.lon: list[str] = []
        self.time: list[str] = []
        self.speed: list[tuple[int, str]] = []
        self.piece: list[int] = []
        self.pieces = 0
        self.inside = False
        self.text = ""
        parser.buffer_text = True
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.StartDoctypeDeclHandler = refuse
        parser.EntityDeclHandler = refuse

    def start(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "trkpt":
            self.inside = True
            self.lat.append(attributes.get("lat", "nan"))
            self.lon.append(attributes.get("lon", "nan"))
            self.time.append("")
            self.piece.append(self.pieces)
        elif name == "trkseg":
            self.pieces += 1
        elif self.inside and name in ("time", "speed"):
            self.text = ""
            self.parser.CharacterDataHandler = self.characters

    def end(self, name: str) -> None:
        name = name.rpartition(":")[2]
        if name == "trkpt":
            self.inside = False
        elif self.parser.CharacterDataHandler is not None:
            self.parser.CharacterDataHandler = None
            if name == "time":
                self.time[-1] = self.text
            else:
                self.speed.append((len(self.time) - 1, self.text))

    def characters(self, text: str) -> None:
        self.text += text


def _read_gpx(data: bytes, name: str) -> TrackLog:
    def refuse(*_: object) -> None:
        raise FileError("This XML declares a document type or entities, which no log needs",
                        allowed="a GPX without <!DOCTYPE ...>", where=name)  # fmt: skip

    parser = expat.ParserCreate()
    found = _Gpx(parser, refuse)
    notes: list[str] = []
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        if not found.lat:
            raise FileError(
                f"This is no GPX that can be read ({expat.errors.messages[error.code]})",
                where=f"{name} line {error.lineno}",
            ) from error
        notes.append(f"the file breaks off or is damaged at line {error.lineno}: read up to there")
    time, bad_times = _times(found.time)
    lat, lon = _numbers(found.lat), _numbers(found.lon)
    reported = np.full(len(time), np.nan)
    if found.speed:
        rows = np.array([row for row, _ in found.speed])
        reported[rows] = _numbers([text for _, text in found.speed])
    keep = np.isfinite(time) & _on_earth(lat, lon)
    if bad_times:
        notes.append(f"{bad_times} points without a time that can be read")
    if (lost := int((~_on_earth(lat, lon)).sum())) > 0:
        notes.append(f"{lost} points without a place on earth")
    piece = np.array(found.piece, dtype=np.int64)
    return TrackLog(time[keep], lat[keep], lon[keep], reported[keep], piece[keep], tuple(notes))


def _on_earth(lat: Floats, lon: Floats) -> NDArray[np.bool_]:
    return (np.abs(lat) <= 90.0) & (np.abs(lon) <= 360.0)


def _numbers(texts: list[str]) -> Floats:
    try:
        return np.array(texts, dtype=np.float64)
    except ValueError:
        return np.array([_number(text) for text in texts], dtype=np.float64)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


def _times(texts: list[str]) -> tuple[Floats, int]:
    """ISO 8601 times [s], nan for what is none, and how many those are."""
    plain = [text.strip().removesuffix("Z") for text in texts]
    if not plain:
        return np.empty(0), 0
    # The fast road takes times in UTC all alike; anything else goes one by one.
    if all(len(text) >= 19 and "+" not in text and text[-6] != "-" for text in plain):
        try:
            stamps = np.array(plain, dtype="datetime64[ms]")
        except ValueError:
            stamps = None
        if stamps is not None:
            seconds: Floats = stamps.astype(np.int64) / 1e3
            return seconds, 0
    found = np.full(len(plain), np.nan)
    for row, text in enumerate(plain):
        try:
            when = datetime.fromisoformat(text)
        except ValueError:
            continue  # counted below
        found[row] = (when if when.tzinfo else when.replace(tzinfo=UTC)).timestamp()
    return found, int(np.isnan(found).sum())


def checksum(sentence: bytes) -> int:
    """Exclusive-or of the bytes between $ and * of a sentence.

    Parameters
    ----------
    sentence : bytes
        Without $ and *.

    Returns
    -------
    int
        0 to 255

    Notes
    -----
    Source: NMEA 0183. Checked in tests/published/test_position_logs.py.

    Examples
    --------
    >>> f"{checksum(b'GPGLL,5300.97914,N,00259.98174,E,125926,A'):02X}"
    '28'
    """
    value, size = int.from_bytes(sentence, "little"), len(sentence)
    while size > 1:  # fold in halves: a byte at a time is five times slower
        half = (size + 1) // 2
        value = (value >> (8 * half)) ^ (value & ((1 << (8 * half)) - 1))
        size = half
    return value


def _read_nmea(data: bytes, name: str) -> TrackLog:
    rmc: list[tuple[float, float, float, float]] = []
    gga: list[tuple[float, float, float, float]] = []
    wrong = no_fix = unread = 0
    days: dict[bytes, int] = {}
    for line in data.split(b"\n"):
        kind = line[3:6]
        if not line.startswith(b"$") or kind not in (b"RMC", b"GGA"):
            continue
        body, star, given = line[1:].rstrip().partition(b"*")
        try:
            if star and checksum(body) != int(given[:2], 16):
                wrong += 1
                continue
            part = body.split(b",")
            if kind == b"RMC":
                if part[2] != b"A":
                    no_fix += 1
                    continue
                if part[9] not in days:
                    days[part[9]] = _day(part[9])
                speed = float(part[7]) * KNOT if part[7] else float("nan")
                rmc.append((days[part[9]] + _clock(part[1]), _degrees(part[3], part[4], 2),
                            _degrees(part[5], part[6], 3), speed))  # fmt: skip
            elif part[6] in (b"", b"0"):
                no_fix += 1
            else:
                gga.append((_clock(part[1]), _degrees(part[2], part[3], 2),
                            _degrees(part[4], part[5], 3), float("nan")))  # fmt: skip
        except (ValueError, IndexError):
            unread += 1
    notes = [
        f"{count} sentences {words}"
        for count, words in (
            (wrong, "with a wrong checksum"), (no_fix, "without a fix"),
            (unread, "that cannot be read"),
        )
        if count
    ]  # fmt: skip
    rows = rmc or gga
    if not rmc and gga:
        rows = _over_midnight(gga)
        notes.append("no RMC sentences: places and times from GGA, without a date")
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return TrackLog(table[:, 0], table[:, 1], table[:, 2], table[:, 3],
                    np.zeros(len(table), dtype=np.int64), tuple(notes))  # fmt: skip


def _day(ddmmyy: bytes) -> int:
    year = int(ddmmyy[4:6])
    century = 1900 if year >= 80 else 2000
    day = datetime(century + year, int(ddmmyy[2:4]), int(ddmmyy[:2]), tzinfo=UTC)
    return timegm(day.timetuple())


def _clock(hhmmss: bytes) -> float:
    return 3600 * int(hhmmss[:2]) + 60 * int(hhmmss[2:4]) + float(hhmmss[4:])


def _degrees(text: bytes, side: bytes, digits: int) -> float:
    value = int(text[:digits]) + float(text[digits:]) / 60.0
    if side not in (b"N", b"S", b"E", b"W"):
        raise ValueError("no side of the equator or of the meridian")
    return -value if side in (b"S", b"W") else value


def _over_midnight(
    rows: list[tuple[float, float, float, float]],
) -> list[tuple[float, float, float, float]]:
    days, before, found = 0, -1.0, []
    for time, lat, lon, speed in rows:
        if time < before - _DAY / 2:
            days += 1
        before = time
        found.append((time + days * _DAY, lat, lon, speed))
    return found
