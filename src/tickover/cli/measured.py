"""`tickover ratio` and `tickover degree-wheel`: measured on the engine, fed to the gauge."""

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
    from tickover.pages.measured import RatioPage, TimingPage

_WITHOUT = "A measurement without a book needs the engine file"


@click.command()
@engine_option
@click.option("--bore", default="", help="Without an engine file: '56 mm'.")
@click.option("--stroke", default="", help="Without an engine file: '56 mm'.")
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: place,kind,value,unit,note.")  # fmt: skip
@click.option("--chamber", default="", help="In the head, by burette: '15.9 +- 0.2 cc'.")
@click.option("--gasket", default="", help="Thickness when crushed: '1.0 mm'.")
@click.option("--gasket-hole", default="", help="Diameter: '57 mm'; else 2 % over the bore.")
@click.option("--deck", default="", help="Piston below the barrel's top: '0.4 mm'; above: minus.")
@click.option("--dome", default="", help="What the crown takes up: '2.1 cc'; a dish: minus.")
@json_option
@build_option
@where_option
def ratio(
    engine_path: Path | None,
    bore: str,
    stroke: str,
    readings: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
    **typed: str,
) -> None:
    """Compression ratio from measured volumes, with what it does to the needle.

    Exit code 0: as the engine file tells. 1: not, or not measured. 2: bad input.
    """
    from tickover.pages.measured import ratio_json, ratio_of_readings

    said = {name.replace("_", " "): value for name, value in typed.items() if value}
    if engine_path is None and not (bore and stroke):
        if said or readings is not None or bore or stroke:
            raise InputError(
                _WITHOUT, instead="--engine E.toml, or --bore '56 mm' --stroke '56 mm'; for the "
                "book: tickover read 'ratio cyl1 chamber 15.9 cc'",
            )  # fmt: skip
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import ratio_page_of

        with chosen_build(where, build_name) as bench:
            page = ratio_page_of(bench.build, bench.state)
    else:
        from tickover.tasks.compression.measured_entries import entries_from_csv, volume_entry

        engine = _engine(engine_path, bore, stroke)
        made = [volume_entry("", kind, value) for kind, value in said.items()]
        if readings is not None:
            cylinders = engine.engine.cylinders
            made += entries_from_csv(readings, str(readings), cylinders, wheel=False)
        page = ratio_of_readings(engine, made)
    if as_json:
        echo_json(ratio_json(page))
    else:
        print_ratio(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _engine(path: Path | None, bore: str, stroke: str) -> EngineFile:
    import json

    from tickover.engine import load_engine_file, parse_engine_file

    if path is not None:
        if bore or stroke:
            raise InputError("Either an engine file, or bore and stroke", given=bore or stroke)
        return load_engine_file(path)
    return parse_engine_file(
        f'[engine]\nname = "none"\nlayout = "single"\nbore = {json.dumps(bore)}\n'
        f"stroke = {json.dumps(stroke)}\n",
        "these options",
    )


def print_ratio(page: RatioPage) -> None:
    """The page of ratios in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    for found in page.found:
        click.echo(f"  {mark(found.state)} {found.place:6} {found.state}")
        wrapped(found.sentence, "      ")
        click.echo(f"      {1e6 * found.measured.clearance:.2f} cc above the piston at the top")
        for words, sd in found.measured.shares:
            click.echo(f"      {sd:9.3f}  of the give or take, from {words}")
    for place, why in page.refused:
        wrapped(f"{place}: {why}", "  ")
    if page.needle:
        wrapped(page.needle)
    click.echo()
    wrapped(page.how)
    for caution in page.cautions:
        wrapped(f"! {caution}")


@click.command(name="degree-wheel")
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: place,kind,value,unit,note.")  # fmt: skip
@click.option("--stop", nargs=2, default=("", ""), help="Piston stop before and after: 42 45.")
@click.option("--inlet", nargs=2, default=("", ""), help="Opens before top, closes after bottom.")
@click.option("--exhaust", nargs=2, default=("", ""), help="Opens before bottom, closes after top.")
@click.option("--teeth", type=int, help="Of the cam sprocket, where the file does not say.")
@json_option
@build_option
@where_option
def degree_wheel(
    engine_path: Path | None,
    readings: Path | None,
    stop: tuple[str, str],
    inlet: tuple[str, str],
    exhaust: tuple[str, str],
    teeth: int | None,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Cam timing: lobe centres, duration, overlap, error in crank degrees and sprocket teeth.

    As in: tickover degree-wheel --engine E.toml --stop 42 45 --inlet 12 48 --exhaust 48 12

    Exit code 0: as the engine file tells. 1: not, or not measured. 2: bad input.
    """
    from tickover.pages.measured import timing_json, timing_of_readings

    pairs = {"piston stop before": stop[0], "piston stop after": stop[1], "inlet opens": inlet[0],
             "inlet closes": inlet[1], "exhaust opens": exhaust[0],
             "exhaust closes": exhaust[1]}  # fmt: skip
    said = {kind: value for kind, value in pairs.items() if value}
    if engine_path is None:
        if said or readings is not None or teeth is not None:
            raise InputError(_WITHOUT, instead="--engine E.toml; for the book: tickover read "
                             "'wheel inlet opens 12'")  # fmt: skip
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import timing_page_of

        with chosen_build(where, build_name) as bench:
            page = timing_page_of(bench.build, bench.state)
    else:
        from tickover.engine import load_engine_file
        from tickover.tasks.compression.measured_entries import entries_from_csv, wheel_entry

        engine = load_engine_file(engine_path)
        made = [wheel_entry(kind, value) for kind, value in said.items()]
        if readings is not None:
            cylinders = engine.engine.cylinders
            made += entries_from_csv(readings, str(readings), cylinders, wheel=True)
        page = timing_of_readings(engine, made, teeth)
    if as_json:
        echo_json(timing_json(page))
    else:
        print_timing(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def print_timing(page: TimingPage) -> None:
    """The page of cam timing in the terminal."""
    click.secho(page.title, bold=True)
    wrapped(page.verdict)
    for name, state, words, facts in page.lines:
        click.echo(f"  {mark(state)} {name:8} {state}" if state else f"    {name}")
        if words:
            wrapped(words, "      ")
        for fact in facts:
            click.echo(f"      {fact}")
    if page.needle:
        wrapped(page.needle)
    click.echo()
    wrapped(page.how)
    for caution in page.cautions:
        wrapped(f"! {caution}")
