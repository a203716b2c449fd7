"""Charging in the build record: what was read stands there, what was not leaves no part."""

from support_charging import readings, twin

from tickover.book.state import State
from tickover.pages.charging import charging_page
from tickover.pages.record.blocks import Drawing, Paragraph, Table
from tickover.pages.record.charging import charging_part
from tickover.tasks.charging.causes import charging_causes


def test_nothing_read_makes_no_part() -> None:
    assert charging_part(twin(), State()) is None


def test_readings_are_drawn_and_listed() -> None:
    engine = twin()
    state = readings(engine, "charging voltage,,14.2 V,3000,25", "drain at rest,,60 mA")
    part = charging_part(engine, state)
    assert part is not None
    drawing = next(block for block in part.blocks if isinstance(block, Drawing))
    assert "14.2 V at 3000 rpm, good" in drawing.alt
    table = next(block for block in part.blocks if isinstance(block, Table))
    assert any("60 mA" in str(row[1]) for row in table.rows)
    verdict = next(block for block in part.blocks if isinstance(block, Paragraph))
    assert verdict.text == charging_page(engine, state).verdict


def test_the_page_says_what_the_causes_say() -> None:
    engine = twin()
    state = readings(engine, "charging voltage,,16.8 V,3000,25", "charging voltage,,17 V,5000,25")
    page, told = charging_page(engine, state), charging_causes(engine, state)
    assert page.causes[0].words == told.first.words
    assert page.causes[0].words.capitalize() in page.verdict.capitalize()
    assert [line.words for line in page.next_checks] == [c.words for c in told.next_checks]
