"""The [show] table: in which unit each kind of quantity is shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from tickover.engine.fields import FieldReader, written
from tickover.engine.suggest import nearest_word
from tickover.engine.table import Table
from tickover.errors import InputError
from tickover.quantities import UNITS_SHOWN, find_unit, kind_of
from tickover.quantities.units import BY_NAME


@dataclass(frozen=True)
class UnitOf(FieldReader):
    """The name of a unit of one kind; `only` where not all of them make sense to show."""

    kind: str
    only: tuple[str, ...] = ()

    @property
    def units(self) -> tuple[str, ...]:
        """Every unit this may be shown in, as the table of units names them."""
        if self.only:
            return self.only
        dimension = kind_of(self.kind).dimension
        return tuple(unit.name for unit in BY_NAME.values() if unit.dimension == dimension)

    def read(self, value: Any) -> str:
        allowed = ", ".join(f'"{unit}"' for unit in self.units)
        if not isinstance(value, str):
            raise InputError(
                f"The unit for {self.kind} should be a word", given=written(value),
                allowed=allowed,
            )  # fmt: skip
        try:
            found = find_unit(value, self.kind)
        except InputError as wrong:
            near = nearest_word(value, self.units)
            raise InputError(
                wrong.problem, given=value, allowed=allowed,
                instead=f'"{near}" (did you mean that?)' if near else "",
            ) from None  # fmt: skip
        if found.name not in self.units:
            raise InputError(
                f"{self.kind.capitalize()} is not shown in this unit", given=value,
                allowed=allowed,
            )  # fmt: skip
        return found.name

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "examples": list(self.units), "minLength": 1}


_FINE = ("mm", "um", "thou", "in")


def _shown(kind: str, what: str) -> Any:
    return Field(default=UNITS_SHOWN[kind], description=f"Unit in which {what} shown.")


class Show(Table):
    """In which unit each kind of quantity is shown; what is typed keeps its own unit."""

    clearance: Annotated[str, UnitOf("clearance", _FINE)] = _shown("clearance", "clearances are")
    shim: Annotated[str, UnitOf("shim", _FINE)] = _shown("shim", "shims are")
    length: Annotated[str, UnitOf("length", ("mm", "cm", "in"))] = _shown(
        "length", "other lengths are"
    )
    distance: Annotated[str, UnitOf("distance", ("km", "mi"))] = _shown(
        "distance", "distances ridden are"
    )
    road_speed: Annotated[str, UnitOf("road speed")] = _shown("road speed", "road speed is")
    pressure: Annotated[str, UnitOf("pressure")] = _shown("pressure", "pressures are")
    vacuum: Annotated[str, UnitOf("pressure")] = Field(
        default="kPa", description="Unit in which inlet vacuum is shown."
    )
    torque: Annotated[str, UnitOf("torque")] = _shown("torque", "torques are")
    temperature: Annotated[str, UnitOf("temperature", ("C", "F"))] = _shown(
        "temperature", "temperature is"
    )
    volume: Annotated[str, UnitOf("volume")] = _shown("volume", "volumes are")
    mass: Annotated[str, UnitOf("mass")] = _shown("mass", "masses are")
    force: Annotated[str, UnitOf("force")] = _shown("force", "forces are")
    area: Annotated[str, UnitOf("area")] = _shown("area", "areas are")
    flow: Annotated[str, UnitOf("flow")] = _shown("flow", "flows are")
    resistance: Annotated[str, UnitOf("resistance")] = _shown("resistance", "resistances are")
    power: Annotated[str, UnitOf("power")] = _shown("power", "powers are")

    def unit(self, kind: str) -> str:
        """The unit in which a kind is shown; the usual one for kinds this table does not list.

        Parameters
        ----------
        kind : str
            A kind of `tickover.quantities`, or 'vacuum'.

        Returns
        -------
        str

        Examples
        --------
        >>> Show(clearance="thou").unit("clearance")
        'thou'
        >>> Show().unit("voltage")
        'V'
        """
        name = kind.replace(" ", "_")
        if name in type(self).model_fields:
            return str(getattr(self, name))
        return UNITS_SHOWN[kind_of(kind).name]
