"""One cylinder from above: bore, valves on their sides, plug, number, and what is known of each."""

from __future__ import annotations

from collections.abc import Mapping

from tickover.pages.drawing.ink import text
from tickover.pages.drawing.marks import mark_shape
from tickover.pages.drawing.parts import valve_places
from tickover.pages.drawing.rows import TARGET, Row
from tickover.pages.drawing.sheet import Sheet, draw_label

# centre of each valve of one kind, towards its own side, and its radius [bore radii]
_SEATS: Mapping[int, tuple[tuple[tuple[float, float], ...], float]] = {
    1: (((0.0, 0.50),), 0.38),
    2: (((-0.42, 0.45), (0.42, 0.45)), 0.32),
    3: (((-0.58, 0.33), (0.0, 0.64), (0.58, 0.33)), 0.27),
}


def _side(
    sheet: Sheet, cylinder: int, cx: float, cy: float, kind: str, *, up: bool, label: float
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
            body += draw_label(sheet, column, edge, sheet.label_lines(place, count), up=up)
        far = edge + sign * label
        near = cy + sign * middle / 2
        top, bottom = min(far, near), max(far, near)
        parts.append(sheet.link(place, (column - slot / 2, top, slot, bottom - top), body))
    return "".join(parts)


def _middle(sheet: Sheet, cylinder: int) -> float:
    """Height of the band in the middle that belongs to cylinder and plug."""
    known = {f"cyl{cylinder}", f"plug{cylinder}"} & set(sheet.marks)
    return TARGET if known else 0.0


def _centre(sheet: Sheet, cylinder: int, cx: float, cy: float, *, valves: bool) -> str:
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
            body += draw_label(sheet, cx, cy + bore + 4, lines, up=False)
            tall = 2 * bore + 8 + 17 * max(1, len(lines))
            box = (cx - half, cy - bore - 4, 2 * half, tall)
            return number + sheet.link(place, box, body)
    if cyl_mark is not None:
        body = number + mark_shape(cyl_mark.state, cx - 0.42 * bore, cy, 9, ink)
        parts.append(sheet.link(cyl, (cx - half, cy - TARGET / 2, half, TARGET), body))
    else:
        parts.append(number)
    if plug_mark is not None:
        body = hole + mark_shape(plug_mark.state, cx + 0.46 * bore, cy, 9, ink)
        parts.append(sheet.link(plug, (cx, cy - TARGET / 2, half, TARGET), body))
    else:
        parts.append(hole)
    return "".join(parts)


def draw_cylinder(
    sheet: Sheet, cylinder: int, cx: float, cy: float, row: Row, label: tuple[float, float]
) -> str:
    """One cylinder with all that is known of it.

    Parameters
    ----------
    sheet : Sheet
    cylinder : int
        Its number.
    cx, cy : float
        Centre of its bore [drawing units].
    row : Row
        Which side its exhausts are on.
    label : pair of float
        Room for labels above and below [drawing units].

    Returns
    -------
    str
        SVG elements.
    """
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


def label_height(sheet: Sheet, row: Row) -> tuple[float, float]:
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
