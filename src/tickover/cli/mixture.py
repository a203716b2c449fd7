"""`tickover mixture`: from files, from a sensor's log, or from the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Body, Work
    from tickover.engine import EngineFile
    from tickover.pages.mixture import MixturePage
    from tickover.tasks.mixture.in_book import MixtureBook
    from tickover.tasks.mixture.readings import Reading
    from tickover.tasks.mixture.trim import Trim


@click.command()
@engine_option
@click.option("--readings", type=click.Path(path_type=Path),
              help="CSV: opening,speed,lambda,word,note.")  # fmt: skip
@click.option("--log", "log_path", type=click.Path(path_type=Path),
              help="A sensor's log (CSV), cleaned and put into cells.")  # fmt: skip
@click.option("--column", "columns", multiple=True,
              help="Which column of the log is which: 'speed=RPM', 'lambda=O2'.")  # fmt: skip
@click.option("--delay", default="", help="The sensor's delay, such as '0.3 s'; else it is found.")
@click.option("--set", "changes", multiple=True,
              help="What is in, if not as the file has it: 'main 102', 'clip 4'.")  # fmt: skip
@click.option("--air", "air_said", multiple=True,
              help="What it breathes now: 'open', 'box 5 cmH2O', 'baffles out', "
              "'height 600 m'.")  # fmt: skip
@click.option("--ready", multiple=True,
              help="A state to have jets ready for: 'height 2000 m, 5 C, open'.")  # fmt: skip
@click.option("--keep", "keep", is_flag=True, help="Keep --set and --air in the book.")
@json_option
@build_option
@where_option
def mixture(
    engine_path: Path | None,
    readings: Path | None,
    log_path: Path | None,
    columns: tuple[str, ...],
    delay: str,
    changes: tuple[str, ...],
    air_said: tuple[str, ...],
    ready: tuple[str, ...],
    keep: bool,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Mixture: a stop first, then what to change, what to expect, what to read next.

    Exit code 0: nothing to change. 1: something to change, to read, or a stop. 2: bad input.
    """
    from tickover.pages.mixture import mixture_page
    from tickover.pages.mixture_json import mixture_json

    said = _pairs(changes)
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        read, cleaned = _read(readings, log_path, columns, delay)
        book = _book_of(engine, read, said, air_said)
        page = mixture_page(engine, book, states=_states(ready, book))
        if cleaned and not as_json:
            for words in cleaned:
                wrapped(words)
    else:
        if readings is not None or log_path is not None:
            raise InputError(
                "Readings from a file need the engine file too", instead="--engine E.toml"
            )
        page = _from_book(where, build_name, said, air_said, ready, keep)
    if page.refused is not None and not page.stop:
        raise page.refused
    if as_json:
        echo_json(mixture_json(page))
    else:
        print_mixture(page)
    raise click.exceptions.Exit(0 if page.settled else 1)


def _from_book(
    where: str | None, build_name: str, said: dict[str, str], air_said: tuple[str, ...],
    ready: tuple[str, ...], keep: bool,
) -> MixturePage:  # fmt: skip
    from tickover.cli.opening import chosen_build, now, writer
    from tickover.pages.building import head_for
    from tickover.pages.mixture import mixture_page
    from tickover.tasks.mixture.in_book import mixture_book, setting_entries

    with chosen_build(where, build_name) as bench:
        engine = bench.engine
        if said or air_said:
            if not keep:
                raise InputError(
                    "What is in a build is changed by an entry", instead="--keep beside --set"
                )
            bodies: list[Body] = [_air_entry(text) for text in air_said]
            if said:
                works, _ = setting_entries(mixture_book(engine, bench.state), said)
                bodies += works
            bench.store.append(bench.build.id, bodies, at=now(), by=writer())
        book = mixture_book(engine, bench.state)
        head = head_for(bench.build, bench.state)
        return mixture_page(engine, book, head, _states(ready, book))


def _pairs(changes: tuple[str, ...]) -> dict[str, str]:
    said = {}
    for text in changes:
        what, _, value = text.strip().replace("=", " ").partition(" ")
        if not value.strip():
            raise InputError("A setting needs its value", given=text, instead="'main 102'",
                             where="--set")  # fmt: skip
        said[what.casefold()] = value.strip()
    return said


def _read(
    readings: Path | None, log_path: Path | None, columns: tuple[str, ...], delay: str
) -> tuple[tuple[Reading, ...], list[str]]:
    from tickover.quantities import parse
    from tickover.tasks.mixture import clean, read_log, readings_from_csv, readings_of

    found: tuple[Reading, ...] = ()
    words: list[str] = []
    if readings is not None:
        found = readings_from_csv(readings, str(readings))
    if log_path is not None:
        names = dict(text.partition("=")[::2] for text in columns)
        seconds = parse(delay, "time", "s", "The delay").value_si if delay else None
        cleaned = clean(read_log(log_path, str(log_path), names or None), seconds)
        found += readings_of(cleaned, str(log_path))
        how = "found" if cleaned.delay_found else "as told"
        words.append(
            f"Log: {cleaned.seconds:.0f} s, {cleaned.steady_seconds:.0f} s of it steady, "
            f"{len(cleaned.cells)} cells; sensor delay {cleaned.delay:.2f} s ({how})."
        )
        for stretch in cleaned.left_out[:8]:
            words.append(f"Left out {stretch.start:.0f} to {stretch.end:.0f} s: {stretch.why}.")
    return found, words


