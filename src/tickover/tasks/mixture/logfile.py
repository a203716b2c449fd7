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

_DELIMITERS = (";", "\t", ",")
_HEADER_LINES = 30

_SLOWEST_RPM, _FASTEST_RPM = 300.0, 20000.0
_RICHEST, _LEANEST = 0.5, 1.6
"""What the middle of a log may hold; beyond it another column was taken."""

NEEDED = ("time", "speed", "opening", "lambda")

_USUAL: Mapping[str, tuple[str, ...]] = {
    "time": ("time", "t", "s", "sec", "seconds", "time (s)", "time [s]", "timestamp"),
    "speed": ("speed", "rpm", "engine speed", "n", "engine rpm"),
    "opening": ("opening", "throttle", "tps", "throttle position", "throttle (%)", "thr"),
    "lambda": ("lambda", "lam", "l", "\u03bb", "o2", "afr", "a/f", "air fuel ratio", "lambda 1"),
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
    header, body = _header(raw, columns or {}, name)
    delimiter = _delimiter(header, name)
    places = _places(_cells(header), columns or {}, name)
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


def _header(raw: bytes, columns: Mapping[str, str], name: str) -> tuple[str, bytes]:
    """The line with the names of the columns, and everything below it.

    First choice is a line in which all four names stand, however short they are ('t;n;TPS;l').
    Otherwise it is the first line of words above a line of as many numbers: its names are not
    guessed at, the message about the missing one asks for them.
    """
    lines = []
    start = 0
    for _ in range(_HEADER_LINES):
        end = raw.find(b"\n", start)
        if end < 0:
            break
        lines.append((_text(raw[start:end]), end + 1))
        start = end + 1
    for line, after in lines:
        if all(_place(_cells(line), need, columns) is not None for need in NEEDED):
            return line, raw[after:]
    for k, (line, after) in enumerate(lines):
        cells = _cells(line)
        below = [_cells(other) for other, _ in lines[k + 1 : k + 4]]
        if _names(cells) and any(_numbers(row) for row in below if len(row) == len(cells)):
            return line, raw[after:]
    for line, after in lines:
        # Nothing but text: the words are taken for names, and the message says what is missing.
        if _names(_cells(line)):
            return line, raw[after:]
    raise FileError(
        "The log has no header line",
        allowed="names of columns in the first lines",
        instead="'time,speed,opening,lambda' above the numbers",
        where=name,
    )


def _text(line: bytes) -> str:
    try:
        return line.decode("utf-8").strip()
    except UnicodeDecodeError:
        return line.decode("latin-1").strip()


def _cells(line: str) -> list[str]:
    best = max(_DELIMITERS, key=line.count)
    return [cell.strip().strip('"').strip().lower() for cell in line.split(best)]


def _names(cells: list[str]) -> bool:
    """Whether these could be names of columns: two or more, letters, and no number among them."""
    lettered = any(c.isalpha() for cell in cells for c in cell)
    return len(cells) > 1 and lettered and not any(_is_number(cell) for cell in cells)


def _numbers(cells: list[str]) -> bool:
    """Whether this is a row of the log: numbers, and gaps between them."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and all(_is_number(cell) for cell in filled)


def _is_number(cell: str) -> bool:
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return True


def _delimiter(header: str, name: str) -> str:
    best = max(_DELIMITERS, key=header.count)
    if header.count(best) < 3:
        raise FileError(
            "The log has fewer than four columns",
            given=header,
            allowed="columns parted by comma, semicolon or tab",
            instead="time, speed, opening and lambda logged together: a mixture says nothing "
            "without the opening and the speed it was read at",
            where=name,
        )
    return best


def _place(cells: list[str], need: str, columns: Mapping[str, str]) -> int | None:
    wanted = (columns[need].strip().lower(),) if need in columns else _USUAL[need]
    here = [i for i, cell in enumerate(cells) if cell in wanted]
    if not here:
        here = [i for i, c in enumerate(cells) if c.split("(")[0].split("[")[0].strip() in wanted]
    return here[0] if here else None


def _places(cells: list[str], columns: Mapping[str, str], name: str) -> list[int]:
    places = []
    for need in NEEDED:
        place = _place(cells, need, columns)
        if place is None:
            raise FileError(
                f"The log has no column for {need}",
                given=", ".join(cells),
                allowed="any column you name",
                instead=f"which column holds {need}, such as {need}={cells[0]}",
                where=name,
            )
        places.append(place)
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
        middle /= ratio
    # All but the fastest twentieth: a spike of the pickup is no reason to refuse a ride.
    fastest = float(np.nanquantile(speed, 0.95)) if np.isfinite(speed).any() else _SLOWEST_RPM
    if not _SLOWEST_RPM <= fastest <= _FASTEST_RPM:
        raise FileError(
            "The column for speed holds no engine speed",
            given=f"{fastest:g} and less",
            allowed=f"{_SLOWEST_RPM:g} to {_FASTEST_RPM:g} rpm",
            instead="which column holds the engine's rpm, such as speed=RPM",
            where=name,
        )
    if not _RICHEST <= middle <= _LEANEST:
        raise FileError(
            "The column for lambda holds no mixture",
            given=f"{middle:g} in the middle",
            allowed=f"lambda {_RICHEST:g} to {_LEANEST:g}, or an air/fuel ratio",
            instead="which column holds lambda or air/fuel, such as lambda=AFR; volts of a sensor "
            "are no mixture",
            where=name,
        )
    return Log(time, speed, np.clip(opening, 0.0, 1.0), lam, skipped)
