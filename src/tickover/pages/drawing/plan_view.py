"""The engine seen from above: cylinders, valves, plugs, carburettors, each a link.

Drawn from the engine file alone. What is known about a part (its state, its reading, where its
page is) comes in as marks by place: `in1`, `ex3b`, `plug2`, `cyl4`, `carb1`. A part without a
mark is drawn and is no link.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tickover.pages.drawing.ink import Ink, escape, text, text_width
from tickover.pages.drawing.marks import mark_shape
from tickover.pages.drawing.rows import NARROW, TARGET, Plan, Row, lay_out

if TYPE_CHECKING:
    from tickover.engine import EngineFile

_KINDS = {"in": "Inlet", "ex": "Exhaust", "cyl": "Cylinder", "plug": "Plug", "carb": "Carburettor"}
_CAPTION = 14.0  # size of the captions [drawing units]
_FIN = 24.0  # length of a finned barrel seen from above
_CARB = 30.0
# centre of each valve of one kind, towards its own side, and its radius [bore radii]
_SEATS: Mapping[int, tuple[tuple[tuple[float, float], ...], float]] = {
    1: (((0.0, 0.50),), 0.38),
    2: (((-0.42, 0.45), (0.42, 0.45)), 0.32),
    3: (((-0.58, 0.33), (0.0, 0.64), (0.58, 0.33)), 0.27),
}


@dataclass(frozen=True, slots=True)
class PartMark:
    """What is known about one part.

    Parameters
    ----------
    state : str
        A state word: good, out, undecided, open, stale, accepted.
    label : str
        What stands beside the part: "0.14 to 0.15", "no gap".
    href : str
        Where a touch leads; empty: no link.
    extra : str
        More for the screen reader: "limits 0.13 to 0.18 mm".
    """

    state: str
    label: str = ""
    href: str = ""
    extra: str = ""


def part_name(place: str) -> str:
    """A place in words.

    >>> part_name("ex2"), part_name("in1a"), part_name("carb3")
    ('Exhaust 2', 'Inlet 1a', 'Carburettor 3')
    """
    kind = place.rstrip("abcdefghijklmnopqrstuvwxyz").rstrip("0123456789")
    return f"{_KINDS.get(kind, kind)} {place[len(kind) :]}"


def accessible_name(place: str, mark: PartMark) -> str:
    """What a screen reader says of a part.

    >>> accessible_name("ex2", PartMark("out", "no gap"))
    'Exhaust 2: out, no gap'
    """
    return f"{part_name(place)}: " + ", ".join(
        words for words in (mark.state, mark.label, mark.extra) if words
    )


def valve_places(kind: str, cylinder: int, count: int) -> tuple[str, ...]:
    """Places of one cylinder's valves of one kind, left to right.

    >>> valve_places("in", 2, 1), valve_places("ex", 1, 2)
    (('in2',), ('ex1a', 'ex1b'))
    """
    if count == 1:
        return (f"{kind}{cylinder}",)
    return tuple(f"{kind}{cylinder}{letter}" for letter in "abcde"[:count])


def _lines(label: str, room: float, size: float) -> list[str]:
    """A label on one line, or on two, broken before its last word."""
    if not label:
        return []
    if text_width(label, size) <= room or " " not in label:
        return [label]
    head, _, tail = label.rpartition(" ")
    return [head, tail]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What one drawing works with."""

    plan: Plan
    marks: Mapping[str, PartMark]
    ink: Ink
    inlets: int
    exhausts: int

    @property
    def bore(self) -> float:
        return min(self.plan.pitch / 2 - 3, 62.0)

    @property
    def size(self) -> float:
        return 15.0 if self.plan.pitch >= 96 and max(self.inlets, self.exhausts) == 1 else 14.0

    def slot(self, count: int) -> float:
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


def _label(sheet: _Sheet, x: float, y: float, lines: list[tuple[str, str]], *, up: bool) -> str:
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


def _side(
    sheet: _Sheet, cylinder: int, cx: float, cy: float, kind: str, *, up: bool, label: float
) -> str:
    """The valves of one kind in one cylinder, with their labels."""
    count = sheet.inlets if kind == "in" else sheet.exhausts
    if count == 0:
        return ""
    sign = -1 if up else 1
    seats, radius = _SEATS[count]
    seat = sheet.bore * radius * (1.0 if kind == "in" else 0.9)
    slot = sheet.slot(count)
    middle = _middle(sheet, cylinder)
    edge = cy + sign * (sheet.bore + (7 if up else 4))  # below the line hang p and y
    parts = []
    for i, place in enumerate(valve_places(kind, cylinder, count)):
        x = cx + seats[i][0] * sheet.bore
        y = cy + sign * seats[i][1] * sheet.bore
        column = cx + (i - (count - 1) / 2) * slot
        mark = sheet.marks.get(place)
        body = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{seat:.1f}" {sheet.ink("seat")}/>'
        if mark is not None:
            body += mark_shape(mark.state, x, y, min(11.0, max(8.0, 0.54 * seat)), sheet.ink)
            body += _label(sheet, column, edge, sheet.label_lines(place, count), up=up)
        far = edge + sign * label
        near = cy + sign * middle / 2
        top, bottom = min(far, near), max(far, near)
        parts.append(sheet.link(place, (column - slot / 2, top, slot, bottom - top), body))
    return "".join(parts)


