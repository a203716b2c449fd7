"""Reading an engine file: text to model, or every problem in it at once."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from typing import Any

from pydantic import ValidationError

from tickover.engine.model import EngineFile
from tickover.engine.problems import MOST_PROBLEMS, problems_in
from tickover.engine.source import key_lines
from tickover.errors import EngineFileError, Problem

LARGEST_FILE = 1_000_000
"""Bytes; a real engine file has a few thousand."""

LONGEST_LINE = 4_000
"""Characters; keeps a hostile line from costing more time than it is worth."""

MOST_POINTS = 200
"""Points on one line; the standard reader's time grows with the square of a dotted key's parts."""

MOST_LINES = 20_000
"""Lines; as above."""

_MOST_REPAIRS = 20
_LARGEST_REPAIRED = 50_000
_FOLDER = "This is a folder, not an engine file"
_MORE = Problem(None, "", "There may be more problems; put these right first")
_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")
_TABLE_TWICE = re.compile(r"cannot declare .* twice", re.IGNORECASE)
_UNQUOTED = re.compile(r"(\s*[A-Za-z0-9_.-]+\s*=\s*)([^\s\"'\[{#][^\"'\[{#]*?)(\s*(?:#.*)?)")
_HEADER_LINE = re.compile(r"\s*\[\s*([A-Za-z0-9_.-]+)\s*\]")
_KEY_LINE = re.compile(r"\s*([A-Za-z0-9_.-]+)\s*=")


def load_engine_file(path: str | os.PathLike[str]) -> EngineFile:
    """Read an engine file from disk.

    Parameters
    ----------
    path : path
        A TOML file, UTF-8, up to 1 MB.

    Returns
    -------
    EngineFile

    Raises
    ------
    EngineFileError
        With every problem found; also for a file that is missing, too large, or not text.
    """
    name = os.fspath(path)
    return parse_engine_file(decode_engine_file(_bytes_of(path, name), name), name)


def _bytes_of(path: str | os.PathLike[str], name: str) -> bytes:
    try:
        # Opened without waiting, so that a pipe with nobody at the other end is refused too.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    except FileNotFoundError:
        raise _whole(name, "There is no such file") from None
    except PermissionError:
        what = _FOLDER if os.path.isdir(path) else "This file may not be read"
        raise _whole(name, what) from None
    except (OSError, ValueError) as wrong:
        reason = wrong.strerror if isinstance(wrong, OSError) else str(wrong)
        raise _whole(name, f"This file cannot be opened ({reason})") from None
    try:
        about = os.fstat(handle)
        if stat.S_ISDIR(about.st_mode):
            raise _whole(name, _FOLDER)
        if not stat.S_ISREG(about.st_mode):
            raise _whole(name, "This is not an ordinary file")
        if about.st_size > LARGEST_FILE:
            raise _too_large(name, about.st_size)
        with open(handle, "rb", closefd=False) as file:
            return file.read(LARGEST_FILE + 1)
    except OSError as wrong:
        raise _whole(name, f"This file cannot be read ({wrong.strerror})") from None
    finally:
        os.close(handle)


def decode_engine_file(raw: bytes, name: str = "engine file") -> str:
    """The text of an engine file from its bytes, such as an upload.

    Raises
    ------
    EngineFileError
        If it is too large, not text, or in another encoding than UTF-8.
    """
    if len(raw) > LARGEST_FILE:
        raise _too_large(name, len(raw))
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _whole(name, "This file is saved as UTF-16", allowed="UTF-8 text",
                     instead="it again from the editor, with the encoding UTF-8")  # fmt: skip
    if b"\x00" in raw:
        raise _whole(name, "This is not a text file", allowed="a TOML file in UTF-8")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        problem = Problem(
            line, "", "This line holds a character that is not UTF-8",
            given=raw[max(0, wrong.start - 20) : wrong.start + 20].decode("latin-1").strip(),
            instead="it again from the editor, with the encoding UTF-8",
        )  # fmt: skip
        raise EngineFileError(name, (problem,)) from None


def parse_engine_file(text: str, name: str = "engine file") -> EngineFile:
    """Read an engine file from its text.

    Parameters
    ----------
    text : str
        A TOML document.
    name : str
        What the file is called in error messages.

    Returns
    -------
    EngineFile

    Raises
    ------
    EngineFileError
        With every problem found: line, key, what was given, what is allowed, what to write.

    Examples
    --------
    >>> text = '[engine]\\nname = "Bare"\\nlayout = "single"\\nbore = "61 mm"\\n'
    >>> engine = parse_engine_file(text)
    >>> engine.engine.bore_m
    0.061
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    _check_size(text, name)
    data, text, broken = _read_toml(text, name)
    if data is None:
        raise EngineFileError(name, tuple(broken))
    try:
        found = EngineFile.model_validate(data)
    except ValidationError as wrong:
        lines = key_lines(text)
        problems = broken + problems_in(wrong, lines)
        problems += _clashes_of_the_sound(data, wrong, lines)
        problems.sort(key=lambda problem: (problem.line or 0, problem.key))
        raise EngineFileError(name, _capped(problems)) from None
    if broken:
        raise EngineFileError(name, tuple(broken))
    return found


