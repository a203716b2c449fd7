"""What one drawing of an engine works with: links with room for a finger, labels that fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.pages.drawing.ink import Ink, escape, text, text_width
from tickover.pages.drawing.parts import PartMark, accessible_name
from tickover.pages.drawing.rows import Plan


def _lines(label: str, room: float, size: float) -> list[str]:
    """A label on one line, or on two, broken before its last word."""
    if not label:
        return []
    if text_width(label, size) <= room or " " not in label:
        return [label]
    head, _, tail = label.rpartition(" ")
    return [head, tail]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one drawing works with.

    Parameters
    ----------
    plan : Plan
        Rows and pitch.
    marks : mapping of place to PartMark
        What is known of each part.
    ink : Ink
        How roles get their looks.
    inlets, exhausts : int
        Valves of each kind in one cylinder.
    """

    plan: Plan
    marks: Mapping[str, PartMark]
    ink: Ink
    inlets: int
    exhausts: int

    @property
    def bore(self) -> float:
        """Radius of a bore [drawing units]."""
        return min(self.plan.pitch / 2 - 3, 62.0)

    @property
    def size(self) -> float:
        """Size of the figures [drawing units]."""
        return 15.0 if self.plan.pitch >= 96 and max(self.inlets, self.exhausts) == 1 else 14.0

    def slot(self, count: int) -> float:
        """Width each of so many valves side by side may take [drawing units]."""
        return self.plan.pitch / count

    def link(self, place: str, box: tuple[float, float, float, float], body: str) -> str:
        """A part, as a link over the whole of its box if there is somewhere to go."""
        mark = self.marks.get(place)
        if mark is None:
            return body
        x, y, w, h = box
        name = escape(accessible_name(place, mark))
        hit = (
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" rx="4" '
            f"{self.ink('hit')}/>"
        )
        if not mark.href:
            return f'<g role="img" aria-label="{name}">{hit}{body}</g>'
        return (
            f'<a href="{escape(mark.href)}" aria-label="{name}" data-place="{escape(place)}">'
            f"{hit}{body}</a>"
        )

    def label_lines(self, place: str, count: int) -> list[tuple[str, str]]:
        """Lines beside a part with their roles, value first, then the word if it fits."""
        mark = self.marks.get(place)
        if mark is None:
            return []
        room = self.slot(count) - 4
        role = "struck" if mark.state == "stale" else "strong"
        lines = [(line, role) for line in _lines(mark.label, room, self.size)]
        fits = text_width(mark.state, 13) <= room
        if fits and mark.state != "good" and mark.state != mark.label:
            lines.append((mark.state, f"word-{mark.state}"))
        return lines


def draw_label(sheet: Sheet, x: float, y: float, lines: list[tuple[str, str]], *, up: bool) -> str:
    """Lines stacked away from the part: upwards from y, or downwards."""
    step = 17.0
    sign = -1 if up else 1
    first = y if up else y + 12
    # the value stands next to the valve, the word outside it
    ordered = [*reversed(_value_last(lines))] if up else lines
    return "".join(
        text(
            x,
            first + sign * step * i,
            words,
            sheet.ink(role),
            size=sheet.size if not role.startswith("word") else 13,
        )
        for i, (words, role) in enumerate(ordered)
    )


def _value_last(lines: list[tuple[str, str]]) -> list[tuple[str, str]]:
    words = [line for line in lines if line[1].startswith("word")]
    return [*words, *(line for line in lines if not line[1].startswith("word"))]
