"""The running-in calendar file is iCalendar (RFC 5545), read by another library than wrote it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import vobject  # type: ignore[import-untyped]
from support_book import AT, more
from support_start import ROW, small

from tickover.book.bodies import StartAttempt, Work
from tickover.errors import InputError
from tickover.pages.building import run_in_of, runin_page_of
from tickover.pages.calendar import calendar_file
from tickover.plan.runin import HEAT_CYCLE, done_entry

TODAY = date.fromisoformat(AT[:10])
ODD = '[[run_in]]\nname = "look; again, at \\\\ the \\"long\\" way: é 長" \ndays = 30\n'
RAN = small([StartAttempt("ran")], ODD)


def file_of(state, today: date = TODAY) -> bytes:
    return calendar_file(runin_page_of(ROW, state, today), f"{today}T12:00:00+00:00")


def events(state, today: date = TODAY) -> dict[str, object]:
    calendar = vobject.readOne(file_of(state, today).decode("utf-8"), validate=True)
    assert calendar.behavior.validate(calendar, raiseException=True)
    return {event.summary.value: event for event in calendar.vevent_list}


def test_another_library_reads_it_and_finds_it_valid() -> None:
    found = events(RAN)
    plan = run_in_of(RAN, TODAY)
    assert len(found) == len([item for item in plan.steps if item.on is not None])
    for item in plan.steps:
        if item.on is None:
            continue
        event = found[f"{ROW.name}: {item.known.step.name}"]
        assert event.dtstart.value == item.on
        assert event.dtend.value == item.on + timedelta(days=1)
        assert "manual comes first" in event.description.value


def test_lines_are_folded_at_75_octets_and_end_as_the_standard_says() -> None:
    """RFC 5545, 3.1: CRLF after each line, none longer than 75 octets without the break."""
    raw = file_of(RAN)
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line for line in lines)


def test_required_properties_stand_in_it() -> None:
    """RFC 5545, 3.6 and 3.6.1: VERSION and PRODID once; each event a UID and a DTSTAMP."""
    raw = file_of(RAN)
    assert raw.count(b"\r\nVERSION:2.0\r\n") == raw.count(b"\r\nPRODID:") == 1
    count = raw.count(b"BEGIN:VEVENT")
    assert raw.count(b"\r\nUID:") == raw.count(b"\r\nDTSTAMP:") == count


def test_words_with_signs_of_the_format_come_back_unchanged() -> None:
    assert f'{ROW.name}: look; again, at \\ the "long" way: é 長' in events(RAN)


def test_a_step_keeps_its_identity_so_that_a_later_file_moves_it() -> None:
    first = {name: event.uid.value for name, event in events(RAN).items()}
    later = {name: event.uid.value
             for name, event in events(more(RAN, Work(HEAT_CYCLE))).items()}  # fmt: skip
    assert first == later
    assert len(set(first.values())) == len(first)


def test_what_is_due_stands_today_and_what_is_done_not_at_all() -> None:
    state = more(RAN, Work(HEAT_CYCLE))
    day = TODAY + timedelta(days=1)
    name = "leaks and fasteners after the first heat cycle"
    assert events(state, day)[f"{ROW.name}: {name}"].dtstart.value == day
    done = more(state, done_entry(run_in_of(state, day), name))
    assert f"{ROW.name}: {name}" not in events(done, day)


def test_nothing_dated_is_refused_with_the_reason() -> None:
    with pytest.raises(InputError, match="has not run yet"):
        file_of(small())
