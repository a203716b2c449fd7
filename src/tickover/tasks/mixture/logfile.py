"""Sensor logs as loggers write them: millions of figures, read in a fraction of a second.

A byte scanner walks the file once. It takes decimal points or commas, skips a unit row and empty
cells (they become gaps), and tells line and column of anything else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tickover.errors import FileError

Floats = NDArray[np.float64]

LARGEST_LOG = 300_000_000
"""Bytes; ten hours at 50 Hz with eight columns are about 100 million."""

NEEDED = ("time", "speed", "opening", "lambda")

_USUAL: Mapping[str, tuple[str, ...]] = {
    "time": ("time", "t", "seconds", "time (s)", "time [s]", "timestamp"),
    "speed": ("speed", "rpm", "engine speed", "n", "engine rpm"),
    "opening": ("opening", "throttle", "tps", "throttle position", "throttle (%)"),
    "lambda": ("lambda", "o2", "afr", "a/f", "air fuel ratio", "lambda 1"),
}


@dataclass(frozen=True, slots=True)
class Log:
    """Columns of a log, gaps as not-a-number.

    Parameters
    ----------
    time : array, shape (n,)
        [s]
    speed_rpm : array, shape (n,)
        [rpm]
    opening : array, shape (n,)
        0 to 1 [-]
    lam : array, shape (n,)
        Lambda [-]
    rows_skipped : int
        Rows without a usable time: unit rows, remarks, broken lines.
    """

    time: Floats
    speed_rpm: Floats
    opening: Floats
    lam: Floats
    rows_skipped: int


def read_log(
    source: bytes | Path,
    name: str,
    columns: Mapping[str, str] | None = None,
    stoichiometric_ratio: float = 14.58,
) -> Log:
    """A log from CSV.

    Parameters
    ----------
    source : bytes or Path
    name : str
        How messages call it.
    columns : mapping, optional
        Our name ("time", "speed", "opening", "lambda") to the file's; usual names are found
        without it.
    stoichiometric_ratio : float
        Of the meter's air/fuel scale, if the mixture column holds air/fuel ratios [kg/kg]

    Returns
    -------
    Log

    Raises
    ------
    FileError
        If a column is missing, nothing can be read, or openings go beyond 100 percent.
    """
    raw = source.read_bytes() if isinstance(source, Path) else source
    if len(raw) > LARGEST_LOG:
        raise FileError(
            "The log is too large",
            given=f"{len(raw) / 1e6:.0f} million bytes",
            allowed=f"{LARGEST_LOG / 1e6:.0f} million",
            instead="a shorter ride, or fewer rows a second",
            where=name,
        )
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    header, body = _header(raw, name)
    delimiter = _delimiter(header, name)
    places = _places(header.split(delimiter), columns or {}, name)
    comma = delimiter != "," and _has_decimal_commas(body[:4000])
    order = sorted(range(4), key=lambda k: places[k])
    from tickover.tasks.mixture.logscan import scan

    found, skipped = scan(
        np.frombuffer(body, dtype=np.uint8),
        ord(delimiter),
        ord(",") if comma else ord("."),
        np.array([places[k] for k in order], dtype=np.int64),
    )
    if found.shape[0] < 10:
        raise FileError(
            "The log holds no rows of numbers",
            given=f"{found.shape[0]} rows",
            allowed="a header line, then numbers",
            instead="the file as the logger wrote it",
            where=name,
        )
    table = np.empty_like(found)
    table[:, order] = found
    return _sensible(table, int(skipped), name, stoichiometric_ratio)


def _header(raw: bytes, name: str) -> tuple[str, bytes]:
    start = 0
    for _ in range(30):
        end = raw.find(b"\n", start)
        if end < 0:
            break
        line = raw[start:end].decode("latin-1").strip()
        if sum(c.isalpha() for c in line) > 5 and any(d in line for d in ",;\t"):
            return line, raw[end + 1 :]
        start = end + 1
    raise FileError(
        "The log has no header line",
        allowed="names of columns in the first lines",
        instead="'time,speed,opening,lambda' above the numbers",
        where=name,
    )


def _delimiter(header: str, name: str) -> str:
    counts = {d: header.count(d) for d in (";", "\t", ",")}
    best = max(counts, key=lambda d: counts[d])
    if counts[best] < 3:
        raise FileError(
            "The log has fewer than four columns",
            given=header,
            allowed="columns parted by comma, semicolon or tab",
            instead="time, speed, opening and lambda at least",
            where=name,
        )
    return best


def _places(cells: list[str], columns: Mapping[str, str], name: str) -> list[int]:
    plain = [cell.strip().strip('"').lower() for cell in cells]
    places = []
    for need in NEEDED:
        wanted = (columns[need].strip().lower(),) if need in columns else _USUAL[need]
        here = [i for i, cell in enumerate(plain) if cell in wanted]
        if not here:
            here = [
                i for i, c in enumerate(plain) if c.split("(")[0].split("[")[0].strip() in wanted
            ]
        if not here:
            raise FileError(
                f"The log has no column for {need}",
                given=", ".join(plain),
                allowed="any column you name",
                instead=f"which column holds {need}, such as {need}={plain[0]}",
                where=name,
            )
        places.append(here[0])
    return places


def _has_decimal_commas(body: bytes) -> bool:
    return body.count(b",") > body.count(b".")


def _sensible(table: Floats, skipped: int, name: str, ratio: float) -> Log:
    time, speed, opening, lam = (np.ascontiguousarray(table[:, k]) for k in range(4))
    keep = np.isfinite(time)
    if not keep.all():
        skipped += int((~keep).sum())
        time, speed, opening, lam = time[keep], speed[keep], opening[keep], lam[keep]
    if time.size < 10 or np.count_nonzero(np.diff(time) < 0) > 0.01 * time.size:
        raise FileError(
            "The times of the log do not run forward",
            given=f"{time.size} rows",
            allowed="rising seconds",
            instead="the column with seconds, or the log sorted by time",
            where=name,
        )
    if np.median(np.diff(time)) > 5.0:
        # Milliseconds; nobody logs one row in five seconds and calls it a log.
        time = time / 1000.0
    most = float(np.nanmax(opening)) if np.isfinite(opening).any() else 0.0
    if most > 1.5:
        opening = opening / 100.0
        most /= 100.0
    if most > 1.02:
        raise FileError(
            "The throttle cannot be opened further than full",
            given=f"{100 * most:.0f} %",
            allowed="0 to 100 percent",
            instead="the log again after setting the sensor's closed and full stops",
            where=name,
        )
    middle = float(np.nanmedian(lam)) if np.isfinite(lam).any() else 1.0
    if middle > 5.0:
        lam = lam / ratio
    return Log(time, speed, np.clip(opening, 0.0, 1.0), lam, skipped)
