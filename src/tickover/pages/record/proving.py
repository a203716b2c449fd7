"""Oil, spark, fuel and the starting circuit in the record: how it is set, what was tried."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.controls import ControlLine, controls_page
from tickover.pages.fuel import fuel_page
from tickover.pages.ignition import ignition_page
from tickover.pages.oil import oil_page
from tickover.pages.proving import ProvingLine, TruthLine
from tickover.pages.record.blocks import Block, Facts, Paragraph, RecordPart, Stated, Table
from tickover.pages.starting import starting_page
from tickover.pages.wording import sentence
from tickover.quantities import show_range


def oil_part(engine: EngineFile, state: State) -> RecordPart | None:
    """What oil, how much, what flow and pressure are to be expected, and what was found."""
    if engine.oil is None:
        return None
    page = oil_page(engine, state)
    relief = engine.oil.relief_pa
    facts = Facts(
        (
            ("expected flow", page.flow),
            ("to prime", page.priming),
            ("viscosity", page.viscosity),
            ("pressure", page.pressure),
            (
                "relief valve",
                show_range(*relief, engine.show.unit("pressure"), "pressure") if relief else "",
            ),
        )
    )
    return _part("oil", "Oil", page.verdict, facts, page.checks, page.switch, "oil switch")


def ignition_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Timing in its three forms, firing order, coils, and what was found."""
    if engine.ignition is None:
        return None
    page = ignition_page(engine, state)
    facts = Facts(
        (
            ("firing order", page.firing_order),
            *((line.title, line.words) for line in page.timings),
            ("coils", "; ".join(page.coils)),
            ("leads", page.leads),
        )
    )
    return _part("ignition", "Spark and timing", page.verdict, facts, page.checks)


def fuel_part(engine: EngineFile, state: State) -> RecordPart | None:
    """From tank to bowls: what it takes to fill, what must flow, and what was found."""
    if engine.fuel is None and engine.exhaust is None:
        return None
    page = fuel_page(engine, state)
    facts = Facts(
        (
            ("to fill the bowls", page.fill),
            ("must flow", page.needed),
            ("exhaust", page.exhaust),
        )
    )
    return _part("fuel", "Fuel, intake and exhaust", page.verdict, facts, page.checks)


def starting_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Battery, earths, stop switch and interlocks, each state that was tried."""
    if engine.battery is None and engine.starter is None and engine.interlocks is None:
        return None
    page = starting_page(engine, state)
    part = _part("starting", "Battery, switches, interlocks", page.verdict, Facts(()), page.checks,
                 page.stop, "stop switch")  # fmt: skip
    blocks = part.blocks
    if page.interlocks:
        blocks = (*blocks, _truth(page.interlocks, "Interlocks, each state tried"))
    return RecordPart(part.key, part.title, blocks)


def controls_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Grip, levers and the cables that were made, with their proof pull."""
    if engine.controls is None and not engine.cables:
        return None
    page = controls_page(engine, state)
    rows = tuple(_row(line) for line in page.lines)
    blocks: list[Block] = [Paragraph(page.verdict, "strong")]
    if rows:
        blocks.append(_readings(rows))
    cables = tuple(
        (sentence(c.name).rstrip("."), c.outer, c.inner, c.spare, c.proof)
        for c in page.cables
        if not c.refused and c.outer
    )
    if cables:
        heads = ("cable", "outer", "inner", "spare travel", "proof pull")
        blocks.append(Table(heads, cables, "Cables as made"))
    return RecordPart("controls", "Controls and cables", tuple(blocks))


def _part(
    key: str,
    title: str,
    verdict: str,
    facts: Facts,
    lines: Sequence[ProvingLine],
    truth: Sequence[TruthLine] = (),
    tried: str = "",
) -> RecordPart:
    blocks: list[Block] = [Paragraph(verdict, "strong")]
    if facts.rows:
        blocks.append(facts)
    if lines:
        blocks.append(_readings(_row(line) for line in lines))
    if truth:
        blocks.append(_truth(truth, f"The {tried}, each state tried"))
    return RecordPart(key, title, tuple(blocks))


def _row(line: ProvingLine | ControlLine) -> tuple[str | Stated, ...]:
    words = sentence(line.title).rstrip(".")
    return words, line.text, line.limits, Stated(line.state, line.state_words)


def _readings(rows: Iterable[tuple[str | Stated, ...]]) -> Table:
    heads = ("check", "found", "limits", "state")
    return Table(heads, tuple(rows), "What was found", (2.2, 2.6, 1.8, 1.3))


def _truth(lines: Sequence[TruthLine], caption: str) -> Table:
    rows = tuple(
        (line.tried, line.must, Stated(line.state, line.state_words), line.text) for line in lines
    )
    return Table(("tried", "must", "state", "found"), rows, caption)
