"""`tickover cable`, `drill`, `solder`: small fabrication, without a book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.controls import CableLine
    from tickover.pages.fabrication import FabricationPage

Command = TypeVar("Command", bound=Callable[..., Any])


def _size(name: str, words: str) -> Callable[[Command], Command]:
    return click.option(f"--{name.replace('_', '-')}", name, default="", help=words)


@click.command()
@click.argument("name", default="")
@click.option("--use", default="", help="throttle, clutch, cold start, decompressor ...")
@_size("route", "From seat to seat with a cord, bars straight: '900 mm'.")
@_size("caps", "What both end caps add, together.")
@_size("bare_at_lever", "Bare inner at lever or grip, at rest.")
@_size("bare_at_far_end", "Bare inner at the far end, slack taken up.")
@_size("travel", "How far the far nipple moves.")
@_size("adjuster_out", "How far the adjusters stand out when new.")
@_size("diameter", "Of the inner.")
@_size("breaking_load", "Of the inner, from its maker: '2100 N'.")
@_size("proof_load", "From the maker of the cable.")
@_size("working_load", "Greatest pull in use.")
@click.option("--solder-shear", default="", help="From the solder's data sheet: '37 MPa'.")
@engine_option
@json_option
@build_option
@where_option
def cable(
    name: str,
    use: str,
    solder_shear: str,
    engine_path: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
    **sizes: str,
) -> None:
    """Cables to make: what to cut, how much solder, the proof pull. No brake cables.

    NAME picks one of the engine file's; with --use the sizes come from the options.

    Exit code 0: everything known. 1: something is missing. 2: bad input.
    """
    from tickover.pages.controls import CABLE_CAUTIONS, WHY_CABLE, cable_json, cable_line

    if use:
        cables = [(None, _cable_of(name, use, solder_shear, sizes))]
    elif any(sizes.values()) or solder_shear:
        raise InputError("Say what the cable moves", instead="--use clutch")
    else:
        engine = _engine(engine_path, build_name, where)
        wanted = name.casefold()
        if "brake" in wanted:
            from tickover.physics.cable import refuse_brakes

            refuse_brakes(name)
        cables = [(engine, c) for c in engine.cables if c.name.casefold().startswith(wanted)]
        if not cables:
            known = ", ".join(each.name for each in engine.cables)
            raise InputError(
                "There is no such cable", given=name,
                allowed=known or "none yet, [[cables]] in the engine file",
            )  # fmt: skip
    lines = [cable_line(engine, each) for engine, each in cables]
    for line in lines:
        if line.refused and use:
            raise InputError(line.refused.rstrip("."))
    if as_json:
        echo_json([cable_json(line) for line in lines])
    else:
        for line in lines:
            _print_cable(line)
        wrapped(f"How: {WHY_CABLE.formula}.", "  ")
        click.echo()
        for caution in CABLE_CAUTIONS:
            wrapped(f"! {caution}")
    known_all = all(line.sheet is not None and not line.missing for line in lines)
    raise click.exceptions.Exit(0 if known_all else 1)


def _cable_of(name: str, use: str, solder_shear: str, sizes: dict[str, str]) -> Any:
    import json

    from tickover.engine import parse_engine_file

    keys = {"name": name or f"{use} cable", "use": use, **sizes, "solder_shear": solder_shear}
    table = "\n".join(
        f"{key} = {json.dumps(word, ensure_ascii=False)}" for key, word in keys.items() if word
    )
    text = f'[engine]\nname = "none"\nlayout = "single"\n[[cables]]\n{table}\n'
    # The engine file's own reader checks every size, so that both faces refuse alike.
    return parse_engine_file(text, "these options").cables[0]


def _engine(engine_path: Path | None, build_name: str, where: str | None) -> Any:
    if engine_path is not None:
        from tickover.engine import load_engine_file

        return load_engine_file(engine_path)
    from tickover.cli.opening import chosen_build

    with chosen_build(where, build_name) as bench:
        return bench.engine


def _print_cable(line: CableLine) -> None:
    heading(f"{line.name[:1].upper()}{line.name[1:]}, {line.use}")
    if line.refused:
        wrapped(f"! {line.refused}", "  ")
    for what, words in (
        ("outer", line.outer), ("inner", line.inner), ("spare travel", line.spare),
        ("solder", line.solder), ("proof pull", line.proof),
    ):  # fmt: skip
        if words:
            click.echo(f"  {what:13} {words}")
    for words in line.missing:
        wrapped(f"! {words}", "  ")


@click.command()
@click.argument("thread_name", metavar="THREAD")
@click.option("--percent", default="75", show_default=True, help="Of the screw's thread wanted.")
@click.option("--into", default="aluminium", show_default=True,
              help="What is tapped: aluminium, cast iron or steel.")  # fmt: skip
@click.option("--class", "property_class", default="8.8", show_default=True, help="Of the screw.")
@click.option("--shear", default="", help="Shear strength of what is tapped: '130 MPa'.")
@click.option("--engaged", default="", help="Full thread there is: '12 mm'.")
@click.option("--inches", is_flag=True, help="Lengths in inches.")
@json_option
def drill(
    thread_name: str,
    percent: str,
    into: str,
    property_class: str,
    shear: str,
    engaged: str,
    inches: bool,
    as_json: bool,
) -> None:
    """Holes for a THREAD: drill before the tap, hole to clear it, depth so that the screw breaks.

    Exit code 0: worked out. 1: with the thread engaged, it strips first. 2: bad input.
    """
    from tickover.pages.fabrication import drill_json, drill_page
    from tickover.quantities import parse, parse_number
    from tickover.tasks.fabrication import hole_sheet

    shear_pa = parse(shear, "pressure", None, "The shear strength").value_si if shear else None
    length = parse(engaged, "length", None, "The engaged length").value_si if engaged else None
    share = float(parse_number(percent.rstrip(" %"), "The percentage of thread"))
    sheet = hole_sheet(thread_name, share, into, property_class, shear_pa, length)
    if as_json:
        echo_json(drill_json(sheet))
    else:
        _print_page(drill_page(sheet, "in" if inches else "mm"))
    raise click.exceptions.Exit(1 if sheet.breaks_first is False else 0)


@click.command()
@click.option("--wall", required=True, help="Thickness of the thinner part: '1.5 mm'.")
@click.option("--strength", required=True, help="Of the weaker part, annealed: '400 MPa'.")
@click.option("--tube", default="", help="Outside diameter, where a tube goes into a socket.")
@click.option("--hole", default="", help="Hole, cold: '10.10 mm'.")
@click.option("--shaft", default="", help="What goes in, cold: '10.00 mm'.")
@click.option("--hole-in", default="steel", show_default=True, help="steel, iron, copper, bronze.")
@click.option("--shaft-of", default="steel", show_default=True, help="The same.")
@click.option("--shear", default="170 MPa", show_default=True, help="Of the solder in the joint.")
@json_option
def solder(
    wall: str,
    strength: str,
    tube: str,
    hole: str,
    shaft: str,
    hole_in: str,
    shaft_of: str,
    shear: str,
    as_json: bool,
) -> None:
    """A silver-soldered joint: lap, and gap cold and at heat.

    Exit code 0: worked out, gap right where it was asked. 1: the gap is wrong. 2: bad input.
    """
    from tickover.pages.fabrication import solder_json, solder_page
    from tickover.quantities import parse
    from tickover.tasks.fabrication import solder_sheet

    def length(text: str, what: str) -> float | None:
        return parse(text, "length", None, what).value_si if text else None

    sheet = solder_sheet(
        parse(wall, "length", None, "The thickness").value_si,
        parse(strength, "pressure", None, "The strength").value_si,
        length(hole, "The hole"), length(shaft, "The shaft"), hole_in, shaft_of,
        parse(shear, "pressure", None, "The shear strength").value_si, length(tube, "The tube"),
    )  # fmt: skip
    if as_json:
        echo_json(solder_json(sheet))
    else:
        _print_page(solder_page(sheet))
    raise click.exceptions.Exit(1 if sheet.gap_good is False else 0)


def _print_page(page: FabricationPage) -> None:
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    for row in page.rows:
        click.echo(f"  {row.what:26} {row.value}")
        if row.note:
            wrapped(row.note, " " * 6)
    for why in page.whys:
        wrapped(f"How: {why.formula}. {why.source}.", "  ")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
