"""What can go wrong, as a tree.

    TickoverError
    |-- InputError (ValueError)         somebody typed or gave something we cannot use
    |   |-- UnitError                   the unit is missing, foreign or ambiguous
    |   |-- EngineFileError             an engine file, with every problem found in it
    |   `-- FileError                   a file that cannot be read as what it should be
    `-- BookError (RuntimeError)        the book cannot be read or written
        |-- BookDamaged                 what is stored is not what was written
        |-- BookNewer                   written by a newer Tickover
        |-- BookBusy                    another writer holds it for too long
        `-- BookUnwritable              full disk, read-only disk, no permission

Every message is built from fields: what was given, what is allowed, what to write instead.
"""

from __future__ import annotations

from dataclasses import dataclass


class TickoverError(Exception):
    """Base of everything Tickover raises on purpose."""


class InputError(TickoverError, ValueError):
    """Something given cannot be used.

    Parameters
    ----------
    problem : str
        What is wrong, as the start of a sentence: "A clearance cannot be negative".
    given : str
        What was given, as it was typed.
    allowed : str
        What is allowed.
    instead : str
        What to write instead, ready to be typed.
    where : str
        The field, file, line or column it stands in.
    """

    def __init__(
        self,
        problem: str,
        *,
        given: str = "",
        allowed: str = "",
        instead: str = "",
        where: str = "",
    ) -> None:
        self.problem = problem
        self.given = given
        self.allowed = allowed
        self.instead = instead
        self.where = where
        super().__init__(str(self))

    def __str__(self) -> str:
        parts = [f"{self.where}: {self.problem}" if self.where else self.problem]
        if self.given:
            shown = self.given if len(self.given) <= 60 else self.given[:57] + "..."
            parts[0] += f": '{shown}'"
        sentence = parts[0].rstrip(".") + "."
        if self.allowed:
            sentence += f" Allowed: {self.allowed.rstrip('.')}."
        if self.instead:
            sentence += f" Write {self.instead.rstrip('.')}."
        return sentence


class UnitError(InputError):
    """A unit is missing, foreign or ambiguous."""


class FileError(InputError):
    """A file cannot be read as what it should be."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in an engine file, with the place to look."""

    line: int | None
    key: str
    problem: str
    given: str = ""
    allowed: str = ""
    instead: str = ""

    def __str__(self) -> str:
        place = f"line {self.line}" if self.line else "file"
        shown = InputError(
            self.problem, given=self.given, allowed=self.allowed, instead=self.instead
        )
        return f"{place}, {self.key}: {shown}" if self.key else f"{place}: {shown}"


class EngineFileError(InputError):
    """An engine file that cannot be used; carries all problems at once."""

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        self.file = file
        self.problems = problems
        super().__init__(f"{len(problems)} problem{'s' if len(problems) != 1 else ''}", where=file)

    def __str__(self) -> str:
        return "\n".join(f"{self.file}, {problem}" for problem in self.problems)


class BookError(TickoverError, RuntimeError):
    """The book cannot be read or written."""


class BookDamaged(BookError):
    """What is stored is not what was written."""


class BookNewer(BookError):
    """The book was written by a newer Tickover."""


class BookBusy(BookError):
    """Another writer holds the book for too long."""


class BookUnwritable(BookError):
    """The disk is full or read-only, or the file may not be written."""