def _book_of(
    engine: EngineFile, read: tuple[Reading, ...], said: dict[str, str], air_said: tuple[str, ...]
) -> MixtureBook:
    from tickover.tasks.mixture.in_book import mixture_book, reading_entry, setting_entries
    from tickover.tasks.scratch import scratch_state

    bodies: list[Body] = [_air_entry(text) for text in air_said]
    if said:
        works, _ = setting_entries(mixture_book(engine, scratch_state(bodies)), said)
        bodies += works
    bodies += [reading_entry(reading) for reading in read]
    return mixture_book(engine, scratch_state(bodies))


def _air_entry(text: str) -> Work:
    from tickover.tasks.mixture.in_book import BAFFLES, FILTER, HEIGHT, trim_entry

    what, _, rest = text.strip().casefold().partition(" ")
    if what == "open":
        return trim_entry(FILTER, "open")
    for word, kind in (("box", FILTER), ("baffles", BAFFLES), ("height", HEIGHT)):
        if what == word and rest:
            return trim_entry(kind, rest)
    raise InputError(
        "This says nothing of what the engine breathes", given=text,
        allowed="open, 'box 5 cmH2O', 'baffles in', 'baffles out', 'height 600 m'", where="--air",
    )  # fmt: skip


def _states(ready: tuple[str, ...], book: MixtureBook) -> tuple[Trim, ...]:
    from tickover.tasks.mixture.trim import state_of_words

    return tuple(state_of_words(text, book.trim) for text in ready)


def print_mixture(page: MixturePage) -> None:
    """The mixture page in the terminal."""
    click.secho(page.title, bold=True)
    if page.stop:
        click.secho(f"■ {page.verdict}", fg="red", bold=True)
        click.echo("Look first at:")
        for words in page.look_first:
            wrapped(words, "  ")
        if page.richer:
            click.echo("Then start again rich, with:")
            for words in page.richer:
                wrapped(words, "  ")
        if page.refused is not None:
            wrapped(str(page.refused))
    else:
        wrapped(page.verdict)
        wrapped(page.effort)
        if page.rich_first:
            wrapped(page.rich_first)
    if page.head and page.head.loose_ends:
        for end in page.head.loose_ends:
            click.echo(f"  ! loose end: {end.words} (since {end.since})")
    click.echo(f"In now: {page.in_now}")
    click.echo(f"Breathes: {page.breathes}")
    if page.road:
        heading("Lambda along the road, with 90 % intervals")
        for line in page.road:
            after = f"  then {line.after}" if line.after else ""
            click.echo(f"  {line.opening:16} should be {line.target}  now {line.before}{after}")
        wrapped(page.lean_words)
    if page.advice is not None:
        heading("The map" if not page.steps else "The map after the change")
        from tickover.pages.mixture_map import map_rows

        for first, *cells in map_rows(page):
            click.echo(f"  {first:>6} " + "".join(f"{cell:>8}" for cell in cells))
        click.echo("  ▲ leaner, ▼ richer than it should be by more than 2 %")
        wrapped(page.masked, "  ")
    heading("What a step of each adjuster does, % of lambda (down is richer)")
    click.echo("  " + " " * 30 + "  idle  1/16   1/8   1/4   1/2   3/4  full")
    for each in page.influence:
        figures = "".join(f"{p:+6.1f}" for p in each.percent)
        click.echo(f"  {each.adjuster + ', ' + each.step:30}{figures}")
    wrapped(page.rule, "  ")
    heading("What to read next")
    wrapped(page.next_reading)
    if page.rounds:
        heading("Read so far")
        for one in page.rounds:
            click.secho(f"{one.title}: {one.setting}", bold=True)
            click.echo(f"  {one.air}")
            for reading in one.readings:
                number = f" (entry {reading.entry})" if reading.entry else ""
                click.echo(f"  {reading.words}{number}")
    heading("Jets to have ready")
    for want in page.wants:
        click.echo(f"  {want.state:24} main {want.jet}, {want.interval}")
        if want.uncertain:
            wrapped(want.uncertain, "      ")
    wrapped(page.buy)
    for note in page.notes:
        wrapped(note)
    if page.assumed:
        wrapped(f"Assumed, because the engine file does not say: {'; '.join(page.assumed)}.")
    click.echo()
    wrapped(page.how)
    for caution in page.cautions:
        wrapped(f"! {caution}")
