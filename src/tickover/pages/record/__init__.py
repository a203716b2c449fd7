"""The build record: what a customer or the next owner is handed, part by part.

Adding a part for a subject:

1. Write `pages/record/SUBJECT.py` with one function

       def SUBJECT_part(engine: EngineFile, state: State) -> RecordPart | None

   made of the blocks in `pages/record/blocks.py`: `Paragraph`, `Subhead`, `Facts`, `Table` (cells
   are text or `Stated(state, word)`), `Drawing` (an SVG complete in itself, with words for those
   who do not see it), `Photograph`, `Listing`, `Caution`, `Verbatim`. Answer None where the book
   and the engine file hold nothing of the subject: no empty parts.
2. Put the function into `PARTS` below, where it belongs in the order of the work.

Nothing else: contents, page numbers, bookmarks, tags for screen readers, A4, Letter and the HTML
file follow from the blocks. Take the sentences from the page object of the subject, so that record
and page cannot disagree (`pages/record/valves.py` is a short example). Begin with the verdict as
`Paragraph(text, "strong")`; readings always stand beside their limits; say what was not measured.
A part that raises InputError is printed as that sentence and takes no other part with it. The
record is told as of the last entry of the book: there is no clock here, use the day of
`state.entries[-1].at` where a day is needed. `tests/support_record.py` checks a part in one line.
"""

from __future__ import annotations

from collections.abc import Callable

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.record.accepted import accepted_part
from tickover.pages.record.blocks import RecordPart
from tickover.pages.record.charging import charging_part
from tickover.pages.record.checks import checks_part
from tickover.pages.record.closing import closing_part, engine_file_part
from tickover.pages.record.compression import compression_part, measured_part
from tickover.pages.record.dialled_in import dialled_in_part
from tickover.pages.record.fasteners import fasteners_part
from tickover.pages.record.fits import fits_part
from tickover.pages.record.listen import listen_part
from tickover.pages.record.machine import machine_part
from tickover.pages.record.proving import (
    controls_part,
    fuel_part,
    ignition_part,
    oil_part,
    starting_part,
)
from tickover.pages.record.road import noise_part, speed_part
from tickover.pages.record.running import run_in_part, starts_part
from tickover.pages.record.story import notes_part, open_part, pictures_part, work_part
from tickover.pages.record.valves import valves_part
from tickover.pages.record.wiring import wiring_part

PartMaker = Callable[[EngineFile, State], RecordPart | None]

PARTS: tuple[PartMaker, ...] = (
    machine_part,
    open_part,
    accepted_part,
    # what was measured and set, in the order of the work
    fits_part,
    fasteners_part,
    valves_part,
    measured_part,
    compression_part,
    controls_part,
    starting_part,
    ignition_part,
    oil_part,
    fuel_part,
    charging_part,
    wiring_part,
    # how it ran
    starts_part,
    dialled_in_part,
    listen_part,
    speed_part,
    noise_part,
    run_in_part,
    # what all of it rests on
    checks_part,
    work_part,
    notes_part,
    pictures_part,
    closing_part,
    engine_file_part,
)
"""Every part of the record, in the order it is read."""
