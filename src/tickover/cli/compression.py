"""`tickover compression` and `tickover leakdown`: from files, from the book, or from two gauges."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.engine import EngineFile
    from tickover.pages.compression import CompressionPage
    from tickover.tasks.compression import Conditions, CylinderReadings

_CONDITIONS = (
    ("altitude", "Workshop above the sea: '600 m'."),
    ("air pressure", "From the weather report, at sea level: '1008 hPa'."),
    ("air temperature", "'20 C'."),
    ("engine temperature", "When it is not cold: '70 C'."),
    ("cranking speed", "'300 rpm'."),
    ("slow speed", "Of the second, slower test: '200 rpm'."),
    ("throttle", "open or shut."),
    ("battery", "charged or weak."),
    ("strokes", "Compression strokes counted."),
    ("hose", "Volume of the gauge's hose: '6 cc'."),
    ("check valve", "plug or gauge: the end of the hose it sits at."),
    ("oil", "For the wet test: '1 cc'."),
    ("master jet", "Of the leak-down tester: '1.0 mm'."),
    ("supply", "Of the leak-down tester: '100 psi'."),
    ("rings", "seated or new."),
    ("cam late", "By the degree wheel, crank degrees late."),
)
"""Everything that can be said about how the test was done; each is an option."""


def _condition_options(command: Callable[..., Any]) -> Callable[..., Any]:
    for kind, words in reversed(_CONDITIONS):
        name = "--" + kind.replace(" ", "-")
        command = click.option(name, kind.replace(" ", "_"), default="", help=words)(command)
    return command


def _day(day: Conditions, said: dict[str, str]) -> Conditions:
    from tickover.tasks.compression.tables import condition

    for kind, _ in _CONDITIONS:
        value = said.get(kind.replace(" ", "_"), "")
        if value:
            try:
                day = condition(day, kind, value, "")
            except InputError as wrong:
                raise InputError(
                    wrong.problem, given=wrong.given, allowed=wrong.allowed,
                    instead=wrong.instead, where="--" + kind.replace(" ", "-"),
                ) from None  # fmt: skip
    return day


@click.command()
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: place,kind,value,unit,note.")  # fmt: skip
@click.option("--tight", multiple=True, help="A valve found without clearance, such as ex2.")
@_condition_options
@json_option
@build_option
@where_option
def compression(
    engine_path: Path | None,
    readings: Path | None,
    tight: tuple[str, ...],
    as_json: bool,
    build_name: str,
    where: str | None,
    **said: str,
) -> None:
    """Compression: what the gauge should say, what it says, the causes, the next check.

    Exit code 0: all good and even. 1: something out, undecided or not measured. 2: bad input.
    """
    from tickover.pages.compression import compression_json

    if engine_path is not None:
        page = _from_files(engine_path, readings, tight, said)
    elif readings is not None or tight:
        raise InputError("Readings from a file need the engine file too", instead="--engine E.toml")
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import compression_page_of

        if any(said.values()):
            raise InputError(
                "How a kept test was done stands in the book",
                given=", ".join(k for k, v in said.items() if v),
                instead="it beside the readings when they are kept, or use --engine",
            )
        with chosen_build(where, build_name) as bench:
            page = compression_page_of(bench.build, bench.state)
    if as_json:
        echo_json(compression_json(page))
    else:
        print_compression(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _read(
    engine_path: Path, readings: Path | None, said: dict[str, str]
) -> tuple[EngineFile, tuple[CylinderReadings, ...], Conditions]:
    from tickover.engine import load_engine_file
    from tickover.tasks.compression import conditions_from_file, readings_from_csv

    engine = load_engine_file(engine_path)
    day = conditions_from_file(engine)
    read: tuple[CylinderReadings, ...] = ()
    if readings is not None:
        read, day = readings_from_csv(readings, str(readings), engine.engine.cylinders, day)
    return engine, read, _day(day, said)


def _from_files(
    engine_path: Path, readings: Path | None, tight: tuple[str, ...], said: dict[str, str]
) -> CompressionPage:
    from tickover.pages.compression import compression_page
    from tickover.tasks.compression import OtherEvidence, assess, spec_from_file

    engine, read, day = _read(engine_path, readings, said)
    other = OtherEvidence()
    for text in tight:
        place = engine.place(text)
        table = other.tight_inlet if place.kind == "in" else other.tight_exhaust
        table[f"cyl{place.cylinder}"] = 0.7
    return compression_page(engine, assess(spec_from_file(engine), read, day, other))


def print_compression(page: CompressionPage) -> None:
    """The compression page in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    if page.head and page.head.loose_ends:
        for end in page.head.loose_ends:
            click.echo(f"  ! loose end: {end.words} (since {end.since})")
    wrapped(page.expected)
    wrapped(page.climb)
    heading("Cylinders")
    for line in page.lines:
        what = line.reading or (f"was {line.was}, void" if line.was else "not measured")
        beside = f" ({line.beside})" if line.beside else ""
        click.echo(f"  {mark(line.state)} {line.name:11} {what}{beside}: {line.state}")
        if line.state != "open":
            wrapped(line.sentence, "      ")
        for words, chance in line.causes[:6]:
            click.echo(f"      {chance:>9}  {words}")
        if line.leak:
            click.echo(f"      leak when cranking {line.leak}")
        if line.leakdown:
            click.echo(f"      leak-down {line.leakdown}")
        if line.cross_check:
            wrapped(line.cross_check, "      ")
    if page.even:
        heading("Even or not")
        for rule in page.even:
            wrapped(rule, "  ")
    if page.engine:
        heading("What may move all cylinders alike")
        for words, chance in page.engine:
            click.echo(f"  {chance:>9}  {words}")
    if page.alike:
        heading("What cannot be told")
        for words in page.alike:
            wrapped(words, "  ")
        wrapped(page.sampling, "  ")
    if page.next_check:
        heading("What next")
        wrapped(page.next_check)
        for what, minutes, bits in page.next_checks:
            click.echo(f"  {bits:>9}  {what}, {minutes}")
    heading("What each influence is worth here")
    for what, change in page.influences:
        click.echo(f"  {change:>9}  {what}")
    if page.unseated:
        wrapped(page.unseated)
    for remark in page.remarks:
        wrapped(remark, "  ")
    click.echo()
    wrapped(page.how)
    for caution in page.cautions:
        wrapped(f"! {caution}")


