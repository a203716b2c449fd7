"""`tickover runin`: what to do again after the first start, and when."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, wrapped
from tickover.cli.opening import chosen_build, now
from tickover.cli.options import build_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.pages.runin import RunInPage
    from tickover.physics.runningin import Use


@click.command()
@click.option("--calendar", type=click.Path(path_type=Path),
              help="Write the dates to this calendar file (.ics).")  # fmt: skip
@click.option("--use", "weekly", nargs=3, default=None, metavar="DISTANCE TIME HEAT_CYCLES",
              help="Keep the use in a week: '200 km' '4 h' 4.")  # fmt: skip
@click.option("--distance", default="", help="Keep the distance run: '120 km'.")
@click.option("--distance-at-start", default="", help="Keep what it had run at the first start.")
@click.option("--running", default="", help="Keep the running time since the first start: '3 h'.")
@click.option("--heat-cycle", is_flag=True, help="Keep one heat cycle.")
@click.option("--done", default="", metavar="STEP", help="Mark a step as done.")
@json_option
@build_option
@where_option
def runin(
    calendar: Path | None, weekly: tuple[str, str, str] | None, distance: str,
    distance_at_start: str, running: str, heat_cycle: bool, done: str, as_json: bool,
    build_name: str, where: str | None,
) -> None:  # fmt: skip
    """Running in: what is due now, what comes when, and the calendar file."""
    from dataclasses import asdict

    from tickover.book.bodies import Work
    from tickover.pages.building import run_in_of, runin_page_of
    from tickover.pages.calendar import calendar_file
    from tickover.plan import runin as plan

    today = date.fromisoformat(now()[:10])
    said: list[Body] = []
    if weekly is not None:
        said.append(plan.use_entry(_use(weekly)))
    for what, typed in ((plan.DISTANCE, distance), (plan.DISTANCE_AT_START, distance_at_start),
                        (plan.RUNNING, running)):  # fmt: skip
        if typed:
            said.append(_progress(what, typed))
    if heat_cycle:
        said.append(Work(plan.HEAT_CYCLE))
    with chosen_build(where, build_name) as bench:
        if done:
            said.append(plan.done_entry(run_in_of(bench.state, today), done))
        if said:
            keep(bench, *said, quiet=as_json)
        page = runin_page_of(bench.build, bench.state, today)
    if calendar is not None:
        _write(calendar, calendar_file(page, now()))
        click.echo(f"{calendar}: running in of {page.head.name}", err=as_json)
    if as_json:
        echo_json(_dated(asdict(page)))
    elif calendar is None:
        print_run_in(page)


def _use(weekly: tuple[str, str, str]) -> Use:
    from tickover.physics.runningin import Use
    from tickover.quantities import parse, parse_number

    return Use(
        parse(weekly[0], "distance", what="Distance a week").value_si,
        parse(weekly[1], "time", what="Running time a week").value_si,
        float(parse_number(weekly[2], "Heat cycles a week")),
    )


def _progress(what: str, typed: str) -> Body:
    from tickover.plan.runin import RUNNING, progress_reading
    from tickover.quantities import parse

    kind = "time" if what == RUNNING else "distance"
    value = parse(typed, kind, what=f"The {what}").value_si
    return progress_reading(what, value, typed)


def _write(target: Path, data: bytes) -> None:
    try:
        target.write_bytes(data)
    except OSError as error:
        raise InputError("The file cannot be written", given=str(target),
                         allowed=error.strerror or "a writable place") from None  # fmt: skip


def _dated(value: object) -> object:
    """Dates as text, everything else as it is."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _dated(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_dated(each) for each in value]
    return value


def print_run_in(page: RunInPage) -> None:
    """The running-in plan in the terminal."""
    wrapped(page.sentence, bold=True)
    if page.reached:
        click.echo(", ".join(page.reached))
    wrapped(f"Reckoned with {page.use}.")
    for words in (*page.conflicts, *page.notes):
        wrapped(f"! {words}")
    for title, lines in (("Due now", page.due), ("Later", page.later), ("Done", page.done)):
        if lines:
            heading(title)
        for line in lines:
            click.secho(f"  {line.name}", bold=title == "Due now")
            wrapped(f"at {line.marks}; {line.done or line.when} [{line.source}]", "      ")
            if line.how and not line.done:
                wrapped(line.how, "      ")
    click.echo()
    for words in (*page.advice, *(f"! {caution}" for caution in page.cautions)):
        wrapped(words)
