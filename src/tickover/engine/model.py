"""The engine file as a typed model: one attribute for each table of the TOML.

A further table is a class in a module of its own under `tickover.engine.tables` and one line in
`EngineFile`. Its keys, errors with line numbers, the schema for editors, 'did you mean' and what
falls away without it follow from that line.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated

from pydantic import Field, model_validator

from tickover.engine.places import (
    VALVE_KINDS,
    Place,
    camshaft_name,
    parse_place,
    valve_places,
)
from tickover.engine.table import Clash, ClashError, FallenAway, Table
from tickover.engine.tables.cams import Cams
from tickover.engine.tables.carburettors import Carburettors
from tickover.engine.tables.charging import Charging
from tickover.engine.tables.compression import Compression
from tickover.engine.tables.contacts import ContactTable, Sender, contact_clashes
from tickover.engine.tables.controls import Cable, Controls, cable_clashes
from tickover.engine.tables.driveline import Gearing, Speedometer, Wheels
from tickover.engine.tables.fasteners import Fastener, fastener_clashes
from tickover.engine.tables.fits import Fit, fit_clashes
from tickover.engine.tables.fuel import Exhaust, Fuel
from tickover.engine.tables.ignition import Ignition
from tickover.engine.tables.lists import several
from tickover.engine.tables.loom import Branch, Joint, Switch, Wire, wiring_clashes
from tickover.engine.tables.machine import Engine
from tickover.engine.tables.marks import Marks
from tickover.engine.tables.noise import Noise
from tickover.engine.tables.oil import Oil
from tickover.engine.tables.own import OwnCheck, own_clashes
from tickover.engine.tables.service import Service
from tickover.engine.tables.shims import Blades, Shims
from tickover.engine.tables.show import Show
from tickover.engine.tables.start import FaultWeights, RunIn, Start, run_in_clashes
from tickover.engine.tables.startercables import StarterCable, starter_clashes
from tickover.engine.tables.starting import Battery, Interlocks, Starter
from tickover.engine.tables.valves import Valves
from tickover.engine.tables.wiring import Circuit, Load, Wiring


class EngineFile(Table):
    """One machine and its limits. Everything but [engine] may be left out."""

    engine: Engine = Field(description="The machine: layout, firing, bore and stroke.")
    cams: Cams | None = Field(default=None, description="Cam timing and camshafts.")
    valves: Valves | None = Field(default=None, description="Valves and their clearances.")
    compression: Compression | None = Field(
        default=None, description="Compression and leak-down limits, gauge and tester."
    )
    shims: Shims | None = Field(default=None, description="Shims that can be bought.")
    fits: Annotated[tuple[Fit, ...], several("fits")] = Field(
        default=(), description="Build measurements with their limits."
    )
    fasteners: Annotated[tuple[Fastener, ...], several("fasteners")] = Field(
        default=(), description="What is tightened, how far, in which order."
    )
    controls: Controls | None = Field(default=None, description="Grip, levers and free play.")
    cables: Annotated[tuple[Cable, ...], several("cables")] = Field(
        default=(), description="Cables to be made or proved."
    )
    oil: Oil | None = Field(default=None, description="Oil, its pump and its switch.")
    ignition: Ignition | None = Field(default=None, description="Plugs, coils, timing.")
    fuel: Fuel | None = Field(default=None, description="From the tank to the bowls.")
    carburettors: Carburettors | None = Field(
        default=None, description="Carburettors, their jets and their rack."
    )
    exhaust: Exhaust | None = Field(default=None, description="Open, baffled or standard.")
    battery: Battery | None = Field(default=None, description="The battery and its cables.")
    starter: Starter | None = Field(default=None, description="What turns the engine.")
    starter_cables: Annotated[tuple[StarterCable, ...], several("starter_cables")] = Field(
        default=(), description="What the starter's current passes, there and back."
    )
    interlocks: Interlocks | None = Field(default=None, description="What forbids starting.")
    charging: Charging | None = Field(
        default=None, description="Alternator, regulator, what is drawn at rest."
    )
    contacts: Annotated[tuple[ContactTable, ...], several("contacts")] = Field(
        default=(), description="What each position of a switch joins."
    )
    senders: Annotated[tuple[Sender, ...], several("senders")] = Field(
        default=(), description="Senders and their resistances."
    )
    wheels: Wheels | None = Field(default=None, description="Tyres and their roll-out.")
    gearing: Gearing | None = Field(default=None, description="Primary, gears, final drive.")
    speedometer: Speedometer | None = Field(
        default=None, description="What drives the needle, and what it is made for."
    )
    wiring: Wiring | None = Field(default=None, description="What the loom is made of.")
    circuits: Annotated[tuple[Circuit, ...], several("circuits")] = Field(
        default=(), description="What each fuse protects."
    )
    loads: Annotated[tuple[Load, ...], several("loads")] = Field(
        default=(), description="What takes current, where it is and what feeds it."
    )
    branches: Annotated[tuple[Branch, ...], several("branches")] = Field(
        default=(), description="Stretches of the loom between its points."
    )
    switches: Annotated[tuple[Switch, ...], several("switches")] = Field(
        default=(), description="Switches, relays and the like, by name."
    )
    joints: Annotated[tuple[Joint, ...], several("joints")] = Field(
        default=(), description="Splices and earth studs, by name."
    )
    wires: Annotated[tuple[Wire, ...], several("wires")] = Field(
        default=(), description="What is wanted of single wires: size, colour, number."
    )
    noise: Noise | None = Field(default=None, description="The stationary noise test.")
    checks: Annotated[tuple[OwnCheck, ...], several("checks")] = Field(
        default=(), description="What you want proved besides."
    )
    start: Start = Field(default=Start(), description="The day of the first start.")
    run_in: Annotated[tuple[RunIn, ...], several("run_in")] = Field(
        default=(), description="What to do again after the first start, and when."
    )
    fault_weights: FaultWeights = Field(
        default=FaultWeights(), description="How likely each cause of a fault is, in your hands."
    )
    blades: Blades | None = Field(default=None, description="Feeler blades at hand.")
    marks: Marks = Field(default=Marks(), description="Marks on the rotor.")
    service: Service = Field(default=Service(), description="Intervals and conditions.")
    show: Show = Field(default=Show(), description="Units shown.")
    # One line for each further table, from a module of its own under tables/.

    @model_validator(mode="after")
    def _tables_agree(self) -> EngineFile:
        clashes = self.all_clashes()
        if clashes:
            raise ClashError(clashes)
        return self

    def tables(self) -> tuple[Table, ...]:
        """The tables this file has, in the order of the model."""
        found = (getattr(self, name) for name in type(self).model_fields)
        return tuple(table for table in found if isinstance(table, Table))

    def all_clashes(self) -> tuple[Clash, ...]:
        """What in one table contradicts another."""
        found = [clash for table in self.tables() for clash in table.clashes(self)]
        for check in (fit_clashes, fastener_clashes, cable_clashes, starter_clashes,
                      wiring_clashes, contact_clashes, run_in_clashes, own_clashes):  # fmt: skip
            found += check(self)
        return tuple(found)

    def fallen_away(self, whole: EngineFile | None = None) -> tuple[FallenAway, ...]:  # type: ignore[override]
        """The checks that cannot be made, each with the key that is left out.

        Returns
        -------
        tuple of FallenAway
            Without repetition, in the order of the tables.

        Examples
        --------
        >>> bare = EngineFile.model_validate({"engine": {"name": "Bare", "layout": "single"}})
        >>> print(bare.fallen_away()[-1])
        Which two feeler blades to pick up: [blades] is left out
        """
        found: dict[FallenAway, None] = {}
        for name, field in type(self).model_fields.items():
            table = getattr(self, name)
            if isinstance(table, Table):
                found.update(dict.fromkeys(table.fallen_away(self)))
            elif not table:
                missing = _table_class(field.annotation)
                found.update(dict.fromkeys(FallenAway(c, f"[{name}]") for c in missing.FALLS_AWAY))
        return tuple(found)

    @cached_property
    def _valve_places(self) -> tuple[Place, ...]:
        if self.valves is None:
            return ()
        arrangement = self.cams.arrangement if self.cams else None
        return valve_places(
            self.engine.cylinders, self.valves.inlet, self.valves.exhaust,
            lambda kind, n: camshaft_name(arrangement, kind, n, self.engine.bank_of(n)),
        )  # fmt: skip

    def places(self) -> tuple[Place, ...]:
        """The valves in engine order: cylinder by cylinder, inlets first; none without [valves]."""
        return self._valve_places

    def place(self, text: str) -> Place:
        """The valve somebody means; InputError with the list of places if there is none such."""
        return parse_place(text, self.places())

    def camshafts(self) -> tuple[str, ...]:
        """The camshafts by name, in the order of the places they drive; none if not known."""
        return tuple(dict.fromkeys(p.camshaft for p in self.places() if p.camshaft))

    @property
    def system_volts(self) -> float:
        """Nominal voltage of the machine [V]: the battery's, 12 V where none is described."""
        return self.battery.volts_v if self.battery is not None else 12.0

    def limits_m(self, place: Place | str) -> tuple[float, float] | None:
        """The clearance limits of a valve, low and high [m]; None where they are left out."""
        at = self.place(place) if isinstance(place, str) else place
        if self.valves is None or at.kind not in VALVE_KINDS:
            return None
        if at.kind == "in":
            return self.valves.inlet_clearance_m
        return self.valves.exhaust_clearance_m

    def marked_cylinders(self) -> tuple[int, ...]:
        """The cylinders whose top dead centre the rotor shows."""
        if self.marks.tdc is None:
            return tuple(range(1, self.engine.cylinders + 1))
        return self.marks.tdc


def _table_class(annotation: object) -> type[Table]:
    """The table class inside ``Cams | None``."""
    options = getattr(annotation, "__args__", (annotation,))
    return next(each for each in options if isinstance(each, type) and issubclass(each, Table))
