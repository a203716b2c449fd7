"""Every photograph of a build, with what it shows and what it belongs to."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.bodies import LooseEndOpened, Note, Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.pages.book import entry_words
from tickover.pages.head import Head
from tickover.pages.wording import count_words, place_words, sentence


@dataclass(frozen=True, slots=True)
class PictureLine:
    """One photograph: its name in the book, its words, and where it belongs."""

    id: str
    number: int
    sha256: str
    caption: str
    about: str
    by: str
    at: str
    can_be_struck: bool

    @property
    def alt(self) -> str:
        """What a person who does not see it is told."""
        words = self.caption or self.about or "without words"
        return f"Photograph: {words}"


@dataclass(frozen=True, slots=True)
class PicturesPage:
    """Everything the page of pictures shows, the newest first."""

    head: Head
    title: str
    sentence: str
    lines: tuple[PictureLine, ...]


def pictures_page(state: State, head: Head) -> PicturesPage:
    """All photographs that count."""
    lines = picture_lines(state)
    count = len(lines)
    said = (
        sentence(f"{count_words(count)} photograph{'' if count == 1 else 's'}")
        if count
        else "No photograph yet. The ones worth taking: before it is closed, where it will not be "
        "seen again, and whatever somebody will ask about."
    )
    return PicturesPage(head, "Pictures", said, tuple(reversed(lines)))


def picture_lines(state: State) -> tuple[PictureLine, ...]:
    """Photographs in the order of the book: those of their own, and those of loose ends."""
    found = [
        PictureLine(
            entry.id, entry.number, entry.body.sha256, entry.body.caption,
            about_words(state, entry.body.about), entry.by, entry.at, True,
        )
        for entry in state.pictures()
    ]  # fmt: skip
    for end in state.loose_ends:
        body = end.opened.body
        if body.picture:
            closed = f", put back {end.closed.at[:10]}" if end.closed else ", still open"
            found.append(
                PictureLine(
                    end.id, end.opened.number, body.picture, f"{body.label}{closed}",
                    "a loose end", end.opened.by, end.opened.at, False,
                )
            )  # fmt: skip
    return tuple(sorted(found, key=lambda line: line.number))


def about_words(state: State, about: str) -> str:
    """What a photograph belongs to, in words: an entry, a place or a check."""
    entry = state.entry(about) if about else None
    if entry is None:
        return place_words(about) if about else ""
    return _entry(entry, state)


def _entry(entry: Entry, state: State) -> str:
    if isinstance(entry.body, Note):
        return f"note, entry {entry.number}"
    if isinstance(entry.body, Reading | Work | LooseEndOpened):
        return f"{entry_words(entry, state)}, entry {entry.number}"
    return f"entry {entry.number}"


def check_subject(name: str, place: str) -> str:
    """What a photograph of a check is said to be about.

    >>> check_subject("spark", "plug1"), check_subject("oil primed", "")
    ('spark plug1', 'oil primed')
    """
    return f"{name} {place}".strip()
