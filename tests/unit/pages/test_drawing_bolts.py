"""The drawing of the tightening order."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from tickover.errors import InputError
from tickover.pages.drawing.bolts import bolt_pattern

SIX = [(0.0, 0.0), (0.07, 0.0), (0.14, 0.0), (0.0, 0.09), (0.07, 0.09), (0.14, 0.09)]
ORDER = [2, 5, 1, 6, 3, 4]
SVG = "{http://www.w3.org/2000/svg}"


def drawn(picture: str) -> list[tuple[float, float, str]]:
    root = ET.fromstring(picture)
    return [(float(t.attrib["x"]), float(t.attrib["y"]), t.text or "") for t in root.iter()
            if t.tag.removeprefix(SVG) == "text"]  # fmt: skip


def test_each_screw_carries_its_turn_where_it_stands() -> None:
    numbers = drawn(bolt_pattern(SIX, ORDER))
    assert sorted(n for _, _, n in numbers) == ["1", "2", "3", "4", "5", "6"]
    at = {n: (x, y) for x, y, n in numbers}
    # position 2 is first: near, in the middle; position 5 second: far from you is up
    assert at["1"][0] == pytest.approx(at["2"][0])
    assert at["2"][1] < at["1"][1]
    # position 1 is third, left of the first; position 3 is fifth, right of it
    assert at["3"][0] < at["1"][0] < at["5"][0]


def test_distances_keep_their_proportion() -> None:
    at = {n: (x, y) for x, y, n in drawn(bolt_pattern(SIX, ORDER))}
    wide = at["1"][0] - at["3"][0]
    high = at["1"][1] - at["2"][1]
    assert wide / high == pytest.approx(70 / 90, rel=0.01)


def test_alone_it_needs_nothing_from_outside() -> None:
    alone = bolt_pattern(SIX, ORDER, embedded=True)
    assert 'class="d-' not in alone
    assert "http" not in alone.replace("http://www.w3.org/2000/svg", "")
    assert "d-seat" in bolt_pattern(SIX, ORDER)


def test_a_screen_reader_hears_the_order() -> None:
    label = re.search(r'aria-label="([^"]+)"', bolt_pattern(SIX, ORDER))
    assert label is not None
    assert label[1].startswith("Tightening order: near middle 1, far middle 2, near left 3")


def test_screws_in_a_row_and_close_together_do_not_overlap() -> None:
    row = [(0.001 * i, 0.0) for i in range(12)]
    root = ET.fromstring(bolt_pattern(row, list(range(1, 13)), embedded=True))
    circles = [c.attrib for c in root.iter() if c.tag == f"{SVG}circle"]
    gap = float(circles[1]["cx"]) - float(circles[0]["cx"])
    assert 2 * float(circles[0]["r"]) < gap


@pytest.mark.parametrize("order", [[], [1, 2], [1, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5]])
def test_an_order_that_does_not_fit_is_refused(order: list[int]) -> None:
    with pytest.raises(InputError, match="each screw once"):
        bolt_pattern(SIX, order)
