"""`tickover balance` and `tickover strobe`: from files, or from the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.balance import BalancePage
    from tickover.pages.strobe import StrobePage


@click.command()
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: place,vacuum,unit,at; a turn as 'turned,2-1,1/4,in'.")  # fmt: skip
@json_option
@build_option
@where_option
def balance(
    engine_path: Path | None,
    readings: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Balance: which screw next, how far, and when it is no carburettor.

    Exit code 0: balanced. 1: something to turn or to read. 2: bad input.
    """
    from tickover.pages.balance import balance_page, balance_page_json
    from tickover.tasks.balance_book import balance_book

    if engine_path is not None:
        from tickover.engine import load_engine_file
        from tickover.tasks.balance_book import entries_from_csv
        from tickover.tasks.scratch import scratch_state

        engine = load_engine_file(engine_path)
        bodies = () if readings is None else entries_from_csv(engine, readings, str(readings))
        page = balance_page(engine, balance_book(engine, scratch_state(bodies)))
    elif readings is not None:
        raise InputError("Readings from a file need the engine file too", instead="--engine E.toml")
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import head_for

        with chosen_build(where, build_name) as bench:
            engine = bench.engine
            head = head_for(bench.build, bench.state)
            page = balance_page(engine, balance_book(engine, bench.state), head)
    if as_json:
        echo_json(balance_page_json(page))
    else:
        print_balance(page)
    raise click.exceptions.Exit(0 if page.balanced else 1)


def print_balance(page: BalancePage) -> None:
    """The balance page in the terminal."""
    click.secho(page.title, bold=True)
    wrapped(page.verdict)
    if page.turn:
        click.secho(page.turn, bold=True)
        wrapped(page.likely)
    heading("Gauges")
    for line in page.gauges:
        then = f", then {line.expected}" if line.expected else ""
        click.echo(f"  {line.name:14} {line.vacuum or 'not read':10}{then}  ({line.beyond})")
    for words in page.suspicions:
        wrapped(f"? {words}")
    for words in page.history:
        wrapped(words, "  ")
    for words in page.notes:
        wrapped(words)
    click.echo()
    wrapped(page.how)
    for caution in page.cautions:
        wrapped(f"! {caution}")


@click.command()
@click.argument("readings", nargs=-1)
@engine_option
@click.option("--plate", default="camshaft", help="The plate turns with: camshaft or crankshaft.")
@click.option("--radius", default="", help="Of the plate at its rim: '35 mm'.")
@json_option
@build_option
@where_option
def strobe(
    readings: tuple[str, ...],
    engine_path: Path | None,
    plate: str,
    radius: str,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Timing under the strobe: readings such as 1200:8 and 4000:31, against the book's curve.

    heard:8 is a reading at the idle speed of the latest recording in the book.

    Exit code 0: right as far as a strobe can tell. 1: something to move. 2: bad input.
    """
    from tickover.pages.strobe import curve_of_engine, readings_in_book, strobe_json, strobe_page
    from tickover.quantities import parse
    from tickover.tasks.listen.in_book import heard_idle
    from tickover.tasks.strobe import HEARD, reading_at_heard_idle, reading_of_words

    size = parse(radius, "length", None, "The radius").value_si if radius else None
    at_idle = tuple(text for text in readings if text.casefold().startswith(HEARD))
    read = tuple(reading_of_words(text) for text in readings if text not in at_idle)
    if at_idle and engine_path is not None:
        raise InputError("The idle speed heard stands in the book", given=at_idle[0],
                         instead="the command without --engine")  # fmt: skip
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
    else:
        from tickover.cli.opening import chosen_build

        with chosen_build(where, build_name) as bench:
            engine = bench.engine
            idle, curve = heard_idle(bench.state), curve_of_engine(engine)
            for text in at_idle:
                angle = reading_of_words(text.casefold().replace(HEARD, "1000", 1)).degrees
                read = (*read, reading_at_heard_idle(angle, idle, curve))
            read = read or readings_in_book(engine, bench.state)
    page = strobe_page(engine, read, plate.casefold(), size)
    if as_json:
        echo_json(strobe_json(page))
    else:
        print_strobe(page)
    raise click.exceptions.Exit(0 if page.found.within else 1)


def print_strobe(page: StrobePage) -> None:
    """The strobe page in the terminal."""
    click.secho(page.title, bold=True)
    wrapped(page.verdict)
    click.echo("    rpm   read  wanted     off   after   (degrees before the top)")
    for speed, read, wanted, off, after in page.lines:
        click.echo(f"  {speed:>5} {read:>6} {wanted:>7} {off:>7} {after:>7}")
    wrapped(page.move)
    for words in page.says:
        wrapped(words)
    for caution in page.cautions:
        wrapped(f"! {caution}")
