"""What every table of the engine file has in common.

A new table is a class in a module of its own and one field in `tickover.engine.model.EngineFile`.
It may say which checks fall away without it, which fall away because of what is left out in it,
and what in it contradicts the rest of the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from pydantic import BaseModel, ConfigDict

from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


@dataclass(frozen=True, slots=True)
class FallenAway:
    """A check that cannot be made, and the key whose absence is the reason."""

    check: str
    because: str

    def __str__(self) -> str:
        return f"{self.check}: {self.because} is left out"


@dataclass(frozen=True, slots=True)
class Clash:
    """Something in one table that contradicts another."""

    key: tuple[str | int, ...]
    error: InputError


class ClashError(ValueError):
    """All clashes between the tables of one file."""

    def __init__(self, clashes: tuple[Clash, ...]) -> None:
        self.clashes = clashes
        super().__init__("; ".join(str(clash.error) for clash in clashes))


class Table(BaseModel):
    """Base of the tables: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()
    """The checks that cannot be made when the whole table is left out."""

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """What in this table contradicts the rest of the file."""
        yield from ()

    def fallen_away(self, whole: EngineFile) -> Iterator[FallenAway]:
        """The checks that cannot be made because of what is left out in this table."""
        yield from ()
