"""`tickover oil`, `timing`, `fuel`, `starting`, `check`: proving a machine before its start."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tickover.book.state import State
    from tickover.engine import EngineFile
    from tickover.pages.head import Head
    from tickover.pages.proving import ProvingLine, TruthLine
    from tickover.pages.why import Why

why_option = click.option("--why", is_flag=True, help="The sums behind each number.")


def _source(
    engine_path: Path | None, lines: Sequence[str], build_name: str, where: str | None
) -> tuple[EngineFile, State, Head | None]:
    """The machine, what was read of it, and whose build it is."""
    if engine_path is not None:
        from tickover.engine import load_engine_file
        from tickover.tasks.answers import answers_state

        engine = load_engine_file(engine_path)
        return engine, answers_state(engine, lines), None
    if lines:
        raise InputError(
            "Readings on this line are for a machine without a book", given=lines[0],
            instead="--engine E.toml with them, or tickover check ... to keep them",
        )  # fmt: skip
    from tickover.cli.opening import chosen_build
    from tickover.pages.building import engine_of, head_for

    with chosen_build(where, build_name) as bench:
        state = bench.state
        return engine_of(state), state, head_for(bench.build, state)


def _quantity(text: str, kind: str, engine: EngineFile, what: str) -> float | None:
    if not text:
        return None
    from tickover.quantities import parse

    return parse(text, kind, engine.show.unit(kind), what).value_si


@click.command()
@click.argument("readings", nargs=-1)
@click.option("--speed", default="", help="Crank speed: '320 rpm', or a range '280-360 rpm'.")
@click.option("--oil-at", default="", help="Oil temperature: '15 C'.")
@why_option
@json_option
@engine_option
@build_option
@where_option
def oil(
    readings: tuple[str, ...], speed: str, oil_at: str, why: bool, as_json: bool,
    engine_path: Path | None, build_name: str, where: str | None,
) -> None:  # fmt: skip
    """Oil: what to expect at an open line, at the gauge and at the switch.

    READINGS, with --engine: 'oil flow 70 ml in 8 s at 320 rpm', 'oil switch low 0.3 ohm'.
    Exit code 0: all settled. 1: something left. 2: bad input.
    """
    from tickover.pages.oil import oil_page
    from tickover.physics.bands import Band
    from tickover.quantities import parse_range

    engine, state, head = _source(engine_path, readings, build_name, where)
    turning: Band | float | None = None
    if speed and ("-" in speed or ".." in speed):
        span = parse_range(speed, "speed", "rpm", "The crank speed")
        turning = Band(span.low_si, span.high_si)
    elif speed:
        turning = _quantity(speed, "speed", engine, "The crank speed")
    warm = _quantity(oil_at, "temperature", engine, "The oil temperature")
    page = oil_page(engine, state, head, turning, warm)
    if as_json:
        echo_json(asdict(page))
    else:
        _top(page.title, page.verdict, page.head)
        _facts(("flow while cranking", page.flow), ("priming", page.priming),
               ("viscosity", page.viscosity), ("pressure", page.pressure))  # fmt: skip
        for note in (page.flow_note, page.switch_note):
            wrapped(note, "  ")
        _rest(page.checks, page.missing, page.cautions, page.whys if why else ())
    _leave(page.checks)


@click.command()
@click.argument("readings", nargs=-1)
@click.option("--timing", "typed", default="", help="'12 deg', '1.8 mm drop' or '10 mm arc'.")
@click.option("--leads", default="", help="Where the leads end, in the order they fire: 1-3-4-2.")
@why_option
@json_option
@engine_option
@build_option
@where_option
def timing(
    readings: tuple[str, ...], typed: str, leads: str, why: bool, as_json: bool,
    engine_path: Path | None, build_name: str, where: str | None,
) -> None:  # fmt: skip
    """Ignition: timing as degrees, drop and arc; leads against the firing order; coils at 20 C.

    READINGS, with --engine: 'static timing 1.8 mm drop', 'coil primary 1 4.4 ohm at 35 C'.
    Exit code 0: all settled. 1: something left. 2: bad input.
    """
    from tickover.pages.ignition import ignition_page
    from tickover.tasks.ignition import timing_degrees

    engine, state, head = _source(engine_path, readings, build_name, where)
    asked = timing_degrees(engine, typed) if typed else None
    page = ignition_page(engine, state, head, asked, leads)
    if as_json:
        echo_json(asdict(page))
    else:
        _top(page.title, page.verdict, page.head)
        for line in page.timings:
            click.echo(f"  {line.title:18} {line.words}")
        _facts(("firing order", page.firing_order), ("leads", page.leads))
        for words in page.coils:
            click.echo(f"  {words}")
        _rest(page.checks, page.missing, page.cautions, page.whys if why else ())
    _leave(page.checks)


@click.command()
@click.argument("readings", nargs=-1)
@why_option
@json_option
@engine_option
@build_option
@where_option
def fuel(
    readings: tuple[str, ...], why: bool, as_json: bool,
    engine_path: Path | None, build_name: str, where: str | None,
) -> None:  # fmt: skip
    """Fuel: how much vanishes before it is a leak, how much must flow; intake and exhaust.

    READINGS, with --engine: 'fuel flow 300 ml in 1 min', 'float height 2 22 mm'.
    Exit code 0: all settled. 1: something left. 2: bad input.
    """
    from tickover.pages.fuel import fuel_page

    engine, state, head = _source(engine_path, readings, build_name, where)
    page = fuel_page(engine, state, head)
    if as_json:
        echo_json(asdict(page))
    else:
        _top(page.title, page.verdict, page.head)
        _facts(("to fill from dry", page.fill), ("must flow", page.needed),
               ("water for needles", page.water), ("silencers", page.exhaust))  # fmt: skip
        for words in page.fill_parts:
            click.echo(f"    {words}")
        wrapped(page.fill_note, "  ")
        _rest(page.checks, page.missing, page.cautions, page.whys if why else ())
    _leave(page.checks)


@click.command()
@click.argument("readings", nargs=-1)
@why_option
@json_option
@engine_option
@build_option
@where_option
def starting(
    readings: tuple[str, ...], why: bool, as_json: bool,
    engine_path: Path | None, build_name: str, where: str | None,
) -> None:  # fmt: skip
    """Battery, earths, stop switch, and the interlocks tried in each state.

    READINGS, with --engine: 'battery at rest 12.6 V', 'stop switch off yes'.
    Exit code 0: all settled. 1: something left. 2: bad input.
    """
    from tickover.pages.starting import starting_page

    engine, state, head = _source(engine_path, readings, build_name, where)
    page = starting_page(engine, state, head)
    if as_json:
        echo_json(asdict(page))
    else:
        _top(page.title, page.verdict, page.head)
        for title, table in (("Stop switch", page.stop), ("Interlocks", page.interlocks)):
            _truth(title, table)
        if page.rule:
            wrapped(page.rule, "  ")
        _rest(page.checks, page.missing, page.cautions, page.whys if why else ())
    _leave((*page.checks, *page.stop, *page.interlocks))


@click.command()
@click.argument("words", nargs=-1, required=True)
@click.option("--with", "instrument", default="", help="What it was measured with.")
@json_option
@build_option
@where_option
def check(
    words: tuple[str, ...], instrument: str, as_json: bool, build_name: str, where: str | None
) -> None:
    """Keep the answer to a check: NAME [PLACE] ANSWER; without an answer, say how it is done.

    For example: check spark plug1 yes; check coil primary 1 '4.2 ohm at 25 C'.
    Exit code 0: the check is good. 1: it is not. 2: bad input.
    """
    from tickover.cli.opening import chosen_build
    from tickover.pages.proving import lines_of
    from tickover.plan.checks import check_states
    from tickover.tasks.answers import check_entries, find_check

    with chosen_build(where, build_name) as bench:
        engine = bench.engine
        every = [item.check for item in check_states(engine, bench.state)]
        meant, typed = find_check(every, " ".join(words))
        if typed:
            bodies = check_entries(engine, bench.state, meant, typed, instrument)
            if as_json:
                from tickover.cli.opening import now, writer

                bench.store.append(bench.build.id, bodies, at=now(), by=writer())
            else:
                keep(bench, *bodies)
        states = [s for s in check_states(engine, bench.state) if s.check.key == meant.key]
        loose = [end.opened.body.label for end in bench.state.open_loose_ends]
    line = lines_of(engine, states, [meant.name])[0]
    if as_json:
        echo_json({**asdict(line), "loose_ends": loose})
    else:
        wrapped(f"{mark(line.state)} {line.title}: {line.state_words}. {line.text}", "  ", "    ")
        if not typed:
            wrapped(line.how, "    ")
            asked = ", ".join(part for part in (line.prompt, line.limits) if part)
            wrapped(f"Asked: {asked or 'yes or no'}.", "    ")
            for caution in line.cautions:
                wrapped(f"! {caution}", "    ")
        for label in loose:
            click.echo(f"  ! loose end: {label}")
    raise click.exceptions.Exit(0 if line.state in ("good", "accepted") else 1)


def _top(title: str, verdict: str, head: Head | None) -> None:
    click.secho(f"{head.name}: {title}" if head is not None else title, bold=True)
    click.echo(verdict)
    for end in head.loose_ends if head is not None else ():
        click.echo(f"  ! loose end: {end.words} (since {end.since})")


def _facts(*facts: tuple[str, str]) -> None:
    for name, words in facts:
        if words:
            click.echo(f"  {name:20} {words}")


def _truth(title: str, table: Sequence[TruthLine]) -> None:
    if not table:
        return
    heading(title)
    for row in table:
        wrapped(f"{mark(row.state)} {row.tried}: {row.must}; {row.state_words}", "  ", "    ")


def _rest(
    checks: Sequence[ProvingLine], missing: Sequence[str], cautions: Sequence[str],
    whys: Sequence[Why],
) -> None:  # fmt: skip
    heading("Checks")
    for line in checks:
        said = f": {line.text}" if line.text else ""
        limits = f" ({line.limits})" if line.limits and not line.text else ""
        wrapped(f"{mark(line.state)} {line.title}{limits}: {line.state_words}{said}", "  ", "    ")
    for why in whys:
        heading(f"Why: {why.title}")
        for words in (*why.inputs, why.formula, why.source, why.uncertainty):
            wrapped(words, "  ")
    for words in missing:
        wrapped(f"not checked: {words}", "  ")
    click.echo()
    for caution in cautions:
        wrapped(f"! {caution}")


def _leave(lines: Sequence[Any]) -> None:
    settled = all(line.state in ("good", "accepted") for line in lines)
    raise click.exceptions.Exit(0 if settled and lines else 1)
