"""The engine seen from above: cylinders, valves, plugs, carburettors, each a link.

Drawn from the engine file alone. What is known about a part (its state, its reading, where its
page is) comes in as marks by place: `in1`, `ex3b`, `plug2`, `cyl4`, `carb1`. A part without a
mark is drawn and is no link.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from tickover.pages.drawing.cylinder import draw_cylinder, label_height
from tickover.pages.drawing.ink import Ink, escape, text
from tickover.pages.drawing.marks import mark_shape
from tickover.pages.drawing.parts import PartMark
from tickover.pages.drawing.rows import NARROW, TARGET, Row, lay_out
from tickover.pages.drawing.sheet import Sheet

if TYPE_CHECKING:
    from tickover.engine import EngineFile

_CAPTION = 14.0  # size of the captions [drawing units]
_FIN = 24.0  # length of a finned barrel seen from above
_CARB = 30.0


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


def _carburettors(sheet: Sheet, places: Mapping[int, float], y: float, *, up: bool) -> str:
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


def _flat_row(sheet: Sheet, row: Row, top: float, label: tuple[float, float]) -> tuple[str, float]:
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
        parts.append(draw_cylinder(sheet, cylinder, cx, cy, row, label))
    return "".join(parts), tall


def _straight_row(
    sheet: Sheet, row: Row, top: float, label: tuple[float, float]
) -> tuple[str, float, dict[int, float], tuple[float, float]]:
    pitch, bore = sheet.plan.pitch, sheet.bore
    wide = pitch * len(row.cylinders)
    left = (sheet.plan.width - wide) / 2
    tall = label[0] + label[1] + 2 * bore + 16
    cy = top + label[0] + bore + 8
    xs = {n: left + pitch * (i + 0.5) for i, n in enumerate(row.cylinders)}
    parts = [_frame(row, left - 2, top, left + wide + 2, top + tall, sheet.ink)]
    parts += [draw_cylinder(sheet, n, x, cy, row, label) for n, x in xs.items()]
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
    sheet = Sheet(plan, marks, ink, inlets, exhausts)
    marked = [place for place in marks if place.startswith("carb")]
    carburettors = max(carburettors, len(marked))
    centre = width / 2
    parts: list[str] = []
    y = 4.0
    previous = ""
    for i, row in enumerate(plan.rows):
        label = label_height(sheet, row)
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
    drawn = "".join(parts)
    # parts that can be pressed are heard one by one; without them it is one picture
    role = "group" if "<a " in drawn else "img"
    if role == "img":
        many = "one cylinder" if engine.cylinders == 1 else f"{engine.cylinders} cylinders"
        name += f": {many}, {engine.layout}"
    return (
        f'<svg {ink.root()} class="{kind}" role="{role}" '
        f'aria-label="{escape(name)}" viewBox="0 0 {width:g} {y + 4:.0f}">{drawn}</svg>'
    )
