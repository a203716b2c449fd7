"""The [marks] table: what can be read on the rotor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from tickover.engine.table import Clash, Table
from tickover.engine.words import Counts
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


class Marks(Table):
    """Which top dead centres the rotor shows."""

    tdc: Annotated[tuple[int, ...] | None, Counts("The list of marked cylinders", 12)] = Field(
        default=None,
        description="Cylinders whose TDC is marked on the rotor; every cylinder if left out, "
        "none if empty.",
    )

    def clashes(self, whole: EngineFile) -> Iterator[Clash]:
        """Only cylinders this engine has can be marked."""
        for i, cylinder in enumerate(self.tdc or ()):
            if cylinder > whole.engine.cylinders:
                yield Clash(
                    ("marks", "tdc", i),
                    InputError(
                        "This engine has no such cylinder", given=str(cylinder),
                        allowed=f"1 to {whole.engine.cylinders}",
                    ),
                )  # fmt: skip
