"""`tickover speed`: gears, needle and track, from an engine file and a log."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import FileError, InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Reading
    from tickover.book.state import State
    from tickover.engine import EngineFile
    from tickover.pages.speed import SpeedPage
    from tickover.physics.track import Ride


@click.command()
@engine_option
@click.option(
    "--track", type=click.Path(path_type=Path), help="Position log: GPX 1.1 or NMEA 0183."
)
@click.option("--part", default=1, show_default=True,
              help="Which recording, where a log holds several; 1 is the longest.")  # fmt: skip
@click.option("--shown", multiple=True,
              help="Held on the dial, UTC: '80 km/h at 12:31:20'. Several times.")  # fmt: skip
@click.option("--odometer", default="", help="What it counted over the track: '12.4 km'.")
@click.option("--timed", multiple=True,
              help="Between two posts: '60 mph over 1 mi in 61.5 s'. Several times.")  # fmt: skip
@click.option("--rolled", multiple=True,
              help="A roll-out: 'rear 9.98 m in 5 turns'. Beats size and engine file.")  # fmt: skip
@click.option("--other-front", default="", help="What another front tyre would do: '90/90-19'.")
@click.option("--other-rear", default="", help="What another rear tyre would do: '110/90-18'.")
@click.option("--other-sprockets", default="", help="What other sprockets would do: '18/46'.")
@click.option("--keep", "keep_it", is_flag=True, help="Keep the readings in the build's book.")
@json_option
@build_option
@where_option
def speed(
    engine_path: Path | None,
    track: Path | None,
    part: int,
    shown: tuple[str, ...],
    odometer: str,
    timed: tuple[str, ...],
    rolled: tuple[str, ...],
    other_front: str,
    other_rear: str,
    other_sprockets: str,
    keep_it: bool,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Speed in each gear, what the needle shows, and the needle against a position log.

    Exit code 0: within the band. 1: out, undecided or not measured. 2: bad input.
    """
    from tickover.pages.speed import speed_json, speed_page
    from tickover.quantities import parse
    from tickover.tasks.regearing import regeared
    from tickover.tasks.rollout import roll_out_entry
    from tickover.tasks.scratch import scratch_state
    from tickover.tasks.speed import shown_speed
    from tickover.tasks.speedruns import measured_run

    if (shown or odometer) and track is None:
        raise InputError(
            "Speeds shown need the track they were held on", instead="--track ride.gpx"
        )
    if keep_it and engine_path is not None:
        raise InputError("There is no book to keep this in", instead="no --engine with --keep")
    ride = None if track is None else _ride(track, part)
    state = None
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        state = scratch_state(roll_out_entry(engine, text) for text in rolled) if rolled else None
    else:
        from tickover.cli.opening import chosen_build

        with chosen_build(where, build_name) as bench:
            engine = bench.engine
            bodies = [roll_out_entry(engine, text) for text in rolled]
            if keep_it:
                bodies += _readings(engine, ride, shown, odometer, timed, track)
                if bodies:
                    keep(bench, *bodies, quiet=as_json)
            state = bench.state if keep_it or not bodies else _beside(bench.state, bodies)
    unit = engine.show.unit("distance")
    page = speed_page(
        engine, state, ride, [shown_speed(engine, s) for s in shown],
        parse(odometer, "distance", unit, "The odometer").value_si if odometer else None,
        None, [measured_run(engine, text) for text in timed],
        regeared(engine, state, other_front, other_rear, other_sprockets),
    )  # fmt: skip
    if as_json:
        echo_json(speed_json(page))
    else:
        print_speed(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _ride(track: Path, part: int) -> Ride:
    from tickover.physics.track import read_ride
    from tickover.physics.tracklog import LARGEST, read_log

    try:
        with track.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        raise FileError(f"This file cannot be read ({error.strerror})",
                        where=str(track)) from error  # fmt: skip
    return read_ride(read_log(data, str(track)), part)


def _readings(
    engine: EngineFile,
    ride: Ride | None,
    shown: tuple[str, ...],
    odometer: str,
    timed: tuple[str, ...],
    track: Path | None,
) -> list[Reading]:
    """The entries of all that was said; nothing is kept where one of them is refused."""
    from tickover.quantities import parse
    from tickover.tasks.speed import errors_on_track, shown_speed, steady
    from tickover.tasks.speedruns import measured_run, odometer_entry, run_entry, track_entry

    bodies = [run_entry(engine, measured_run(engine, text)) for text in timed]
    if ride is not None:
        rows = errors_on_track(steady(ride), [shown_speed(engine, text) for text in shown])
        name = track.name if track is not None else ""
        bodies += [track_entry(engine, row, typed, name)
                   for row, typed in zip(rows, shown, strict=True)]  # fmt: skip
        if odometer:
            unit = engine.show.unit("distance")
            counted = parse(odometer, "distance", unit, "The odometer").value_si
            bodies.append(odometer_entry(ride, counted, odometer))
    return bodies


def _beside(state: State, bodies: list[Reading]) -> State:
    """The book as it would be with these, which are not kept."""
    from tickover.book.entries import Entry
    from tickover.book.fold import fold

    first, at = state.last_number + 1, "2000-01-01T00:00:00Z"
    return fold(
        [Entry(f"{n:032x}", n, b.kind, at, at, "", b) for n, b in enumerate(bodies, first)], state
    )


def print_speed(page: SpeedPage) -> None:
    """The speed page in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    if page.wheels:
        heading("Wheels")
        for wheel in page.wheels:
            click.echo(f"  {wheel.wheel:6} {wheel.circumference}, {wheel.how}")
            for words in wheel.assumed:
                wrapped(f"assumed: {words}", "         ")
    if page.gears:
        heading("Gears")
        for gear in page.gears:
            red = f", {gear.at_red_line} at the red line" if gear.at_red_line else ""
            click.echo(f"  {gear.gear}  {gear.overall:>6}  {gear.per_1000} at 1000 rpm{red}")
    if page.needle:
        heading("Needle by its drive")
        for words in page.needle:
            wrapped(words, "  ")
    if page.stretches or page.track_words:
        heading("Track")
        for words in (*(s.words for s in page.stretches), *page.track_words):
            wrapped(words, "  ")
    for row in page.track:
        click.echo(f"  {mark(row.state)} shown {row.shown}, true {row.true}: {row.percent}, "
                   f"{row.state}; may show {row.allowed} ({row.how})")  # fmt: skip
    if page.kept or page.odometer:
        heading("In the book")
    for row in page.kept:
        word = f"void, {row.void}" if row.void else row.state
        click.echo(f"  {mark(row.state)} shown {row.shown}, true {row.true}: {word} "
                   f"(entry {row.entry}, {row.how})")  # fmt: skip
    if page.odometer:
        wrapped(page.odometer, "  ")
    if page.setting:
        heading("To make it right")
        for words in page.setting:
            wrapped(words, "  ")
    if page.changes:
        heading(f"With {page.change}")
        for change in page.changes:
            click.echo(f"  {change.what}: {change.now}, then {change.then}")
        for words in page.change_assumed:
            wrapped(f"assumed: {words}", "  ")
    heading("Rules")
    for rule in page.rules:
        decides = "decides" if rule.decides else "for comparison"
        wrapped(f"{rule.name}, {rule.stage} ({rule.known}, {decides}): {rule.band}"
                + (f"; {rule.note}" if rule.note else ""), "  ")  # fmt: skip
    for words in page.missing:
        wrapped(f"not known: {words}", "  ")
    for line in page.checks:
        wrapped(f"{mark(line.state)} {line.title}: {line.text or line.state_words}", "  ", "    ")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
