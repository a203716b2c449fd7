"""How finely a figure is shown: as it was read, in a column all alike."""

from __future__ import annotations

import pytest

from tickover.quantities import (
    places_read,
    places_together,
    show,
    show_range,
    show_reading,
)


@pytest.mark.parametrize(
    ("typed", "places"),
    [
        ("60.950 mm", 3), ("60.950", 3), ("60,95 mm", 2), ("61 mm", 0), ("60.95 - 60.960 mm", 3),
        (".13 / .15 mm", 2), ("under 0.050 mm", 3), ("+0.10 mm", 2), ("2.400 in", None),
        ("6 thou", None), ("60.950 cubits", None), ("", None), ("ok", None), ("1/2 in", None),
        ("60.95000000000000 mm", 6),
    ],
)  # fmt: skip
def test_a_reading_says_how_finely_it_was_read(typed: str, places: int | None) -> None:
    # our own rule, no source: the zeros typed were read too
    assert places_read(typed, "mm", "length") == places


def test_readings_below_one_another_have_the_same_places() -> None:
    column = [(0.06095, "60.950 mm"), (0.060952, "60.952 mm"), (0.0609, "60.9 mm")]
    typed = [places_read(words, "mm", "length") for _, words in column]
    places = places_together([value for value, _ in column], "mm", "length", typed)
    shown = [show(value, "mm", "length", places) for value, _ in column]
    assert shown == ["60.950 mm", "60.952 mm", "60.900 mm"]


def test_nothing_read_is_cut_off() -> None:
    assert show_reading(2.15e5, 2.15e5, "2.15 bar", "bar", "pressure") == "2.15 bar"
    assert show_reading(12.6, 12.6, "12.60 V", "V", "voltage") == "12.60 V"
    assert show_reading(None, 0.00005, "under 0.050 mm", "mm", "clearance") == "under 0.050 mm"
    assert show_reading(None, None, "", "mm", "clearance") == "unknown"
    assert show_range(0.06095, 0.060952, "mm", "length") == "60.950 to 60.952 mm"