def _middle(sheet: _Sheet, cylinder: int) -> float:
    """Height of the band in the middle that belongs to cylinder and plug."""
    known = {f"cyl{cylinder}", f"plug{cylinder}"} & set(sheet.marks)
    return TARGET if known else 0.0


def _centre(sheet: _Sheet, cylinder: int, cx: float, cy: float, *, valves: bool) -> str:
    """Cylinder number and plug, as links where something is known of them."""
    ink, bore = sheet.ink, sheet.bore
    half = sheet.plan.pitch / 2
    cyl, plug = f"cyl{cylinder}", f"plug{cylinder}"
    cyl_mark, plug_mark = sheet.marks.get(cyl), sheet.marks.get(plug)
    number_y = cy + 5.5
    parts = []
    whole = not valves and (cyl_mark is None) != (plug_mark is None)
    number = text(cx - 0.8 * bore, number_y, str(cylinder), ink("strong"), size=16)
    hole = f'<circle cx="{cx:.1f}" cy="{cy:.1f}" r="{0.11 * bore:.1f}" {ink("seat")}/>'
    if whole:
        place = cyl if cyl_mark is not None else plug
        mark = cyl_mark if cyl_mark is not None else plug_mark
        if mark is not None:
            lines = sheet.label_lines(place, 1)
            body = mark_shape(mark.state, cx, cy, 13, ink)
            body += _label(sheet, cx, cy + bore + 4, lines, up=False)
            tall = 2 * bore + 8 + 17 * max(1, len(lines))
            box = (cx - half, cy - bore - 4, 2 * half, tall)
            return number + sheet.link(place, box, body)
    if cyl_mark is not None:
        body = number + mark_shape(cyl_mark.state, cx - 0.46 * bore, cy, 9, ink)
        parts.append(sheet.link(cyl, (cx - half, cy - TARGET / 2, half, TARGET), body))
    else:
        parts.append(number)
    if plug_mark is not None:
        body = hole + mark_shape(plug_mark.state, cx + 0.5 * bore, cy, 9, ink)
        parts.append(sheet.link(plug, (cx, cy - TARGET / 2, half, TARGET), body))
    else:
        parts.append(hole)
    return "".join(parts)


def _cell(
    sheet: _Sheet, cylinder: int, cx: float, cy: float, row: Row, label: tuple[float, float]
) -> str:
    up_kind, down_kind = ("ex", "in") if row.exhaust_up else ("in", "ex")
    places = [
        *valve_places("in", cylinder, max(1, sheet.inlets)),
        *valve_places("ex", cylinder, max(1, sheet.exhausts)),
    ]
    valves = any(place in sheet.marks for place in places)
    bore = f'<circle cx="{cx:.1f}" cy="{cy:.1f}" r="{sheet.bore:.1f}" {sheet.ink("bore")}/>'
    sides = "".join(
        (
            _side(sheet, cylinder, cx, cy, up_kind, up=True, label=label[0]),
            _side(sheet, cylinder, cx, cy, down_kind, up=False, label=label[1]),
        )
    )
    return bore + sides + _centre(sheet, cylinder, cx, cy, valves=valves)


def _label_height(sheet: _Sheet, row: Row) -> tuple[float, float]:
    """Room for labels above and below the cylinders of a row."""

    def most(kind: str, count: int) -> int:
        return max(
            (
                len(sheet.label_lines(place, count))
                for cylinder in row.cylinders
                for place in valve_places(kind, cylinder, count)
            ),
            default=0,
        )

    ex, inlet = most("ex", sheet.exhausts), most("in", sheet.inlets)
    cyl = max(len(sheet.label_lines(f"cyl{n}", 1)) for n in row.cylinders)
    plug = max(len(sheet.label_lines(f"plug{n}", 1)) for n in row.cylinders)
    up, down = (ex, inlet) if row.exhaust_up else (inlet, ex)
    if not (ex or inlet):
        down = max(cyl, plug)
    return 6 + 17.0 * up, 6 + 17.0 * down


