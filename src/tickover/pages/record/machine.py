"""The machine: what the engine file says it is, drawn from above."""

from __future__ import annotations

import math

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing import plan_view
from tickover.pages.record.blocks import Drawing, Facts, RecordPart
from tickover.pages.wording import count_words
from tickover.quantities import show


def machine_part(engine: EngineFile, state: State) -> RecordPart:
    """Layout, sizes, firing and the drawing of the engine."""
    e = engine.engine
    cylinders = f"{count_words(e.cylinders)} cylinder{'' if e.cylinders == 1 else 's'}"
    swept = ""
    if e.bore_m is not None and e.stroke_m is not None:
        litres = math.pi / 4 * e.bore_m**2 * e.stroke_m * e.cylinders
        swept = f"{litres * 1e6:.0f} cc, from bore and stroke"
    valves = ""
    if engine.valves is not None:
        v = engine.valves
        valves = f"{v.inlet} inlet, {v.exhaust} exhaust to a cylinder, {v.adjustment}"
    facts = Facts(
        (
            ("engine", e.name),
            ("layout", f"{e.layout}, {cylinders}"),
            ("bore", show(e.bore_m, "mm", "length") if e.bore_m is not None else ""),
            ("stroke", show(e.stroke_m, "mm", "length") if e.stroke_m is not None else ""),
            ("swept volume", swept),
            ("compression ratio", f"{e.compression_ratio:g}" if e.compression_ratio else ""),
            ("firing order", " ".join(map(str, e.firing_order or ()))),
            ("valves", valves),
        )
    )
    drawing = Drawing(
        plan_view(engine, {}, embedded=True),
        f"The engine from above: {e.layout}, {cylinders}.",
        "Drawn from the engine file.",
        0.5 if e.cylinders < 4 else 0.7,
    )
    return RecordPart("machine", "The machine", (facts, drawing))
