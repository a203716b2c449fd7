"""Compression and leak-down in the record: every cylinder against what was to be expected."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.building import compression_of, measured_of
from tickover.pages.compression import rule_words
from tickover.pages.drawing.compression_pictures import climb_picture
from tickover.pages.measured import NOTHING_WHEEL
from tickover.pages.record.blocks import (
    Block,
    Drawing,
    Listing,
    Paragraph,
    RecordPart,
    Stated,
    Subhead,
    Table,
)
from tickover.pages.wording import STATE_WORDS, place_words
from tickover.quantities import show
from tickover.tasks.compression.described import CylinderReadings
from tickover.tasks.compression.evenness import rules
from tickover.tasks.compression.in_book import compression_book


def compression_part(engine: EngineFile, state: State) -> RecordPart | None:
    """The climb of the needle, the readings, and what they say; nothing where none was taken."""
    if engine.engine.bore_m is None or engine.engine.stroke_m is None:
        return _readings_alone(engine, state)
    page = compression_of(state)
    if not any(line.reading or line.was or line.leakdown for line in page.lines):
        return None
    blocks: list[Block] = [Paragraph(page.verdict, "strong")]
    if any(reading.dry is not None for reading in page.found.readings):
        blocks.append(
            Drawing(
                climb_picture(page, width=480.0, embedded=True),
                f"How the needle should climb stroke by stroke, and where it stopped on each "
                f"cylinder. {page.verdict}",
                "Band: what is to be expected of this engine on that day. Numbers: cylinders.",
                0.6,
            )
        )
    if page.expected:
        blocks.append(Paragraph(page.expected))
    rows = tuple(
        (
            line.name[:1].upper() + line.name[1:],
            line.reading or (f"was {line.was}, void" if line.was else "not read"),
            line.beside,
            line.leakdown or "not read",
            Stated(line.state, STATE_WORDS[line.state]),
        )
        for line in page.lines
    )
    heads = ("cylinder", "reads", "beside what was expected", "leak-down", "state")
    blocks.append(Table(heads, rows, "Compression, cylinder by cylinder", (1, 1.5, 2.0, 1.5, 1.6)))
    said = [
        f"{line.name[:1].upper()}{line.name[1:]}: {line.sentence}"
        for line in page.lines
        if line.sentence and line.state != "open"
    ]
    if said or page.even:
        blocks.append(Listing((*dict.fromkeys(said), *page.even)))
    blocks += [Paragraph(words, "quiet") for words in page.remarks]
    return RecordPart("compression", "Compression and leak-down", tuple(blocks))


def _readings_alone(engine: EngineFile, state: State) -> RecordPart | None:
    """What was read and how even it is, where the file says too little to expect anything."""
    read = [r for r in compression_book(engine, state).readings if r != CylinderReadings(r.place)]
    if not read:
        return None
    unit = engine.show.unit("pressure")

    def shown(pressure: float | None) -> str:
        return "not read" if pressure is None else show(pressure, unit, "pressure")

    rows = tuple(
        (
            place_words(r.place).capitalize(), shown(r.dry), shown(r.wet),
            "not read" if r.leak_percent is None else f"{r.leak_percent:.0f} %",
        )
        for r in read
    )  # fmt: skip
    lacking = " and ".join(
        name
        for name, value in (("bore", engine.engine.bore_m), ("stroke", engine.engine.stroke_m))
        if value is None
    )
    blocks: list[Block] = [
        Table(("cylinder", "dry", "wet", "leak-down"), rows, "Compression as read",
              (1.2, 1, 1, 1)),
    ]  # fmt: skip
    even = rules({r.place: r.dry for r in read if r.dry is not None})
    if even:
        blocks.append(Listing(tuple(rule_words(rule, unit) for rule in even)))
    blocks.append(
        Paragraph(
            f"The engine file does not say {lacking}: nothing is expected of the gauge, no cause "
            "is named, and work done since is not weighed.",
            "quiet",
        )
    )
    return RecordPart("compression", "Compression and leak-down", tuple(blocks))


def measured_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Ratio by burette and cam timing by degree wheel; nothing where neither was measured."""
    ratio, timing = measured_of(state)
    blocks: list[Block] = []
    if ratio.found or ratio.refused:
        blocks.append(Paragraph(f"{ratio.title}: {ratio.verdict}", "strong"))
        told = engine.engine.compression_ratio
        rows = tuple(
            (
                place_words(f.place).capitalize(),
                f"{1e6 * f.measured.clearance:.2f} cc",
                f"{f.measured.ratio:.2f} +- {f.measured.sd:.2f}",
                "not told" if told is None else f"{told:g}",
                Stated(f.state, STATE_WORDS[f.state]),
            )
            for f in ratio.found
        )
        if rows:
            heads = ("cylinder", "above the piston", "ratio", "by the file", "state")
            blocks.append(Table(heads, rows, "Compression ratio, cylinder by cylinder"))
        blocks += [Paragraph(f"{place_words(p).capitalize()}: {why}") for p, why in ratio.refused]
    if timing.lines:
        blocks.append(Paragraph(f"{timing.title}: {timing.verdict}", "strong"))
        for who, word, words, facts in timing.lines:
            said = (f"{STATE_WORDS[word]}: {words}",) if word else ()
            blocks += [Subhead(who.capitalize()), Listing((*said, *facts))]
    elif timing.verdict != NOTHING_WHEEL:
        blocks.append(Paragraph(f"{timing.title}: {timing.verdict}", "strong"))
    if not blocks:
        return None
    return RecordPart("measured", "Compression ratio and cam timing", tuple(blocks))