def _edge(x: float, top: float, bottom: float, *, cut: bool) -> str:
    """An upright edge, from top to bottom: straight, or broken as on a drawing."""
    if not cut:
        return f"L{x:.1f} {bottom:.1f}"
    mid = (top + bottom) / 2
    way = 1 if bottom > top else -1
    return (
        f"L{x:.1f} {mid - 14 * way:.1f}L{x - 5:.1f} {mid - 4 * way:.1f}"
        f"L{x + 5:.1f} {mid + 4 * way:.1f}L{x:.1f} {mid + 14 * way:.1f}L{x:.1f} {bottom:.1f}"
    )


def _frame(row: Row, left: float, top: float, right: float, bottom: float, ink: Ink) -> str:
    path = (
        f"M{left:.1f} {top:.1f}L{right:.1f} {top:.1f}"
        + _edge(right, top, bottom, cut=row.cut_right)
        + f"L{left:.1f} {bottom:.1f}"
        + _edge(left, bottom, top, cut=row.cut_left)
        + "Z"
    )
    return f'<path d="{path}" stroke-linejoin="round" {ink("frame")}/>'


def _carburettors(sheet: _Sheet, places: Mapping[int, float], y: float, *, up: bool) -> str:
    """Bell mouths beside the inlets; places: number -> x."""
    parts = []
    sign = -1 if up else 1
    for number, x in places.items():
        place = f"carb{number}"
        mark = sheet.marks.get(place)
        mouth = y + sign * _CARB
        body = (
            f'<path d="M{x - 11:.1f} {y:.1f}L{x - 11:.1f} {y + sign * 18:.1f}'
            f"L{x - 18:.1f} {mouth:.1f}L{x + 18:.1f} {mouth:.1f}"
            f'L{x + 11:.1f} {y + sign * 18:.1f}L{x + 11:.1f} {y:.1f}Z" {sheet.ink("case")}/>'
        )
        if mark is None:
            body += text(x, y + sign * 14 + 5, str(number), sheet.ink("strong"), size=13)
        else:
            body += mark_shape(mark.state, x, y + sign * 14, 8, sheet.ink)
            body += text(
                x, mouth + (-5 if up else 15), mark.label or str(number), sheet.ink("strong")
            )
        top = y - TARGET - 4 if up else y
        parts.append(sheet.link(place, (x - 32, top, 64, TARGET + 4), body))
    return "".join(parts)


def _fins(x1: float, x2: float, cy: float, bore: float, ink: Ink) -> str:
    """A barrel lying on its side: fins across, between head and crankcase."""
    tall = bore * 0.9
    step = (x2 - x1) / 5
    return "".join(
        f'<path d="M{x1 + step * i:.1f} {cy - tall:.1f}V{cy + tall:.1f}" {ink("hair")}/>'
        for i in range(1, 5)
    )


def _flat_row(sheet: _Sheet, row: Row, top: float, label: tuple[float, float]) -> tuple[str, float]:
    pitch, bore, ink = sheet.plan.pitch, sheet.bore, sheet.ink
    middle = sheet.plan.width / 2
    tall = label[0] + label[1] + 2 * bore + 16
    cy = top + label[0] + bore + 8
    case = (sheet.plan.width - 2 * pitch - 2 * _FIN - 4) / 2
    case = min(case, 34.0)
    parts = [
        f'<rect x="{middle - case:.1f}" y="{top:.1f}" width="{2 * case:.1f}" '
        f'height="{tall:.1f}" {ink("case")}/>',
        f'<path d="M{middle:.1f} {top - 2:.1f}V{top + tall + 2:.1f}" {ink("axis")}/>',
    ]
    for cylinder, side in zip(row.cylinders, (-1, 1), strict=True):
        if not cylinder:
            continue
        inner = middle + side * (case + _FIN)
        cx = inner + side * pitch / 2
        x1, x2 = sorted((middle + side * case, inner))
        parts.append(_fins(x1, x2, cy, bore, ink))
        left = min(inner, inner + side * pitch)
        parts.append(_frame(row, left, top, left + pitch, top + tall, ink))
        parts.append(_cell(sheet, cylinder, cx, cy, row, label))
    return "".join(parts), tall


def _straight_row(
    sheet: _Sheet, row: Row, top: float, label: tuple[float, float]
) -> tuple[str, float, dict[int, float], tuple[float, float]]:
    pitch, bore = sheet.plan.pitch, sheet.bore
    wide = pitch * len(row.cylinders)
    left = (sheet.plan.width - wide) / 2
    tall = label[0] + label[1] + 2 * bore + 16
    cy = top + label[0] + bore + 8
    xs = {n: left + pitch * (i + 0.5) for i, n in enumerate(row.cylinders)}
    parts = [_frame(row, left - 2, top, left + wide + 2, top + tall, sheet.ink)]
    parts += [_cell(sheet, n, x, cy, row, label) for n, x in xs.items()]
    return "".join(parts), tall, xs, (left, left + wide)