def _check_size(text: str, name: str) -> None:
    if len(text) > LARGEST_FILE:
        raise _too_large(name, len(text))
    if not text.strip():
        raise _whole(name, "The file is empty", instead="[engine] and its keys below it")
    lines = text.split("\n")
    if len(lines) > MOST_LINES:
        what = f"This file has {len(lines)} lines, too many for an engine file"
        raise _whole(name, what, allowed=f"up to {MOST_LINES} lines")
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            given, allowed = f"{len(line)} characters", f"up to {LONGEST_LINE} characters"
        elif line.count(".") > MOST_POINTS:
            given, allowed = f"{line.count('.')} points", f"up to {MOST_POINTS} points"
        else:
            continue
        what = "This line is too long for an engine file"
        raise EngineFileError(name, (Problem(number, "", what, given=given, allowed=allowed),))


def _read_toml(text: str, name: str) -> tuple[dict[str, Any] | None, str, list[Problem]]:
    """The document, the text it was read from, and what is wrong with it as TOML.

    The reader stops at the first slip. One that can be put right (a missing quote, a key given
    twice) is noted and put right, so that the problems behind it are found in the same go.
    """
    broken: list[Problem] = []
    while True:
        try:
            return tomllib.loads(text), text, broken
        except RecursionError:
            broken.append(Problem(None, "", "This file is nested too deeply to be an engine file"))
            return None, text, broken
        except ValueError as wrong:
            problem, repaired = _syntax_problem(str(wrong), text)
        broken.append(problem)
        if repaired is None:
            return None, text, broken
        if len(broken) >= _MOST_REPAIRS or len(text) > _LARGEST_REPAIRED:
            return None, text, [*broken, _MORE]
        text = repaired


def _syntax_problem(message: str, text: str) -> tuple[Problem, str | None]:
    match = _AT_LINE.search(message)
    told = _AT_LINE.sub("", message).strip() or "it cannot be read"
    lines = text.split("\n")
    if match is None:
        return Problem(None, "", f"This is not TOML ({told})"), None
    number = int(match[1]) if match[1] else _last_written(lines)
    line = lines[number - 1] if number <= len(lines) else ""
    key = _KEY_LINE.match(line)
    name = _table_above(lines, number) + key[1] if key else ""
    if "overwrite" in told.lower():
        lines[number - 1] = ""
        problem = Problem(number, name, "This key is given twice", given=line.strip(),
                          instead="it once")  # fmt: skip
        # Only a key whose value ends on its own line can be struck out without harm.
        return problem, "\n".join(lines) if key else None
    if _TABLE_TWICE.search(told):
        problem = Problem(number, "", "This table is in the file twice", given=line.strip(),
                          instead="its keys under the first one")  # fmt: skip
        return problem, None
    unquoted = _UNQUOTED.fullmatch(line)
    if unquoted is not None:
        value = unquoted[2].rstrip()
        fixed = f'{unquoted[1]}"{value}"{unquoted[3]}'
        if fixed != line and "\\" not in value:
            lines[number - 1] = fixed
            problem = Problem(number, name, "This value needs quotes", given=line.strip(),
                              instead=fixed.split("#")[0].strip())  # fmt: skip
            return problem, "\n".join(lines)
    problem = Problem(number, name, f"This is not TOML ({told[:1].lower()}{told[1:]})",
                      given=line.strip())  # fmt: skip
    return problem, None


def _table_above(lines: list[str], number: int) -> str:
    for line in reversed(lines[: number - 1]):
        header = _HEADER_LINE.match(line)
        if header:
            return f"{header[1]}."
    return ""


def _last_written(lines: list[str]) -> int:
    return max((n for n, line in enumerate(lines, 1) if line.strip()), default=1)


def _clashes_of_the_sound(
    data: dict[str, Any], wrong: ValidationError, lines: dict[tuple[str | int, ...], int]
) -> list[Problem]:
    """What contradicts what among the tables that are sound in themselves."""
    unsound = {error["loc"][0] for error in wrong.errors(include_url=False) if error["loc"]}
    if not unsound or "engine" in unsound:
        return []
    try:
        EngineFile.model_validate({k: v for k, v in data.items() if k not in unsound})
    except ValidationError as clashes:
        return problems_in(clashes, lines)
    return []


def _capped(problems: list[Problem]) -> tuple[Problem, ...]:
    if len(problems) <= MOST_PROBLEMS:
        return tuple(problems)
    return (*problems[:MOST_PROBLEMS], _MORE)


def _whole(name: str, what: str, allowed: str = "", instead: str = "") -> EngineFileError:
    return EngineFileError(name, (Problem(None, "", what, allowed=allowed, instead=instead),))


def _too_large(name: str, size: int) -> EngineFileError:
    problem = Problem(
        None, "", "This file is too large to be an engine file",
        given=f"{size / 1e6:.1f} MB", allowed=f"up to {LARGEST_FILE / 1e6:g} MB",
    )  # fmt: skip
    return EngineFileError(name, (problem,))
