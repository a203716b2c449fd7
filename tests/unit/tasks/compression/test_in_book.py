"""Compression in the book: entries, what they add up to, and what makes them void."""

import pytest

from tickover.book.bodies import Reading, StartAttempt, Work
from tickover.book.entries import Entry
from tickover.book.fold import fold
from tickover.engine import parse_engine_file
from tickover.errors import InputError
from tickover.plan.checks import check_states
from tickover.tasks.compression import PSI, Conditions
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression.in_book import (
    CHECK,
    book_assessment,
    checks,
    compression_book,
    findings,
    reading_entry,
)
from tickover.tasks.quickline import understand_line

FOUR = parse_engine_file(
    '[engine]\nname = "Invented four"\nlayout = "inline"\ncylinders = 4\n'
    'firing_order = [1, 3, 4, 2]\nbore = "56 mm"\nstroke = "56 mm"\nrod = "110 mm"\n'
    "compression_ratio = 9.2\n"
    '[cams]\ninlet = { opens = "20 deg BTDC", closes = "45 deg ABDC" }\n'
    'exhaust = { opens = "45 deg BBDC", closes = "20 deg ATDC" }\n'
    '[valves]\ninlet = 1\nexhaust = 1\nadjustment = "screw and locknut"\n'
    'inlet_clearance = "0.08..0.12 mm"\nexhaust_clearance = "0.08..0.12 mm"\n',
    "four.toml",
)
DAY = Conditions(throttle="open", altitude=200.0)


def state(*bodies):
    return fold(
        Entry(f"{n:032x}", n, b.kind, "2031-01-01T00:00:00Z", "2031-01-01T00:00:00Z", "x", b)
        for n, b in enumerate(bodies, 1)
    )


def dry(*values):
    return [reading_entry(f"cyl{n}", "dry", str(v), "psi", DAY) for n, v in enumerate(values, 1)]


def test_a_build_without_readings_or_limits_is_not_asked():
    assert checks(FOUR, state()) == ()


def test_readings_and_conditions_come_back_from_the_book():
    book = compression_book(
        FOUR,
        state(
            *dry(152, 128, 151, 153),
            reading_entry("cyl2", "leakdown", "60/80", "psi", DAY),
            reading_entry("cyl2", "air heard at", "exhaust", "", DAY),
        ),
    )
    two = book.readings[1]
    assert two.dry == pytest.approx(128 * PSI)
    assert (two.leak_percent, two.heard) == (pytest.approx(25.0), "exhaust")
    assert (book.day.altitude, book.day.throttle) == (200.0, "open")
    assert book.proof["cyl2"] == 6


def test_checks_and_findings_follow_from_the_readings():
    now = state(*dry(152, 112, 151, 153))
    assert [c.place for c in checks(FOUR, now)] == ["cyl1", "cyl2", "cyl3", "cyl4"]
    found = {f.place: f for f in findings(FOUR, now)}
    assert found["cyl1"].state == "good"
    assert found["cyl2"].state == "out"
    assert "7.7 bar" in found["cyl2"].text
    words = {s.check.place: s.state for s in check_states(FOUR, now) if s.check.name == CHECK}
    assert words["cyl2"] == "out"


@pytest.mark.parametrize(
    ("work", "stale"),
    [
        (Work("valve or seat work", ("ex2",)), {"cyl2"}),
        (Work("clearance set", ("in3",)), {"cyl3"}),
        (Work("head off"), {"cyl1", "cyl2", "cyl3", "cyl4"}),
        (Work("carburettors off"), set()),
    ],
)
def test_work_on_valves_or_head_voids_that_cylinders_reading(work, stale):
    now = state(*dry(152, 150, 151, 153), work)
    found = {s.check.place for s in check_states(FOUR, now)
             if s.check.name == CHECK and s.state == "stale"}  # fmt: skip
    assert found == stale
    book = compression_book(FOUR, now, frozenset(stale))
    assert {r.place for r in book.readings if r.dry is None} == stale
    assert set(book.was) == stale


def test_no_gap_at_a_valve_of_that_cylinder_speaks_for_a_valve_held_open():
    tight = Reading("valve clearance", "ex2", None, 38e-6, "m", "no gap 1.5 thou")
    loose = [
        Reading("valve clearance", p, 0.10e-3, 0.11e-3, "m", "") for p in ("in2", "ex1", "in1")
    ]
    found = book_assessment(FOUR, state(tight, *loose, *dry(152, 120, 151, 153)))
    assert found.cylinders[1].causes[0].what == h.HELD_EXHAUST


def test_rings_changed_and_never_run_are_unseated_until_it_ran():
    fresh = state(Work("rings changed", ("cyl1",)), *dry(152, 150, 151, 153))
    run = state(Work("rings changed", ("cyl1",)), StartAttempt("ran"), *dry(152, 150, 151, 153))
    assert compression_book(FOUR, fresh).day.unseated_rings
    assert not compression_book(FOUR, run).day.unseated_rings


def test_impossible_readings_are_undecided_in_words_not_an_error():
    now = state(*dry(10.5, 10.4, 10.6, 10.5))
    assert {f.state for f in findings(FOUR, now)} == {"undecided"}
    assert all("bar" in f.text for f in findings(FOUR, now))


@pytest.mark.parametrize(
    ("line", "what", "low"),
    [
        ("compression cyl2 dry 152 psi", "compression dry", 152 * PSI),
        ("compression 2 wet 11,2 bar", "compression wet", 11.2e5),
        ("compression cyl2 first stroke 70 psi", "compression first stroke", 70 * PSI),
        ("compression cyl2 leakdown 60/80 psi", "leak-down", 0.25),
        ("compression cyl2 leakdown 12 %", "leak-down", 0.12),
        ("compression cyl2 heard exhaust", "air heard at", 1.0),
        ("compression cyl2 dry 10.5", "compression dry", 10.5e5),  # the unit this build shows
    ],
)
def test_short_lines(line, what, low):
    body = understand_line(FOUR, line).body
    assert (body.what, body.place) == (what, "cyl2")
    assert body.low == pytest.approx(low)


@pytest.mark.parametrize("line", ["compression cyl2", "compression cyl9 dry 3 psi",
                                  "compression cyl2 dry", "compression dry 152 psi"])  # fmt: skip
def test_short_lines_that_say_too_little_are_refused(line):
    with pytest.raises(InputError):
        understand_line(FOUR, line)