def _row_carburettors(
    xs: Mapping[int, float], carburettors: int, cylinders: int
) -> dict[int, float]:
    """Which carburettors stand at this row, and where across."""
    if carburettors >= cylinders:
        return dict(xs)
    if carburettors == 0 or not xs:
        return {}
    share = cylinders / carburettors
    places: dict[int, float] = {}
    for number in range(1, carburettors + 1):
        fed = [n for n in xs if (number - 1) * share < n <= number * share]
        if fed and min(fed) == int((number - 1) * share) + 1:
            places[number] = sum(xs[n] for n in fed) / len(fed)
    return places


def plan_view(
    engine_file: EngineFile,
    marks: Mapping[str, PartMark],
    *,
    carburettors: int = 0,
    note: str = "",
    width: float = NARROW,
    embedded: bool = False,
) -> str:
    """The engine from above, with what is known of each part.

    Parameters
    ----------
    engine_file : EngineFile
        Layout, cylinders and valves are drawn from it.
    marks : mapping of place to PartMark
        State, label and link of each part to mark.
    carburettors : int
        How many to draw beside the inlets; those with a mark are drawn in any case.
    note : str
        A last line under the drawing: "All in mm, cold."
    width : float
        Of the sheet: NARROW or WIDE [drawing units].
    embedded : bool
        Colours in the picture itself (paper) instead of CSS classes.

    Returns
    -------
    str
        An svg element; every marked part with a href is a link with a name.

    Raises
    ------
    InputError
        For a state or a layout there is no drawing for.
    """
    engine, valves = engine_file.engine, engine_file.valves
    inlets, exhausts = (valves.inlet, valves.exhaust) if valves is not None else (1, 1)
    middle = any(place.startswith(("cyl", "plug")) for place in marks)
    with_valves = any(place.startswith(("in", "ex")) for place in marks)
    plan = lay_out(
        engine.layout,
        engine.cylinders,
        most_valves=max(inlets, exhausts) if with_valves else 1,
        middle_targets=middle and with_valves,
        v_angle_deg=engine.v_angle_deg,
        banks=engine.banks,
        width=width,
    )
    ink = Ink(embedded)
    sheet = _Sheet(plan, marks, ink, inlets, exhausts)
    marked = [place for place in marks if place.startswith("carb")]
    carburettors = max(carburettors, len(marked))
    centre = width / 2
    parts: list[str] = []
    y = 4.0
    previous = ""
    for i, row in enumerate(plan.rows):
        label = _label_height(sheet, row)
        if row.above and row.above != previous:
            parts.append(text(centre, y + 12, row.above, ink("text"), size=_CAPTION))
            y += 20
        previous = row.above
        if row.flat:
            body, tall = _flat_row(sheet, row, y, label)
            parts.append(body)
            y += tall
        else:
            inlet_up = not row.exhaust_up
            body, tall, xs, _ = _straight_row(sheet, row, y, label)
            here = _row_carburettors(xs, carburettors, engine.cylinders)
            if here and inlet_up:
                body, tall, xs, _ = _straight_row(sheet, row, y + TARGET + 4, label)
                parts.append(_carburettors(sheet, here, y + TARGET + 3, up=True))
                y += TARGET + 4
            parts.append(body)
            y += tall
            if here and not inlet_up:
                parts.append(_carburettors(sheet, here, y + 1, up=False))
                y += TARGET + 4
        last_of_bank = i + 1 == len(plan.rows) or plan.rows[i + 1].below != row.below
        if row.below and last_of_bank:
            parts.append(text(centre, y + 17, row.below, ink("text"), size=_CAPTION))
            y += 24
        elif not row.flat:
            y += 12
            if i + 1 < len(plan.rows) and plan.rows[i + 1].exhaust_up != row.exhaust_up:
                # the wider the V, the further apart its banks stand
                y += 36 * math.sin(math.radians(engine.v_angle_deg or 0.0) / 2)
    if note:
        parts.append(text(centre, y + 14, note, ink("quiet"), size=_CAPTION))
        y += 20
    name = f"{engine.name}, seen from above"
    kind = "engine narrow" if width <= NARROW else "engine"
    return (
        f'<svg {ink.root()} class="{kind}" role="group" '
        f'aria-label="{escape(name)}" viewBox="0 0 {width:g} {y + 4:.0f}">{"".join(parts)}</svg>'
    )
