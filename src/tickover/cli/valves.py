"""`tickover valves`: the valve page in the terminal, from files or from the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import engine_option, json_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.valves import ValvesPage
    from tickover.tasks.valves import Assumptions


@click.command()
@engine_option
@click.option("--readings", type=click.Path(path_type=Path), help="Readings and shims (CSV).")
@click.option("--stock", type=click.Path(path_type=Path), help="The shim drawer (CSV).")
@click.option("--strict", is_flag=True, help="Guard band of 1.65 times the feel inside the limits.")
@click.option("--build", "build_name", default="", help="A build in the book, by id or name.")
@click.option("--where", default=None, help="The book, when it is not the usual one.")
@json_option
def valves(
    engine_path: Path | None,
    readings: Path | None,
    stock: Path | None,
    strict: bool,
    build_name: str,
    where: str | None,
    as_json: bool,
) -> None:
    """Valve clearances: where to turn, what is out, why, and what to fit.

    Exit code 0: all good. 1: something out, undecided or not measured. 2: bad input.
    """
    from dataclasses import replace

    from tickover.pages.valves_json import valves_json
    from tickover.tasks.valves import USUAL

    assume = replace(USUAL, guard_m=1.65 * USUAL.feel_m) if strict else USUAL
    if engine_path is not None:
        page = _from_files(engine_path, readings, stock, assume)
    elif readings is not None or stock is not None:
        raise InputError("Readings from a file need the engine file too", instead="--engine E.toml")
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import valves_page_of

        with chosen_build(where, build_name) as bench:
            page = valves_page_of(bench.build, bench.state, assume)
    if as_json:
        echo_json(valves_json(page))
    else:
        print_valves(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _from_files(
    engine_path: Path, readings: Path | None, stock: Path | None, assume: Assumptions
) -> ValvesPage:
    from tickover.engine import load_engine_file
    from tickover.pages.valves import valves_page
    from tickover.tasks.valves import assess_valves
    from tickover.tasks.valves.tables import READINGS_HEADER, drawer_from_csv, readings_from_csv

    engine = load_engine_file(engine_path)
    table = readings if readings is not None else READINGS_HEADER
    read, shims = readings_from_csv(engine, table, str(readings or "readings"))
    drawer = drawer_from_csv(engine, stock, str(stock)) if stock is not None else ()
    return valves_page(engine, assess_valves(engine, read, shims, drawer, assume=assume))


def print_valves(page: ValvesPage) -> None:
    """The valve page in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    if page.head and page.head.loose_ends:
        for end in page.head.loose_ends:
            click.echo(f"  ! loose end: {end.words} (since {end.since})")
    heading("Where to turn")
    for stop in page.stops:
        done = " (done)" if stop.done else ""
        click.secho(f"{stop.headline}{done}", bold=True)
        wrapped(stop.text, "  ")
    wrapped(page.order_note, "  ")
    heading("Valves")
    for line in page.valves:
        what = line.reading or (f"was {line.was}, void" if line.was else "not measured")
        chance = f", in limits {line.chance}" if line.chance and line.state != "good" else ""
        note = f": {line.note}" if line.note else ""
        click.echo(f"  {mark(line.state)} {line.place:5} {what:24} {line.state}{note}{chance}")
        if line.state in ("open", "stale"):
            click.echo(f"      limits {line.limits}. {line.pick_up}.")
    if page.reason_sentence:
        heading("Why")
        wrapped(page.reason_sentence)
        for reason in page.reasons:
            click.echo(f"  {reason.chance:>9}  {reason.text}")
            wrapped(f"{reason.remedy} In limits after it: {reason.after}.", " " * 13)
        for words in page.rests_on:
            wrapped(words, "  ")
    if page.next_check:
        wrapped(page.next_check)
    heading("What to fit")
    if page.plan_missing:
        wrapped(page.plan_missing)
    for step in page.plan:
        click.echo(
            f"  {step.place:5} {step.out} -> {step.fit}, {step.source}; then: "
            f"{step.then_reads}; in limits {step.chance}"
        )
    if page.plan_sentence:
        wrapped(page.plan_sentence)
    for item in page.buy:
        click.echo(f"  to buy: {item}")
    for note in page.notes:
        wrapped(note, "  ")
    for drift in page.drifts:
        click.echo(f"  {drift.name}: {drift.text}")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
