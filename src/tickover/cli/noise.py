"""`tickover noise`: the stationary test, from a table of readings or from the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Reading
    from tickover.engine import EngineFile
    from tickover.pages.noise import NoisePage


@click.command()
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: outlet,level,silencers,background,speed.")  # fmt: skip
@click.option("--level", multiple=True,
              help="A reading to keep: '94.5 dB', or octaves '63: 92, 125: 95'.")  # fmt: skip
@click.option("--outlet", default="1", show_default=True, help="Where --level was read.")
@click.option("--silencers", default="", help="standard, baffled or open, for --level.")
@click.option("--background", default="", help="Engine off, for --level: '62 dB'.")
@click.option("--speed", default="", help="Crank speed held, for --level: '4250 rpm'.")
@json_option
@build_option
@where_option
def noise(
    engine_path: Path | None,
    readings: Path | None,
    level: tuple[str, ...],
    outlet: str,
    silencers: str,
    background: str,
    speed: str,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Stationary noise: readings against the limit, baffles compared, time for the ear.

    With --engine readings are looked at, without it they are kept in the build's book.
    Exit code 0: within the limit. 1: above, undecided or not read. 2: bad input.
    """
    from tickover.pages.noise import noise_json, noise_page
    from tickover.tasks.noise import entries_from_csv, noise_entry
    from tickover.tasks.scratch import scratch_state

    def bodies(engine: EngineFile) -> list[Reading]:
        made = [] if readings is None else [*entries_from_csv(engine, readings, str(readings))]
        return made + [
            noise_entry(engine, text, outlet=outlet, silencers=silencers, background=background,
                        speed=speed) for text in level
        ]  # fmt: skip

    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        page = noise_page(engine, scratch_state(bodies(engine)))
    elif readings is not None:
        raise InputError("Readings from a file need the engine file too", instead="--engine E.toml")
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import head_for

        with chosen_build(where, build_name) as bench:
            engine = bench.engine
            made = bodies(engine)
            if made:
                keep(bench, *made, quiet=as_json)
            page = noise_page(engine, bench.state, head_for(bench.build, bench.state))
    if as_json:
        echo_json(noise_json(page))
    else:
        print_noise(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def print_noise(page: NoisePage) -> None:
    """The noise page in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(f"{mark(page.state)} {page.verdict}")
    for name, words in (("limit", page.limit), ("held at", page.test_speed),
                        ("exhaust now", page.exhaust)):  # fmt: skip
        if words:
            wrapped(f"{name}: {words}", "  ")
    if page.lines:
        heading("Outlets")
    for line in page.lines:
        beside = "" if line.counts else ", does not decide"
        click.echo(f"  {mark(line.state)} {line.where}, {line.silencers}: {line.mean}, "
                   f"{line.band}{beside}")  # fmt: skip
        for words in (*line.readings, *line.notes):
            wrapped(words, "      ")
    if page.compared:
        heading("Compared")
        for words in page.compared:
            wrapped(words, "  ")
    heading("The ear")
    wrapped(page.exposure, "  ")
    heading("How")
    for words in page.method:
        wrapped(words, "  ")
    heading("Rule or assumption")
    for words, whose, known in page.rules:
        wrapped(f"{words}: {whose}, {known}", "  ")
    heading("Others, for comparison")
    for words in page.other:
        wrapped(words, "  ")
    for words, most in page.drive_by:
        wrapped(f"40 CFR 205.152, passing by at 15 m, not for a reading at 0.5 m: {words} {most}",
                "  ")  # fmt: skip
    for words in page.missing:
        wrapped(f"not known: {words}", "  ")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
