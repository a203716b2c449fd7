"""Where each key stands in a TOML text: the line numbers that the standard reader does not give.

Only for text that the standard reader accepts; it is scanned again, with a stack of its own so
that nesting costs no recursion. Text that is not TOML gives the lines found up to there.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from dataclasses import dataclass

Path = tuple[str | int, ...]

DEEPEST = 16
"""Levels told apart; what lies deeper gets the line of the level above. No engine file goes there,
and a hostile key of a thousand parts must not cost a million steps."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}#\n]+")
_STRINGS = (
    re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}', re.DOTALL),
    re.compile(r"'''(?:[^']|'{1,2}(?!'))*'{3,5}", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


@dataclass(slots=True)
class _Open:
    """A list or inline table that has not closed yet."""

    mark: str
    path: Path
    count: int = 0


class _LostError(Exception):
    """The text is not what the scanner takes for TOML."""


def key_lines(text: str) -> dict[Path, int]:
    """The line of every table, key and list entry.

    Parameters
    ----------
    text : str
        A TOML document.

    Returns
    -------
    dict
        Path (keys, and positions in lists) to line, counted from 1. A dotted key gives a line to
        each of its parts.

    Examples
    --------
    >>> key_lines('[engine]\\nbore = "61 mm"\\n')[("engine", "bore")]
    2
    """
    scanner = _Scanner(text)
    with suppress(_LostError, tomllib.TOMLDecodeError):
        scanner.document()
    return scanner.lines


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._starts = [match.end() for match in re.finditer("\n", text)]
        self._table_lists: dict[Path, int] = {}

    def document(self) -> None:
        table: Path = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._value(self._record(table, self._key()))
            self._skip(_BLANK)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def _expect(self, mark: str) -> None:
        self._skip(_SPACE)
        if not self.text.startswith(mark, self.at):
            raise _LostError
        self.at += len(mark)

    def _note(self, path: Path, at: int) -> None:
        self.lines.setdefault(path, bisect_right(self._starts, at) + 1)

    def _deeper(self, path: Path, part: str | int, at: int) -> Path:
        """The path one level down, with its line noted."""
        if len(path) >= DEEPEST:
            return path
        path = (*path, part)
        self._note(path, at)
        return path

    def _header(self) -> Path:
        at = self.at
        listed = self.text.startswith("[[", at)
        self.at += 2 if listed else 1
        parts = self._key()
        self._expect("]]" if listed else "]")
        path: Path = ()
        for i, part in enumerate(parts):
            path = self._deeper(path, part, at)
            if listed and i == len(parts) - 1:
                self._table_lists[path] = self._table_lists.get(path, -1) + 1
            if path in self._table_lists:
                path = self._deeper(path, self._table_lists[path], at)
        return path

    def _record(self, table: Path, parts: tuple[str, ...]) -> Path:
        at = self.at - 1
        path = table
        for part in parts:
            path = self._deeper(path, part, at)
        self._expect("=")
        return path

    def _key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self._skip(_SPACE)
            if self._peek() in ('"', "'"):
                quoted = self._string()
                parts.append(str(next(iter(tomllib.loads(f"{quoted} = 0")))))
            else:
                match = _BARE_KEY.match(self.text, self.at)
                if match is None:
                    raise _LostError
                parts.append(match.group())
                self.at = match.end()
            after = self.at
            self._skip(_SPACE)
            if self._peek() != ".":
                self.at = after
                return tuple(parts)
            self.at += 1

    def _string(self) -> str:
        for pattern in _STRINGS:
            match = pattern.match(self.text, self.at)
            if match is not None:
                self.at = match.end()
                return match.group()
        raise _LostError

    def _value(self, path: Path) -> None:
        """Step over one value; open lists and inline tables wait on a stack."""
        open_ones: list[_Open] = []
        while True:
            self._skip(_BLANK)
            mark = self._peek()
            if mark and mark in "[{":
                self.at += 1
                open_ones.append(_Open(mark, path))
            elif mark and mark in "\"'":
                self._string()
            elif (match := _SCALAR.match(self.text, self.at)) is not None:
                self.at = match.end()
            else:
                raise _LostError
            following = self._next_entry(open_ones)
            if following is None:
                return
            path = following

    def _next_entry(self, open_ones: list[_Open]) -> Path | None:
        """The path of the entry that follows, with all that closes before it closed."""
        while open_ones:
            innermost = open_ones[-1]
            self._skip(_BLANK)
            mark = self._peek()
            if mark == ",":
                self.at += 1
            elif mark == ("]" if innermost.mark == "[" else "}"):
                self.at += 1
                open_ones.pop()
            elif innermost.mark == "[":
                innermost.count += 1
                return self._deeper(innermost.path, innermost.count - 1, self.at)
            else:
                return self._record(innermost.path, self._key())
        return None
