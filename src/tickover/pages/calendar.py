"""The running-in plan as a calendar file (iCalendar, RFC 5545)."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from tickover.errors import InputError
from tickover.pages.runin import RunInPage


def calendar_file(page: RunInPage, at: str) -> bytes:
    """All steps with a date as events of a whole day, and steps due now as of the day of asking.

    Parameters
    ----------
    page : RunInPage
    at : str
        Now, ISO 8601 in universal time.

    Returns
    -------
    bytes
        A step keeps its identity from file to file, so that reading a later file into the same
        calendar moves the events instead of doubling them.

    Raises
    ------
    InputError
        Nothing has a date, because the engine has not run or everything is done.
    """
    from icalendar import Calendar, Event  # loaded only when a calendar is asked for

    moment = datetime.fromisoformat(at).astimezone(UTC)
    lines = [line for line in page.lines if line.state != "done"]
    dated = [
        (line, moment.date() if line.state == "due" else line.on)
        for line in lines
        if page.started is not None and (line.state == "due" or line.on is not None)
    ]
    if not dated:
        raise InputError(
            "Nothing to put into a calendar: " + page.sentence[:1].lower() + page.sentence[1:-1]
        )
    calendar = Calendar()
    calendar.add("prodid", "-//Tickover//running in//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for line, day in dated:
        assert day is not None
        name = hashlib.sha256(f"{page.head.build_id} {line.key.casefold()}".encode()).hexdigest()
        event = Event()
        event.add("uid", f"{name[:32]}@tickover.invalid")
        event.add("dtstamp", moment)
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        event.add("summary", f"{page.head.name}: {line.name}")
        event.add("description", _description(line.marks, line.source, line.how))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _description(marks: str, source: str, how: str) -> str:
    said = [f"Due at the first of: {marks}." if " or " in marks else f"Due at {marks}."]
    if how:
        said.append(how)
    return "\n".join([*said, f"From: {source}. The engine's service manual comes first."])
