"""`tickover torque`: order, rounds, preload; from the book, an engine file or a thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.fasteners import FastenersPage


@click.command()
@click.argument("torque_typed", metavar="[TORQUE]", default="")
@click.option("--thread", "thread_name", default="", help="M8, M10x1.25, 3/8 BSF, 2 BA ...")
@click.option("--class", "property_class", default=None, help="Stamped on the head: 8.8.")
@click.option("--surface", default="oiled", show_default=True,
              help="dry, zinc plated, oiled or cadmium plated.")  # fmt: skip
@click.option("--factor", default="", help="K in torque = K x preload x diameter, if known.")
@click.option("--into", default=None, help="aluminium, cast iron or steel.")
@click.option("--engaged", default="", help="Full thread in the hole: '14 mm'.")
@engine_option
@json_option
@build_option
@where_option
def torque(
    torque_typed: str,
    thread_name: str,
    property_class: str | None,
    surface: str,
    factor: str,
    into: str | None,
    engaged: str,
    engine_path: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Tightening: order, rounds, preload with its spread, what is done.

    With a TORQUE ('23 Nm', '17 lbf ft') it is shown in every unit, and with --thread as preload;
    without one, the fasteners of the build or of the engine file.

    Exit code 0: all tightened, nothing overloaded. 1: something is not. 2: bad input.
    """
    if torque_typed:
        good = _one_torque(
            torque_typed, thread_name, property_class, surface, factor, into, engaged, as_json
        )
        raise click.exceptions.Exit(0 if good else 1)
    if thread_name or property_class or factor or engaged:
        raise InputError(
            "A thread needs a torque too", instead="tickover torque '23 Nm' --thread M8"
        )
    from tickover.pages.fasteners import fasteners_json, fasteners_page

    if engine_path is not None:
        from tickover.book.state import State
        from tickover.engine import load_engine_file

        page = fasteners_page(load_engine_file(engine_path), State())
    else:
        from tickover.cli.opening import chosen_build
        from tickover.pages.building import fasteners_page_of

        with chosen_build(where, build_name) as bench:
            page = fasteners_page_of(bench.build, bench.state)
    if as_json:
        echo_json(fasteners_json(page))
    else:
        print_fasteners(page)
    raise click.exceptions.Exit(0 if page.all_good else 1)


def _one_torque(
    typed: str,
    thread_name: str,
    property_class: str | None,
    surface: str,
    factor: str,
    into: str | None,
    engaged: str,
    as_json: bool,
) -> bool:
    from tickover.pages.fasteners import (
        TORQUE_UNITS,
        WHY_PRELOAD,
        preload_words,
        sums_json,
        torque_words,
    )
    from tickover.pages.wording import sentence
    from tickover.quantities import parse, parse_number, to_unit
    from tickover.tasks.fasteners import CAUTIONS, SHEAR_PA, torque_sums

    given = parse(typed, "torque", None, "A torque")
    if given.value_si <= 0:
        raise InputError("A torque must be above zero", given=typed)
    if into is not None and into not in SHEAR_PA:
        raise InputError("Not a material known here", given=into, allowed=", ".join(SHEAR_PA))
    if (into is None) != (not engaged):
        raise InputError("The hole is told by what it is in and how deep",
                         instead="--into aluminium --engaged '14 mm'")  # fmt: skip
    sums = None
    if thread_name:
        sums = torque_sums(
            given.value_si, thread_name, property_class, surface,
            float(parse_number(factor, "K")) if factor else None, into,
            parse(engaged, "length", None, "The engaged length").value_si if engaged else None,
        )  # fmt: skip
    elif property_class or factor or engaged:
        raise InputError("The preload needs the thread", instead="--thread M8")
    good = sums is None or not sums.overloaded
    if as_json:
        units = {unit: round(to_unit(given.value_si, unit, "torque"), 4) for unit in TORQUE_UNITS}
        warnings = list(sums.warnings) if sums is not None else []
        echo_json({"torque": units, **sums_json(sums), "overloaded": not good,
                   "warnings": warnings})  # fmt: skip
        return good
    shown, others = torque_words(given.value_si, given.unit)
    click.secho(f"{shown} = {others}", bold=True)
    if sums is not None:
        preload, of_proof, of_thread = preload_words(sums, "N")
        click.echo(f"  preload {preload}")
        if of_proof:
            click.echo(f"  of proof load: {of_proof}")
        if of_thread:
            click.echo(f"  of what the thread in the {into} holds: {of_thread}")
        for words in sums.warnings:
            wrapped(f"! {sentence(words)}", "  ")
        wrapped(f"How: {WHY_PRELOAD.formula}. {WHY_PRELOAD.source}.", "  ")
    wrapped(f"! {CAUTIONS[0]}")
    return good


def print_fasteners(page: FastenersPage) -> None:
    """The page of the fasteners in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    if page.nothing:
        click.echo(page.nothing)
    for line in page.lines:
        heading(f"{line.name[:1].upper()}{line.name[1:]}, {line.torque}")
        click.echo(f"  {mark(line.state)} {line.state}: {line.state_text}")
        click.echo(f"  {line.other_units}")
        if line.thread:
            click.echo(f"  {line.thread}" + (f", {line.count} of them" if line.count else ""))
        if len(line.stages) > 1:
            click.echo(f"  rounds: {', '.join(line.stages)}")
        if line.order:
            click.echo(f"  order: {' '.join(map(str, line.order))} ({line.order_words})")
        if line.preload:
            click.echo(f"  preload {line.preload}")
        for what, words in (("proof load", line.of_proof), ("thread in the hole", line.of_thread)):
            if words:
                click.echo(f"  of the {what}: {words}")
        for words in line.warnings:
            wrapped(f"! {words}", "  ")
        if line.again_state:
            click.echo(f"  {mark(line.again_state)} tightened again: {line.again_text}")
        if line.note:
            wrapped(line.note, "  ")
        for words in line.dates:
            click.echo(f"  {words}")
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
