"""`tickover speed`: gears, needle and track, from an engine file and a log."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.builds import where_option
from tickover.cli.entries import build_option
from tickover.cli.marks import heading, mark, wrapped
from tickover.errors import FileError, InputError

if TYPE_CHECKING:
    from tickover.pages.speed import SpeedPage


@click.command()
@click.option("--engine", "engine_path", type=click.Path(path_type=Path),
              help="Engine file (TOML); with it no book is needed.")  # fmt: skip
@click.option(
    "--track", type=click.Path(path_type=Path), help="Position log: GPX 1.1 or NMEA 0183."
)
@click.option("--part", default=1, show_default=True,
              help="Which recording, where a log holds several; 1 is the longest.")  # fmt: skip
@click.option("--shown", multiple=True,
              help="Held on the dial, UTC: '80 km/h at 12:31:20'. Several times.")  # fmt: skip
@click.option("--odometer", default="", help="What it counted over the track: '12.4 km'.")
@click.option("--json", "as_json", is_flag=True, help="JSON instead of words.")
@build_option
@where_option
def speed(
    engine_path: Path | None,
    track: Path | None,
    part: int,
    shown: tuple[str, ...],
    odometer: str,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Speed in each gear, what the needle shows, and the needle against a position log.

    Exit code 0: within the band. 1: out, undecided or not measured. 2: bad input.
    """
    from tickover.pages.speed import speed_json, speed_page
    from tickover.quantities import parse
    from tickover.tasks.speed import shown_speed

    if (shown or odometer) and track is None:
        raise InputError(
            "Speeds shown need the track they were held on", instead="--track ride.gpx"
        )
    state = None
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
    else:
        from tickover.cli.opening import chosen_build

        with chosen_build(where, build_name) as bench:
            engine, state = bench.engine, bench.state
    ride = None
    if track is not None:
        from tickover.physics.track import ride_of
        from tickover.physics.tracklog import LARGEST, read_log

        try:
            with track.open("rb") as file:
                data = file.read(LARGEST + 1)
        except OSError as error:
            raise FileError(f"This file cannot be read ({error.strerror})",
                            where=str(track)) from error  # fmt: skip
        ride = ride_of(read_log(data, str(track)), part)
    unit = engine.show.unit("distance")
    counted = parse(odometer, "distance", unit, "The odometer").value_si if odometer else None
    page = speed_page(engine, state, ride, [shown_speed(engine, s) for s in shown], counted)
    if as_json:
        echo_json(speed_json(page))
    else:
        print_speed(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


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
        for words in (*page.stretches, *page.track_words):
            wrapped(words, "  ")
    for row in page.track:
        click.echo(f"  {mark(row.state)} shown {row.shown}, true {row.true}: {row.percent}, "
                   f"{row.state}; may show {row.allowed}")  # fmt: skip
    heading("Rules")
    for rule in page.rules:
        decides = "decides" if rule.decides else "for comparison"
        wrapped(f"{rule.name}, {rule.stage} ({rule.known}, {decides}): {rule.band}"
                + (f"; {rule.note}" if rule.note else ""), "  ")  # fmt: skip
    for words in page.missing:
        wrapped(f"not known: {words}", "  ")
    for line in page.checks:
        click.echo(f"  {mark(line.state)} {line.title}: {line.text or line.state_words}")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
