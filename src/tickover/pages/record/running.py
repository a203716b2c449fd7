"""The first start and the running-in in the record: what happened, what was done, what is due."""

from __future__ import annotations

from datetime import date

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.book import entry_words
from tickover.pages.head import head_of
from tickover.pages.record.blocks import Block, Paragraph, RecordPart, Stated, Table
from tickover.pages.runin import run_in_page
from tickover.pages.start import attempt_lines
from tickover.pages.wording import count_words, sentence
from tickover.plan.runin import DISTANCE, HEAT_CYCLE, RUNNING, run_in_plan


def starts_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Every press of the button that was written down, the first one first."""
    lines = tuple(reversed(attempt_lines(state)))
    if not lines:
        return None
    ran = sum(line.outcome == "ran" for line in lines)
    count = f"{count_words(len(lines))} {'try' if len(lines) == 1 else 'tries'}"
    rows = tuple(
        (
            f"{line.at[:10]} {line.at[11:16]}",
            line.outcome,
            "; ".join(line.seen),
            line.note,
            f"{line.by}, entry {line.number}",
        )
        for line in lines
    )
    blocks: list[Block] = [
        Paragraph(sentence(f"{count} written down; it ran in {count_words(ran)}"), "strong"),
        Table(("when", "outcome", "seen", "note", "who"), rows, "Start log", (1.3, 1, 2.4, 2, 1.4)),
    ]
    blocks += [Paragraph(words) for line in lines for words in line.contradictions]
    return RecordPart("starts", "Start log", tuple(blocks))


def run_in_part(engine: EngineFile, state: State) -> RecordPart | None:
    """What it has run, what was done at which mark, and what the next owner does when."""
    today = date.fromisoformat(state.entries[-1].at[:10])
    head = head_of("", engine.engine.name, state)
    page = run_in_page(engine, run_in_plan(engine, state, today), head)
    if page.started is None and not page.done:
        return None
    blocks: list[Block] = [Paragraph(page.sentence, "strong")]
    if page.reached:
        blocks.append(Paragraph(sentence(", ".join(page.reached))))
    rows = tuple(
        (
            sentence(line.name).rstrip("."),
            line.marks,
            Stated({"done": "good", "due": "out", "later": "open"}[line.state], line.state_words),
            line.done or line.when,
        )
        for line in page.lines
    )
    heads = ("step", "at the first of", "state", "when")
    blocks.append(Table(heads, rows, "What is done again, and when", (2.4, 2, 1.1, 2.2)))
    log = tuple(
        (f"{entry.at[:10]}", entry_words(entry, state), f"{entry.by}, entry {entry.number}")
        for entry in state.live
        if getattr(entry.body, "what", "") in (DISTANCE, RUNNING, HEAT_CYCLE)
    )
    if log:
        blocks.append(Table(("when", "what", "who"), log, "Run-in log", (1, 3, 1.5)))
    blocks += [Paragraph(words, "quiet") for words in (*page.notes, *page.conflicts)]
    return RecordPart("run-in", "Running in", tuple(blocks))
