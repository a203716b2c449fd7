"""`tickover charging`: battery, alternator, regulator, switches and senders."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.charging import ChargingPage


@click.command()
@engine_option
@click.option("--readings", "readings_path", type=click.Path(path_type=Path),
              help="CSV: reading, place, value, unit, speed, temperature.")  # fmt: skip
@json_option
@build_option
@where_option
def charging(
    engine_path: Path | None,
    readings_path: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Charging: what was read, the causes behind it, and the check that tells most next.

    Exit code 0: all good. 1: out, undecided or not measured. 2: bad input.
    """
    from tickover.pages.charging import charging_json, charging_page

    state = None
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        if readings_path is not None:
            from tickover.tasks.charging.tables import state_from_csv

            state = state_from_csv(engine, readings_path, str(readings_path))
    elif readings_path is not None:
        raise InputError("Readings of a file need the machine they belong to",
                         instead="--engine engine.toml beside --readings")  # fmt: skip
    else:
        from tickover.cli.opening import chosen_build

        with chosen_build(where, build_name) as bench:
            engine, state = bench.engine, bench.state
    page = charging_page(engine, state)
    if as_json:
        echo_json(charging_json(page))
    else:
        print_charging(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def print_charging(page: ChargingPage) -> None:
    """The charging page in the terminal."""
    click.secho(page.title, bold=True)
    wrapped(page.verdict)
    if page.causes:
        heading("Causes")
        for cause in page.causes:
            wrapped(f"{cause.chance:>5}  {cause.words}: {cause.remedy}", "  ")
        wrapped(page.causes_note, "  ")
    if page.alike:
        wrapped(page.alike, "  ")
    if page.next_checks:
        heading("Read next")
        for each in page.next_checks:
            wrapped(f"{each.words}, {each.effort}, {each.bits:.2f} bit", "  ")
            for outcome in each.outcomes:
                wrapped(outcome, "      ")
    if page.facts:
        heading("Expected")
        for name, words in page.facts:
            wrapped(f"{name}: {words}", "  ")
    for even in page.even:
        wrapped(f"{mark(even.state)} {even.what}: {even.words}", "  ")
        for words in even.causes:
            wrapped(words, "      ")
    heading("Checks")
    for line in page.checks:
        wrapped(f"{mark(line.state)} {line.title}: {line.text or line.state_words}", "  ")
    for switch in page.switches:
        heading(switch.name.capitalize())
        wrapped(switch.verdict, "  ")
        for words in switch.causes:
            wrapped(words, "      ")
        if switch.alike:
            wrapped(switch.alike, "  ")
        if switch.next_tick:
            wrapped(f"Tick next: {switch.next_tick}", "  ")
        for row in switch.rows:
            wrapped(f"{mark(row.state)} {row.tried}: {row.must}", "  ", "    ")
    for sender in page.senders:
        heading(sender.name.capitalize())
        for words in sender.causes:
            wrapped(words, "      ")
        for line in sender.rows:
            wrapped(f"{mark(line.state)} {line.title}: {line.text or line.limits}", "  ", "    ")
    for words in page.missing:
        wrapped(f"not known: {words}", "  ")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
