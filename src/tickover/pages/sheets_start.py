"""The printed start card, shopping list and running-in plan, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.pages.head import Head
from tickover.pages.runin import RunInLine, RunInPage
from tickover.pages.shopping import ShoppingPage
from tickover.pages.start import CardLine, StartCard

_LONGEST_NAME = 60
_MOST_ENDS = 6
_TRIES = 4


def start_card_sheet(card: StartCard) -> dict[str, Any]:
    """The start card: one page, whatever the build holds."""
    room = 52 if len(card.in_the_way) > 2 else 110  # two may run over into a second line
    ends = [f"{_short(end.words, 36)} ({end.since})" for end in card.head.loose_ends]
    more = len(ends) - _MOST_ENDS
    practice = sorted({line.source for line in _lines(card) if "practice" in line.source})
    return {
        **_head(card.head),
        "loose_ends": [],
        "ends": ends[:_MOST_ENDS] + ([f"{more} more in the book"] if more > 0 else []),
        "title": card.title,
        "machine": _short(card.machine),
        "answer": card.answer,
        "fit": card.fit,
        "in_the_way": [_short(words, room) for words in card.in_the_way],
        "cautions": [{"words": line.words, "source": line.source} for line in card.cautions],
        "at_hand": [line.words for line in card.at_hand],
        "positions": [line.words for line in card.positions],
        "cranking": card.cranking.words,
        "kill": [
            {"sign": k.sign, "limit": k.limit, "act": k.act, "star": _star(k.source)}
            for k in card.kill
        ],
        "cranking_star": _star(card.cranking.source),
        "watch": [f"{line.words}{_star(line.source)}" for line in card.watch],
        "to_note": list(card.to_note),
        "tries": _TRIES,
        "star": f"* {practice[0]}" if practice else "",
        "practice": "At hand, positions and what to note: common practice, no source.",
        "says": card.says,
    }


def _lines(card: StartCard) -> list[CardLine]:
    kills = [CardLine(kill.sign, kill.source) for kill in card.kill]
    return [card.cranking, *kills, *card.watch]


def _star(source: str) -> str:
    return "" if source == "engine file" else "*"


def shopping_sheet(page: ShoppingPage) -> dict[str, Any]:
    """The shopping list, to take to the shop."""
    return {
        **_head(page.head),
        "title": page.title,
        "sentence": page.sentence,
        "rows": [
            {"count": line.still, "item": line.item, "size": line.size, "why": line.why,
             "price": line.price, "total": line.total}
            for line in page.to_buy
        ],
        "came": [
            f"{line.arrived} x {line.item} {line.size}".strip()
            for line in page.settled
            if line.arrived
        ],
        "total": page.total,
        "notes": [*page.notes, *page.conflicts],
    }  # fmt: skip


def run_in_sheet(page: RunInPage) -> dict[str, Any]:
    """The running-in plan with boxes to tick."""
    return {
        **_head(page.head),
        "title": page.title,
        "sentence": page.sentence,
        "reached": list(page.reached),
        "use": page.use,
        "rows": [_row(line) for line in page.lines],
        "advice": list(page.advice),
        "source": page.source,
        "cautions": list(page.cautions),
        "notes": [*page.notes, *page.conflicts],
    }


def _row(line: RunInLine) -> dict[str, Any]:
    return {
        "name": line.name, "marks": line.marks, "state": line.state,
        "when": line.done or line.when, "source": line.source, "how": line.how,
    }  # fmt: skip


def _head(head: Head) -> dict[str, Any]:
    return {
        "build": _short(head.name),
        "stage": head.stage,
        "loose_ends": [f"{_short(end.words)} (since {end.since})" for end in head.loose_ends],
    }


def _short(words: str, longest: int = _LONGEST_NAME) -> str:
    return words if len(words) <= longest else f"{words[: longest - 1]}…"
