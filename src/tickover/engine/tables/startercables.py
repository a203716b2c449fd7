"""[[starter_cables]]: what the starter's current passes from the battery and back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from tickover.engine.fields import Size
from tickover.engine.table import Clash, Table
from tickover.engine.words import Text
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine.model import EngineFile


class StarterCable(Table):
    """One stretch of the starter's way: a cable by length and size, or metal by its resistance."""

    FALLS_AWAY: ClassVar[tuple[str, ...]] = ()

    name: Annotated[str, Text("The name of a starter cable", 40)] = Field(
        description="What it is called: battery to relay."
    )
    length_m: Annotated[
        float | None, Size("The length of a starter cable", "length", 0.02, 5.0, 0.4)
    ] = Field(default=None, alias="length", description="Between its lugs: 420 mm.")
    size: Annotated[str | None, Text("The size", 12)] = Field(
        default=None, description="As it is lying, in mm²: 16; chosen if left out."
    )
    resistance_ohm: Annotated[
        float | None, Size("The resistance of a stretch", "resistance", 1e-5, 0.2, 0.001)
    ] = Field(
        default=None,
        alias="resistance",
        description="In place of length and size: a relay, the frame; drop over current.",
    )


def starter_clashes(whole: EngineFile) -> Iterator[Clash]:
    """A stretch is a cable or a resistance; one name, one stretch."""
    seen: set[str] = set()
    for i, cable in enumerate(whole.starter_cables):
        here = ("starter_cables", i)
        if (cable.length_m is None) == (cable.resistance_ohm is None):
            given = "neither" if cable.length_m is None else "both"
            yield Clash(here, InputError(
                f"{cable.name} is a cable with a length, or a stretch with a resistance",
                given=given, instead='length = "400 mm", or resistance = "0.5 mohm"'),
            )  # fmt: skip
        elif cable.resistance_ohm is not None and cable.size is not None:
            yield Clash((*here, "size"), InputError(
                f"{cable.name} has a resistance, so its size says nothing more", given=cable.size,
                instead="length in place of resistance"))  # fmt: skip
        if cable.name.casefold() in seen:
            yield Clash(
                (*here, "name"), InputError("Two starter cables have this name", given=cable.name)
            )
        seen.add(cable.name.casefold())
    if whole.starter_cables and whole.starter is not None and not whole.starter.electric:
        yield Clash(("starter_cables", 0), InputError(
            "There is no starter motor for this cable", given=whole.starter.kind,
            instead='kind = "both" under [starter]'))  # fmt: skip
