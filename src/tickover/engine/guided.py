"""Describing a machine step by step: what is asked, in the order a person knows it.

Each question is one key of the engine file. What a key means is told by the model itself, so the
guide cannot say anything else than the file does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from tickover.engine.editing import Form, KeyPath
from tickover.engine.model import EngineFile
from tickover.engine.table import Table
from tickover.engine.tables.machine import OnlyFor
from tickover.engine.words import Word
from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Question:
    """One key asked for.

    Parameters
    ----------
    path : tuple of str
        ('valves', 'inlet_clearance').
    label : str
        What is asked, in the words of the bench.
    example : str
        As it may be typed.
    form : Form
        How what is typed becomes TOML.
    """

    path: KeyPath
    label: str
    example: str = ""
    form: Form = "value"

    @property
    def name(self) -> str:
        """Its name in a form."""
        return ".".join(self.path)

    @property
    def meaning(self) -> str:
        """What the model says of the key."""
        return _field(self.path).description or ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The words that may be written, where there are only some."""
        if self.form == "yes":
            return ("yes", "no")
        found = _field(self.path).metadata
        return next((each.words for each in found if isinstance(each, Word)), ())


@dataclass(frozen=True, slots=True)
class GuideStep:
    """Some questions that belong together; `why` says what they are good for."""

    key: str
    title: str
    why: str
    questions: tuple[Question, ...]


def applies(question: Question, engine: EngineFile) -> bool:
    """Whether a question means anything for an engine of this layout."""
    machine = engine.engine
    rules = (each for each in _field(question.path).metadata if isinstance(each, OnlyFor))
    return all(each.holds(machine.layout, machine.cylinders) for each in rules)


def _many(*rows: tuple[str, ...]) -> tuple[Question, ...]:
    made = []
    for row in rows:
        path, label, example, form = (*row, *("", "value")[len(row) - 2 :])
        made.append(Question(tuple(path.split(".")), label, example, form))  # type: ignore[arg-type]
    return tuple(made)


