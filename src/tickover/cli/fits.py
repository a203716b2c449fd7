"""`tickover fits`: build measurements, from the book, an engine file, or plain readings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine import EngineFile
    from tickover.pages.fits import FitsPage


@click.command()
@click.argument("values", nargs=-1)
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="Readings, a short line each: 'cyl1 cylinder top along 61.012 mm'.")  # fmt: skip
@click.option("--kind", default="", help="Without an engine file: bore, journal, ring gap ...")
@click.option("--limits", default="", help="Without an engine file: '61.00..61.02 mm'.")
@click.option("--wear", default="", help="Without an engine file: wear limit, '61.10 mm'.")
@click.option("--error", "reading_error", default="", help="Give or take of one reading: '3 um'.")
@json_option
@build_option
@where_option
def fits(
    values: tuple[str, ...],
    engine_path: Path | None,
    readings: Path | None,
    kind: str,
    limits: str,
    wear: str,
    reading_error: str,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Build measurements: mean, taper, out-of-round, clearance, and whether they are good.

    VALUES: with --engine short lines ('cyl1 top ring 0.25 mm'); with --kind plain readings, as
    in: tickover fits --kind bore --limits '61.00..61.02 mm' --wear '61.10 mm' 61.012 61.018

    Exit code 0: all good. 1: something out, undecided or not measured. 2: bad input.
    """
    from tickover.pages.fits import fits_json

    if kind:
        if engine_path is not None or readings is not None:
            raise InputError("Either an engine file or a kind", given=kind)
        page = _plain(values, kind, limits, wear, reading_error)
    elif engine_path is not None:
        from tickover.engine import load_engine_file

        page = _from_lines(load_engine_file(engine_path), [*values, *_lines_of(readings)])
    elif values or readings is not None or limits or wear:
        raise InputError(
            "Readings without a book need an engine file or a kind",
            instead="--engine E.toml, or --kind bore --limits '61.00..61.02 mm'; readings for the "
            "book go in with tickover read 'fit ...'",
        )  # fmt: skip
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import fits_page_of

        with chosen_build(where, build_name) as bench:
            page = fits_page_of(bench.build, bench.state)
    if as_json:
        echo_json(fits_json(page))
    else:
        print_fits(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _lines_of(path: Path | None) -> list[str]:
    if path is None:
        return []
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as wrong:
        why = getattr(wrong, "strerror", None) or "text in UTF-8"
        raise InputError("The readings cannot be read", given=str(path), allowed=why) from None
    if len(text) > 1_000_000:
        raise InputError("The readings are too long", given=str(path), allowed="up to 1 MB")
    return [line for line in (raw.split("#")[0].strip() for raw in text.splitlines()) if line]


def _from_lines(engine: EngineFile, lines: list[str]) -> FitsPage:
    from tickover.pages.fits import fits_page_of_results
    from tickover.tasks.fit_line import understand_fit
    from tickover.tasks.fit_verdict import FitReading, check_name, judge_all

    read: dict[tuple[str, str], list[FitReading]] = {}
    for number, text in enumerate(lines, 1):
        try:
            line = understand_fit(engine, text.removeprefix("fit "))
        except InputError as wrong:
            raise InputError(
                wrong.problem, given=wrong.given, allowed=wrong.allowed, instead=wrong.instead,
                where=f"reading {number}",
            ) from None  # fmt: skip
        read.setdefault((check_name(line.fit), line.place), []).append(line.reading)
    results = judge_all(engine, lambda fit, place: read.get((check_name(fit), place), []))
    return fits_page_of_results(engine, results)


def _plain(
    values: tuple[str, ...], kind: str, limits: str, wear: str, reading_error: str
) -> FitsPage:
    import json

    from tickover.engine import parse_engine_file

    if not values:
        raise InputError("There is no reading", instead="one or more, as 61.012")
    # The engine file's own reader checks kind and limits, so that both faces refuse alike.
    keys = {"kind": kind, "limits": limits, "wear_limit": wear, "reading_error": reading_error}
    table = "\n".join(
        f"{key} = {json.dumps(word, ensure_ascii=False)}" for key, word in keys.items() if word
    )
    engine = parse_engine_file(
        f'[engine]\nname = "none"\nlayout = "single"\n[[fits]]\nname = "part"\n{table}\n',
        "these options",
    )
    return _from_lines(engine, [f"part {value}" for value in values])


def print_fits(page: FitsPage) -> None:
    """The page of the fits in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    if page.nothing:
        click.echo(page.nothing)
    for line in page.lines:
        click.echo(f"  {mark(line.state)} {line.title}: {line.state}")
        words = line.reading or (f"was {line.was}, void" if line.was else "")
        if words:
            chance = f"; in limits {line.chance}" if line.chance and line.state != "good" else ""
            wrapped(f"{words}{chance}", "      ")
        wrapped(f"limits {line.limits}", "      ")
        if line.state in ("open", "stale") and line.how:
            wrapped(line.how, "      ")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