@click.command()
@click.argument("figure", nargs=-1)
@click.option("--engine", "engine_path", type=click.Path(path_type=Path),
              help="Engine file (TOML), for readings of an engine.")  # fmt: skip
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: place,kind,value,unit,note; its leakdown lines count.")  # fmt: skip
@click.option("--master-jet", default="", help="Hole of the tester: '1.0 mm' (usual), '0.040 in'.")
@click.option("--supply", default="", help="What the tester is set to: '100 psi' (usual).")
@click.option("--altitude", default="", help="Workshop above the sea: '600 m'.")
@click.option("--other-jet", default="", help="Another tester's hole, to compare with.")
@click.option("--other-supply", default="", help="Another tester's supply.")
@json_option
def leakdown(
    figure: tuple[str, ...],
    engine_path: Path | None,
    readings: Path | None,
    master_jet: str,
    supply: str,
    altitude: str,
    other_jet: str,
    other_supply: str,
    as_json: bool,
) -> None:
    """Leak-down as the area of the leak, so that two testers and two tests can be compared.

    FIGURE: '12 %' or both gauges, '60/80 psi'. Or --engine and --readings for a whole engine.

    Exit code 0, with readings of an engine 1 when a leak is suspect. 2: bad input.
    """
    said = {"master_jet": master_jet, "supply": supply, "altitude": altitude}
    if engine_path is not None:
        if figure:
            raise InputError("Either a figure or an engine's readings", given=" ".join(figure))
        _leaks_of_engine(engine_path, readings, said, as_json)
        return
    if readings is not None or not figure:
        raise InputError(
            "A leak-down needs its figure, or an engine file with readings",
            instead="'12 %', '60/80 psi', or --engine E.toml --readings R.csv",
        )
    _one_figure(" ".join(figure), said, other_jet, other_supply, as_json)


