"""The engine from above: every part where it belongs, named, and big enough to touch."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace
from typing import Any

import pytest

from tickover.errors import InputError
from tickover.pages.drawing import STATES, WIDE, PartMark, part_name, plan_view
from tickover.pages.drawing.parts import valve_places

TARGET = 48.0
ENGINES = [
    ("single", 1, 2, 2, None),
    ("inline", 2, 1, 1, None),
    ("inline", 3, 1, 1, None),
    ("inline", 4, 2, 2, None),
    ("inline", 4, 3, 2, None),
    ("inline", 6, 2, 2, None),
    ("V", 2, 2, 2, 60.0),
    ("V", 4, 2, 2, 90.0),
    ("flat", 2, 1, 1, None),
    ("flat", 4, 2, 2, None),
]


def engine(layout: str, cylinders: int, inlet: int, exhaust: int, angle: float | None) -> Any:
    return SimpleNamespace(
        engine=SimpleNamespace(
            name="Invented",
            layout=layout,
            cylinders=cylinders,
            v_angle_deg=angle,
            banks=(),
        ),
        valves=SimpleNamespace(inlet=inlet, exhaust=exhaust),
    )


def every_valve(engine_file: Any) -> list[str]:
    return [
        place
        for cylinder in range(1, engine_file.engine.cylinders + 1)
        for kind, count in (("in", engine_file.valves.inlet), ("ex", engine_file.valves.exhaust))
        for place in valve_places(kind, cylinder, count)
    ]


def marks_for(places: list[str]) -> dict[str, PartMark]:
    states = itertools.cycle(STATES)
    return {place: PartMark(next(states), "0.14 to 0.15", f"#{place}") for place in places}


def links(svg: str) -> dict[str, ET.Element]:
    root = ET.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))
    return {a.attrib["data-place"]: a for a in root.iter("{http://www.w3.org/2000/svg}a")}


def hit(link: ET.Element) -> tuple[float, float, float, float]:
    rect = link.find("{http://www.w3.org/2000/svg}rect")
    assert rect is not None
    x, y, w, h = (float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
    return x, y, w, h


def valve_centre(link: ET.Element) -> tuple[float, float]:
    circle = link.find("{http://www.w3.org/2000/svg}circle")
    assert circle is not None
    return float(circle.attrib["cx"]), float(circle.attrib["cy"])


@pytest.mark.parametrize("spec", ENGINES)
def test_every_valve_is_a_link_with_a_name_and_room_for_a_finger(spec: Any) -> None:
    engine_file = engine(*spec)
    places = every_valve(engine_file)
    found = links(plan_view(engine_file, marks_for(places)))
    assert sorted(found) == sorted(places)
    for place, link in found.items():
        assert link.attrib["href"] == f"#{place}"
        assert link.attrib["aria-label"].startswith(part_name(place) + ": ")
        _, _, w, h = hit(link)
        assert w >= TARGET, (place, w)
        assert h >= TARGET, (place, h)


@pytest.mark.parametrize("spec", ENGINES)
def test_no_two_targets_overlap_and_all_lie_on_the_sheet(spec: Any) -> None:
    engine_file = engine(*spec)
    places = every_valve(engine_file)
    for cylinder in range(1, engine_file.engine.cylinders + 1):
        places += [f"cyl{cylinder}", f"plug{cylinder}"]
    if spec[0] == "flat":
        places = every_valve(engine_file)
    svg = plan_view(engine_file, marks_for(places))
    _, _, width, height = (
        float(n)
        for n in re.search(r'viewBox="([^"]+)"', svg).group(1).split()  # type: ignore[union-attr]
    )
    boxes = {place: hit(link) for place, link in links(svg).items()}
    assert len(boxes) == len(places)
    for place, (x, y, w, h) in boxes.items():
        assert min(x, y) >= -0.1, place
        assert x + w <= width + 0.1, place
        assert y + h <= height + 0.1, place
    slack = 0.2  # coordinates are printed with one decimal
    for (a, (ax, ay, aw, ah)), (b, (bx, by, bw, bh)) in itertools.combinations(boxes.items(), 2):
        apart = (
            ax + aw <= bx + slack
            or bx + bw <= ax + slack
            or ay + ah <= by + slack
            or by + bh <= ay + slack
        )
        assert apart, (a, b)


def test_exhausts_of_an_inline_engine_lie_at_the_front_and_cylinders_from_left_to_right() -> None:
    engine_file = engine("inline", 3, 1, 1, None)
    at = {
        place: valve_centre(link)
        for place, link in links(
            plan_view(engine_file, marks_for(every_valve(engine_file)))
        ).items()
    }
    for cylinder in (1, 2, 3):
        assert at[f"ex{cylinder}"][1] < at[f"in{cylinder}"][1]
    assert at["in1"][0] < at["in2"][0] < at["in3"][0]


def test_inlets_of_a_v_face_each_other_and_a_wider_v_stands_further_apart() -> None:
    def centres(angle: float) -> dict[str, tuple[float, float]]:
        engine_file = engine("V", 2, 1, 1, angle)
        svg = plan_view(engine_file, marks_for(every_valve(engine_file)))
        assert f"{angle:g} degrees between them" in svg
        return {place: valve_centre(link) for place, link in links(svg).items()}

    narrow, wide = centres(45.0), centres(90.0)
    assert narrow["ex1"][1] < narrow["in1"][1] < narrow["in2"][1] < narrow["ex2"][1]
    gap = {a: at["in2"][1] - at["in1"][1] for a, at in ((45, narrow), (90, wide))}
    assert gap[90] > gap[45] + 5


def test_a_flat_twin_has_its_cylinders_left_and_right_of_the_crankcase() -> None:
    engine_file = engine("flat", 2, 1, 1, None)
    at = {
        place: valve_centre(link)
        for place, link in links(
            plan_view(engine_file, marks_for(every_valve(engine_file)))
        ).items()
    }
    assert at["in1"][0] < 328 / 2 < at["in2"][0]
    assert at["in1"][1] == at["in2"][1]


def test_banks_are_taken_from_the_file() -> None:
    engine_file = engine("V", 4, 1, 1, 90.0)
    engine_file.engine.banks = ((1, 2), (3, 4))
    svg = plan_view(engine_file, marks_for(every_valve(engine_file)))
    at = {place: valve_centre(link) for place, link in links(svg).items()}
    assert at["in1"][1] == at["in2"][1] < at["in3"][1] == at["in4"][1]


def test_a_flat_engine_may_have_more_cylinders_on_one_side() -> None:
    engine_file = engine("flat", 3, 1, 1, None)
    found = links(plan_view(engine_file, marks_for(every_valve(engine_file))))
    assert sorted(found) == sorted(every_valve(engine_file))


def test_a_six_with_24_valves_is_cut_into_two_rows_of_three() -> None:
    engine_file = engine("inline", 6, 2, 2, None)
    found = links(plan_view(engine_file, marks_for(every_valve(engine_file))))
    rows = {round(valve_centre(found[f"in{n}a"])[1]) for n in range(1, 7)}
    assert len(rows) == 2
    assert valve_centre(found["in4a"])[0] == valve_centre(found["in1a"])[0]


def test_a_wide_sheet_keeps_a_four_in_one_row() -> None:
    engine_file = engine("inline", 4, 2, 2, None)
    found = links(plan_view(engine_file, marks_for(every_valve(engine_file)), width=WIDE))
    assert len({round(valve_centre(found[f"in{n}a"])[1]) for n in range(1, 5)}) == 1
    assert min(hit(link)[2] for link in found.values()) >= TARGET


def test_a_stale_reading_is_struck_and_keeps_its_value() -> None:
    engine_file = engine("inline", 2, 1, 1, None)
    svg = plan_view(engine_file, {"in1": PartMark("stale", "0.10 to 0.11", "#in1")}, embedded=True)
    struck = re.search(r"<text[^>]*line-through[^>]*>([^<]*)</text>", svg)
    assert struck is not None
    assert struck.group(1) == "0.10 to 0.11"


def test_parts_without_a_mark_are_drawn_and_are_no_links() -> None:
    svg = plan_view(engine("inline", 2, 1, 1, None), {})
    assert links(svg) == {}
    assert svg.count("<circle") == 2 * 4  # bore, two valves, plug


def test_carburettors_stand_beside_the_inlets_and_one_may_serve_two() -> None:
    twin = engine("inline", 2, 1, 1, None)
    assert plan_view(twin, {}, carburettors=1).count('d-case"') == 1
    assert plan_view(twin, {}, carburettors=2).count('d-case"') == 2
    marked = links(plan_view(twin, {"carb1": PartMark("open", "", "#c1")}, carburettors=2))
    assert hit(marked["carb1"])[2] >= TARGET


def test_words_from_a_file_cannot_leave_their_element() -> None:
    engine_file = engine("inline", 2, 1, 1, None)
    engine_file.engine.name = '"><script>alert(1)</script>'
    mark = PartMark("out", "<b>0.1</b>", 'x" onload="alert(1)', "<i>")
    svg = plan_view(engine_file, {"in1": mark})
    assert "<script" not in svg
    assert "<b>" not in svg
    assert ' onload="' not in svg
    assert links(svg)["in1"].attrib["href"] == 'x" onload="alert(1)'


def test_standing_alone_the_picture_needs_no_style_sheet() -> None:
    engine_file = engine("V", 4, 2, 2, 90.0)
    svg = plan_view(engine_file, marks_for(every_valve(engine_file)), embedded=True)
    assert 'class="d-' not in svg
    assert ET.fromstring(svg).tag == "{http://www.w3.org/2000/svg}svg"


def test_an_unknown_layout_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="single, inline, V, flat"):
        plan_view(engine("radial", 5, 1, 1, None), {})
