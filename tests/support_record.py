"""For tests of parts of the build record: a part drawn on paper and in HTML, as text."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

from pypdf import PdfReader

from tickover.book.chain import BuildRow, first_row
from tickover.book.state import State
from tickover.pages.record.assembled import build_record, record_data
from tickover.pages.record.blocks import RecordPart
from tickover.paper.typeset import typeset

ROW: BuildRow = first_row("shed-x", "Shed build", "2031-01-01T00:00:00Z", "tester")


def pdf_words(pdf: bytes) -> tuple[int, str]:
    """Number of pages and all words of a PDF."""
    reader = PdfReader(io.BytesIO(pdf))
    return len(reader.pages), " ".join(" ".join(p.extract_text().split()) for p in reader.pages)


def printed_part(part: RecordPart, state: State) -> str:
    """The words of a record that holds this part only, set as accessible PDF."""
    record = replace(build_record(ROW, state), parts=(part,))
    data: dict[str, Any] = record_data(record) | {"held": []}
    return pdf_words(typeset("build-record", data))[1]