def _one_figure(
    text: str, said: dict[str, str], other_jet: str, other_supply: str, as_json: bool
) -> None:
    from tickover.tasks.compression import (
        PSI,
        Conditions,
        CylinderReadings,
        leak_figure,
        percent_on,
    )
    from tickover.tasks.compression.leaks import FAA_SUSPECT_PERCENT
    from tickover.tasks.compression.tables import leak_percent

    day = _day(Conditions(), said)
    value, unit = text, ""
    if "/" in text:
        value, _, unit = text.partition(" ")
        unit = unit.strip()
    percent = leak_percent(value.replace("percent", "%"), unit, day)
    found = leak_figure(CylinderReadings("cyl1", leak_percent=percent), day)
    assert found is not None
    other = _day(day, {"master_jet": other_jet, "supply": other_supply})
    there = None
    if found.area_mm2 is not None and (other_jet or other_supply):
        there = percent_on(
            found.area_mm2[1], other.supply_pressure, other.jet_area, other.air_pressure
        )
    data = {
        "percent": round(percent, 3),
        "master_jet_mm": round(1e3 * (day.jet_diameter or 1e-3), 4),
        "supply_psi": round(day.supply_pressure / PSI, 2),
        "area_mm2": None if found.area_mm2 is None else [round(x, 4) for x in found.area_mm2],
        "other_tester_percent": None if there is None else round(there, 2),
        "remark": found.remark,
    }
    if as_json:
        echo_json(data)
        return
    click.echo(f"{percent:.1f} % lost behind a jet of {data['master_jet_mm']:g} mm at "
               f"{data['supply_psi']:g} psi.")  # fmt: skip
    if found.area_mm2 is not None:
        low, middle, high = found.area_mm2
        wrapped(f"A leak of {middle:.2f} mm² effective area ({low:.2f} to {high:.2f}).")
    if there is not None:
        click.echo(f"The other tester would show {there:.1f} %.")
    if found.remark:
        wrapped(found.remark)
    wrapped(
        f"Rule of AC 43.13-1B: more than {FAA_SUSPECT_PERCENT:.0f} % at 80 psi behind a 0.040 in "
        "jet is suspect; it is written for aircraft cylinders. Percent depends on the jet: compare "
        "testers through the area only."
    )
    wrapped("! Air turns the crank: lock it, stand clear, open the valve slowly.")


def _leaks_of_engine(
    engine_path: Path, readings: Path | None, said: dict[str, str], as_json: bool
) -> None:
    from tickover.pages.compression import compression_page
    from tickover.tasks.compression import assess, spec_from_file

    engine, read, day = _read(engine_path, readings, said)
    if not any(r.leak_percent is not None for r in read):
        raise InputError(
            "There is no leak-down reading", given=str(readings or "no readings"),
            instead="a line such as cyl1,leakdown,12,percent,",
        )  # fmt: skip
    page = compression_page(engine, assess(spec_from_file(engine), read, day))
    lines = [line for line in page.lines if line.leakdown]
    suspect = any(line.state != "good" for line in lines)
    if as_json:
        from tickover.pages.compression import compression_json

        data = compression_json(page)
        kept = [row for row in data["cylinders"] if row["leakdown"] is not None]
        echo_json({"cylinders": kept, "effective_sample_size": data["effective_sample_size"],
                   "cannot_tell_apart": data["cannot_tell_apart"],
                   "next_check": data["next_check"]})  # fmt: skip
    else:
        click.secho("Leak-down", bold=True)
        for line in lines:
            click.echo(f"  {mark(line.state)} {line.name:11} {line.leakdown}: {line.state}")
            wrapped(line.sentence, "      ")
            if line.cross_check:
                wrapped(line.cross_check, "      ")
        for remark in page.remarks:
            wrapped(remark, "  ")
        wrapped(f"! {page.cautions[-1]}")
    raise click.exceptions.Exit(1 if suspect else 0)
