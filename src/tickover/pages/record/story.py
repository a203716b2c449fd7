"""Work, notes, pictures and what is left open: the parts told straight from the book."""

from __future__ import annotations

from tickover.book.bodies import Work
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.book import entry_words
from tickover.pages.building import fitness_of
from tickover.pages.pictures import picture_lines
from tickover.pages.record.blocks import (
    Block,
    Listing,
    Paragraph,
    Photograph,
    RecordPart,
    Stated,
    Table,
)
from tickover.pages.wording import count_words, listed, place_words, sentence
from tickover.plan.fit import LOOSE_END
from tickover.plan.runin import DONE, HEAT_CYCLE


def work_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Everything that was done, in the order it was written down."""
    rows = tuple(
        (entry.at[:10], sentence(entry_words(entry, state)), f"{entry.by}, entry {entry.number}")
        for entry in state.live
        if isinstance(entry.body, Work) and entry.body.what not in (HEAT_CYCLE, DONE)
    )
    if not rows:
        return None
    said = sentence(f"{len(rows)} {'piece' if len(rows) == 1 else 'pieces'} of work written down")
    table = Table(("when", "what was done", "who"), rows, "Work", (1, 3.4, 1.5))
    return RecordPart("work", "Work done", (Paragraph(said, "strong"), table))


def open_part(engine: EngineFile, state: State) -> RecordPart:
    """Loose ends, and every check that is asked for before hand-over and not settled."""
    fit = fitness_of(state, "hand-over")
    rest = [b for b in fit.blockers if b.check != LOOSE_END]
    ends = state.loose_ends
    still = len(state.open_loose_ends)
    count = still + len(rest)
    said = (
        sentence(f"{count_words(count)} {'is' if count == 1 else 'are'} open") if count
        else "Nothing asked for before hand-over is open, and no loose end is left."
    )  # fmt: skip
    blocks: list[Block] = [Paragraph(said, "strong")]
    if ends:
        rows = tuple(
            (
                sentence(end.opened.body.label).rstrip("."),
                f"{end.opened.at[:10]}, {end.opened.by}",
                f"{end.closed.at[:10]}, {end.closed.by}" if end.closed else "",
                Stated("open", "open") if end.is_open else Stated("good", "put back"),
            )
            for end in ends
        )
        heads = ("what was left off", "since", "put back", "now")
        blocks.append(Table(heads, rows, "Loose ends", (2.4, 1.7, 1.7, 1)))
    if rest:
        grouped: dict[tuple[str, str, str], list[str]] = {}
        for blocker in rest:
            key = (blocker.check, blocker.text, blocker.way_out)
            grouped.setdefault(key, []).append(place_words(blocker.place) if blocker.place else "")
        items = tuple(
            sentence(f"{check}{_where(places)}: {text.rstrip('.')}; {way_out}")
            for (check, text, way_out), places in grouped.items()
        )
        blocks.append(Listing(items, "boxes"))
    missing = tuple(str(item) for item in engine.fallen_away())
    if missing:
        blocks.append(Paragraph("Not looked at, because the engine file does not give it:"))
        blocks.append(Listing(missing))
    return RecordPart("open", "Open points", tuple(blocks))


def _where(places: list[str]) -> str:
    """Places behind a name: ', cylinder 1 and cylinder 2'; '' for the whole machine."""
    return f", {listed(places)}" if places != [""] else ""


def notes_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Every note, as it was written."""
    rows = tuple(
        (
            entry.at[:10],
            entry.body.text + (f" ({place_words(entry.body.place)})" if entry.body.place else ""),
            f"{entry.by}, entry {entry.number}",
        )
        for entry in state.notes()
    )
    if not rows:
        return None
    return RecordPart(
        "notes", "Notes", (Table(("when", "note", "who"), rows, "Notes", (1, 3.4, 1.5)),)
    )


def pictures_part(engine: EngineFile, state: State) -> RecordPart | None:
    """Every photograph with what it shows, in the order they were taken."""
    lines = picture_lines(state)
    if not lines:
        return None
    return RecordPart(
        "pictures",
        "Pictures",
        tuple(
            Photograph(
                line.sha256,
                line.alt,
                ". ".join(
                    words
                    for words in (
                        sentence(line.caption).rstrip(".") if line.caption else "",
                        sentence(line.about).rstrip(".") if line.about else "",
                        f"{line.at[:10]}, {line.by}, entry {line.number}",
                    )
                    if words
                ),
            )
            for line in lines
        ),
    )