STEPS: tuple[GuideStep, ...] = (
    GuideStep(
        "machine", "The machine", "Enough to begin; everything else may follow later.",
        _many(
            ("engine.name", "what it is called", "Shed twin", "words"),
            ("engine.layout", "layout", "inline", "words"),
            ("engine.cylinders", "cylinders", "2", "whole"),
            ("engine.v_angle", "angle between the banks, V only", "60 deg"),
            ("engine.notes", "anything worth knowing about it", "bought as parts", "words"),
        ),
    ),
    GuideStep(
        "firing", "Crank and firing", "Order of work on valves and leads, and the crank dial.",
        _many(
            ("engine.firing_order", "firing order", "1-3-2", "list"),
            ("engine.crank", "parallel twin: crank", "360 deg"),
            ("engine.crankpins", "V or flat: crankpins", "shared", "words"),
            ("engine.firing_angles", "firing angles, where they are not even", "0-240-480",
             "list"),
            ("engine.rotation", "crank turns forward", "clockwise", "words"),
            ("engine.rotation_seen_from", "seen from", "left", "words"),
            ("marks.tdc", "cylinders whose top dead centre is marked", "1-4", "list"),
        ),
    ),
    GuideStep(
        "size", "Bore and stroke", "Swept volume, expected compression, piston drop at timing.",
        _many(
            ("engine.bore", "bore", "61 mm"),
            ("engine.stroke", "stroke", "61.5 mm"),
            ("engine.rod", "rod, eye to eye", "118 mm"),
            ("engine.compression_ratio", "compression ratio", "9.4"),
            ("compression.limit", "compression, least and greatest", "9..12 bar"),
        ),
    ),
    GuideStep(
        "valves", "Valves and clearances", "Verdicts on clearances and what to fit.",
        _many(
            ("valves.inlet", "inlet valves in a cylinder", "1", "whole"),
            ("valves.exhaust", "exhaust valves in a cylinder", "1", "whole"),
            ("valves.adjustment", "set by", "shim over bucket", "words"),
            ("valves.inlet_clearance", "inlet clearance, cold", "0.08..0.13 mm"),
            ("valves.exhaust_clearance", "exhaust clearance, cold", "5-7 thou"),
            ("shims.sizes", "shims that can be bought", "2.00..3.20 mm step 0.05 mm", "sizes"),
            ("shims.price", "price of one", "8", "value"),
            ("blades.set", "feeler blades at hand", "0.03..0.20 mm step 0.01 mm", "sizes"),
        ),
    ),
    GuideStep(
        "cams", "Cam timing", "At which stops of the crank several valves are read at once.",
        _many(
            ("cams.inlet.opens", "inlet opens", "22 deg BTDC", "words"),
            ("cams.inlet.closes", "inlet closes", "54 deg ABDC", "words"),
            ("cams.exhaust.opens", "exhaust opens", "56 deg BBDC", "words"),
            ("cams.exhaust.closes", "exhaust closes", "20 deg ATDC", "words"),
            ("cams.timing_at", "told at the seat, or at a lift", "seat", "words"),
            ("cams.arrangement", "camshafts", "two camshafts", "words"),
        ),
    ),
    GuideStep(
        "ignition", "Ignition", "Spark, timing in three forms, leads, coils.",
        _many(
            ("ignition.kind", "kind", "points", "words"),
            ("ignition.plug_gap", "plug gap", "0.6..0.7 mm"),
            ("ignition.coils", "cylinders of each coil", "1-4, 2-3", "groups"),
            ("ignition.coil_primary", "coil primary, at 20 C", "4.0..4.6 ohm"),
            ("ignition.coil_secondary", "coil secondary, at 20 C", "12..15 kohm"),
            ("ignition.points_gap", "points gap", "0.3..0.4 mm"),
            ("ignition.dwell", "dwell, degrees of the cam", "175..190 deg"),
            ("ignition.static_timing", "static timing before top dead centre", "10 deg"),
            ("ignition.rotor_diameter", "diameter of the marked rim", "100 mm"),
            ("ignition.advance", "advance: rpm and degrees", "1500 10, 3000 34", "pairs"),
        ),
    ),
    GuideStep(
        "oil", "Oil", "Oil in, primed, flowing and under pressure before the first start.",
        _many(
            ("oil.quantity", "how much", "2.9..3.1 l"),
            ("oil.grade", "grade", "20W-50", "words"),
            ("oil.filter", "is there a filter", "yes", "yes"),
            ("oil.flow_line", "taken off to see it flow", "oil line at the head", "words"),
            ("oil.prime_volume", "fills the empty passages", "250..350 ml"),
            ("oil.pressure", "pressure", "3.5..4.5 bar"),
            ("oil.pressure_at_speed", "told for", "4000 rpm"),
            ("oil.pressure_at_oil", "with the oil at", "90 C"),
            ("oil.switch", "oil switch", "pressure", "words"),
        ),
    ),
    GuideStep(
        "fuel", "Fuel and exhaust", "What it takes to fill the bowls, what must flow.",
        _many(
            ("fuel.tap", "fuel tap", "manual", "words"),
            ("fuel.filter", "is there a filter", "yes", "yes"),
            ("fuel.carburettors", "carburettors, where not one each", "2", "whole"),
            ("fuel.bowl_volume", "fuel in one bowl", "60..75 ml"),
            ("fuel.float_height", "float height", "23..25 mm"),
            ("fuel.flow", "must flow", "200 ml/min"),
            ("exhaust.silencers", "silencers", "standard", "words"),
        ),
    ),
    GuideStep(
        "electrics", "Battery and starting", "Cranking, earths, what forbids starting.",
        _many(
            ("battery.volts", "battery", "12 V"),
            ("battery.capacity", "capacity in Ah", "14"),
            ("battery.at_rest", "at rest, least", "12.5 V"),
            ("battery.cranking", "cranking, least", "9.6 V"),
            ("starter.kind", "starter", "electric", "words"),
            ("starter.cranking_speed", "cranking speed", "280..360 rpm"),
            ("interlocks.side_stand", "switch on the side stand", "yes", "yes"),
            ("interlocks.neutral", "neutral switch", "yes", "yes"),
            ("interlocks.clutch", "clutch switch", "yes", "yes"),
        ),
    ),
    GuideStep(
        "road", "Wheels and gears", "Speed in each gear, and the speedometer against it.",
        _many(
            ("wheels.front", "front tyre", "3.25-19", "words"),
            ("wheels.rear", "rear tyre", "110/90-18", "words"),
            ("gearing.primary", "primary, teeth", "58/28", "words"),
            ("gearing.gears", "gears, first to last", "38/14 34/18 30/21 28/24", "ratios"),
            ("gearing.gearbox_sprocket", "gearbox sprocket", "17", "whole"),
            ("gearing.wheel_sprocket", "wheel sprocket", "42", "whole"),
            ("gearing.red_line", "red line", "9000 rpm"),
        ),
    ),
    GuideStep(
        "units", "Units shown", "Both may be typed at any time; these are only for showing.",
        _many(
            ("show.clearance", "clearances", "thou", "words"),
            ("show.pressure", "pressures", "psi", "words"),
            ("show.torque", "torques", "Nm", "words"),
            ("show.temperature", "temperatures", "C", "words"),
            ("show.distance", "distances", "km", "words"),
        ),
    ),
)  # fmt: skip
"""Every step, in the order it is asked. What is not asked here is written in the file itself."""


def guide_step(key: str) -> GuideStep:
    """A step by its key.

    Raises
    ------
    InputError
        There is none.
    """
    for step in STEPS:
        if step.key == key:
            return step
    raise InputError("There is no such step", given=key, allowed=", ".join(s.key for s in STEPS))


@cache
def _field(path: KeyPath) -> Any:
    """The model's own field behind a path."""
    table: type[Table] = EngineFile
    field: Any = None
    for key in path:
        field = next(
            each for name, each in table.model_fields.items() if (each.alias or name) == key
        )
        options = (field.annotation, *getattr(field.annotation, "__args__", ()))
        table = next((o for o in options if isinstance(o, type) and issubclass(o, Table)), table)
    return field
