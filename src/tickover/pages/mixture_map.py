"""The map of the mixture page, as a picture and as a table, and what each adjuster does."""

from __future__ import annotations

from collections.abc import Sequence

from tickover.pages.drawing.mixture_pictures import MapSquare, influence_strips, mixture_map
from tickover.pages.mixture import MixturePage
from tickover.pages.mixture_words import opening_words
from tickover.pages.wording import dial_speed
from tickover.tasks.mixture.adjusters import MARK_NAMES
from tickover.tasks.mixture.advice import MapCell
from tickover.tasks.mixture.target import HALF_THROTTLE, LEAN_MARGIN

_HARMLESS = 0.02
_RULE_PLACES = {"pilot jet": (0, 3), "screw": (0, 3), "cutaway": (2, 3), "needle": (3, 5),
                "main jet": (5, 6)}  # fmt: skip


def map_pictures(page: MixturePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The map after the change (or as it is, where nothing is to be changed)."""
    if page.advice is None:
        return ""
    return mixture_map(_squares(page.advice.after), width=width, embedded=embedded)


def influence_picture(page: MixturePage, *, width: float = 328.0, embedded: bool = False) -> str:
    """What a step of each adjuster does here."""
    rows = [(i.adjuster, i.step, i.percent) for i in page.influence]
    return influence_strips(rows, MARK_NAMES, _RULE_PLACES, width=width, embedded=embedded)


def _squares(cells: Sequence[MapCell]) -> list[MapSquare]:
    made = []
    for cell in cells:
        off = cell.lam / cell.target - 1.0
        made.append(
            MapSquare(
                opening_words(cell.opening),
                dial_speed(cell.speed_rpm),
                cell.lam if cell.means_something else None,
                off,
                cell.opening >= HALF_THROTTLE and off > LEAN_MARGIN and cell.means_something,
            )
        )
    return made


def map_rows(page: MixturePage) -> list[tuple[str, ...]]:
    """The map as a table: a head, then a row for each speed, the highest first."""
    if page.advice is None:
        return []
    cells = page.advice.after
    openings = list(dict.fromkeys(c.opening for c in cells))
    at = {(c.opening, c.speed_rpm): c for c in cells}
    rows = [("rpm", *(opening_words(t) for t in openings))]
    for speed in sorted({c.speed_rpm for c in cells}, reverse=True):
        rows.append((dial_speed(speed), *(_square_words(at.get((t, speed))) for t in openings)))
    return rows


def _square_words(cell: MapCell | None) -> str:
    if cell is None:
        return ""
    if not cell.means_something:
        return "-"
    off = cell.lam / cell.target - 1.0
    return f"{cell.lam:.2f}{'▲' if off > _HARMLESS else '▼' if off < -_HARMLESS else ' '}"
