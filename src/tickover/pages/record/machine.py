"""The machine: what the engine file says it is, drawn from above."""

from __future__ import annotations

import math

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing import plan_view
from tickover.pages.record.blocks import Block, Drawing, Facts, Paragraph, RecordPart
from tickover.pages.wording import count_words
from tickover.quantities import show


def machine_part(engine: EngineFile, state: State) -> RecordPart:
    """Layout, sizes, firing and what the engine file notes."""
    e = engine.engine
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
            ("layout", f"{e.layout}, {_cylinders(engine)}"),
            ("bore", show(e.bore_m, "mm", "length") if e.bore_m is not None else ""),
            ("stroke", show(e.stroke_m, "mm", "length") if e.stroke_m is not None else ""),
            ("swept volume", swept),
            ("compression ratio", f"{e.compression_ratio:g}" if e.compression_ratio else ""),
            ("firing order", " ".join(map(str, e.firing_order or ()))),
            ("valves", valves),
        )
    )
    blocks: list[Block] = [facts]
    if e.notes:
        blocks.append(Paragraph(e.notes))
    return RecordPart("machine", "The machine", tuple(blocks))


def cover_drawing(engine: EngineFile) -> Drawing:
    """The engine from above, for the first page."""
    e = engine.engine
    return Drawing(
        plan_view(engine, {}, embedded=True),
        f"The engine from above: {e.layout}, {_cylinders(engine)}.",
        width=0.4 if e.cylinders < 4 else 0.55,
    )


def _cylinders(engine: EngineFile) -> str:
    count = engine.engine.cylinders
    return f"{count_words(count)} cylinder{'' if count == 1 else 's'}"
