"""`tickover wiring`: sizes, fuses, loom and continuity, from an engine file or the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import FileError, InputError

if TYPE_CHECKING:
    from tickover.book.state import State
    from tickover.cli.opening import TerminalBench
    from tickover.pages.loom import LoomPage, LoomTestPage
    from tickover.pages.wiring import WiringPage


@click.command()
@engine_option
@click.option("--continuity", "continuity_path", type=click.Path(path_type=Path),
              help="CSV: wire,end_to_end,to_earth.")  # fmt: skip
@click.option("--keep", is_flag=True, help="Keep those readings in the book.")
@click.option("--lamp", "lamps", multiple=True,
              help="Another lamp, to compare: 'tail lamp = 1 W'. Several times.")  # fmt: skip
@click.option("--board", "board_path", type=click.Path(path_type=Path),
              help="Write the loom board at full size, SVG.")  # fmt: skip
@json_option
@build_option
@where_option
def wiring(
    engine_path: Path | None,
    continuity_path: Path | None,
    keep: bool,
    lamps: tuple[str, ...],
    board_path: Path | None,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Wires: size and what decides it, fuses, loads against output, loom, what fails together.

    Exit code 0: all goes together and every wire is good. 1: something out or not read. 2: bad
    input.
    """
    from tickover.pages.loom import loom_json, loom_page, loom_test_page
    from tickover.pages.wiring import wiring_json, wiring_page
    from tickover.tasks.wiring.from_csv import continuity_from_csv
    from tickover.tasks.wiring.power import swap_words
    from tickover.tasks.wiring.sizing import size_loom

    if keep and (engine_path is not None or continuity_path is None):
        raise InputError("Readings are kept in a book, from a table",
                         instead="--continuity R.csv --keep, without --engine")  # fmt: skip
    state = None
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        text = engine_path.read_text(encoding="utf-8")
    else:
        from tickover.cli.opening import chosen_build

        with chosen_build(where, build_name) as bench:
            engine, state = bench.engine, bench.state
            if keep and continuity_path is not None:
                state = _kept(bench, continuity_path)
        text = state.engine_text
    powers = swap_words(engine, lamps) if lamps else None
    page = wiring_page(engine, state, text, powers)
    if page.refused:
        raise InputError(page.refused.rstrip("."))
    loom = loom_page(engine, state=state)
    read = None
    if continuity_path is not None and not keep:
        read = continuity_from_csv(size_loom(engine), continuity_path, str(continuity_path))
    test = loom_test_page(engine, state, read)
    if board_path is not None:
        _write_board(board_path, loom)
    if as_json:
        echo_json({"wiring": wiring_json(page), "loom": loom_json(loom), "test": loom_json(test)})
    else:
        print_wiring(page)
        print_loom(loom)
        print_test(test)
        click.echo()
        for caution in dict.fromkeys((*test.cautions, *page.cautions)):
            wrapped(f"! {caution}")
    raise click.exceptions.Exit(0 if not page.problems and test.all_good else 1)


def _kept(bench: TerminalBench, path: Path) -> State:
    """The state once the readings of a table are in the book."""
    from tickover.cli.opening import now, writer
    from tickover.tasks.wiring.from_csv import continuity_from_csv
    from tickover.tasks.wiring.in_book import readings_of
    from tickover.tasks.wiring.sizing import size_loom

    sizing = size_loom(bench.engine)
    bodies = readings_of(sizing, continuity_from_csv(sizing, path, str(path)))
    if bodies:
        bench.store.append(bench.build.id, bodies, at=now(), by=writer())
    click.echo(f"{len(bodies)} readings are in the book.", err=True)
    return bench.state


def _write_board(path: Path, loom: LoomPage) -> None:
    from tickover.pages.drawing.loom_board import board_svg

    try:
        path.write_text(board_svg(loom.board, embedded=True), encoding="utf-8")
    except OSError as error:
        raise FileError(f"This file cannot be written ({error.strerror})",
                        where=str(path)) from error  # fmt: skip


def print_wiring(page: WiringPage) -> None:
    """Problems, fuses, sizes, drops and balance in the terminal."""
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    for problem in page.problems:
        wrapped(f"! {problem}", "  ")
    heading("Fuses")
    for c in page.circuits:
        given = " as fitted" if c.given else ""
        click.echo(f"  {c.name:16} {c.current:>8} at once, fuse {c.fuse}{given}; weakest wire "
                   f"carries {c.weakest}")  # fmt: skip
    heading("Every wire: size and what decides it")
    every = (*page.main, *(w for c in page.circuits for w in c.wires), *page.back)
    for w in every:
        click.echo(f"  {w.number:>4} {w.size:8} {w.colour_words:6} {w.length:>7}  "
                   f"{w.start} to {w.end}: {w.limit}")  # fmt: skip
        wrapped(f"{w.current} of {w.carries}, fuse {w.fuse}; by current {w.by_current}, by fuse "
                f"{w.by_fuse}; loses {w.drop}", "         ")  # fmt: skip
    heading("Lost out and back, hot")
    for d in page.drops:
        word = "" if d.met else " TOO MUCH"
        click.echo(f"  {d.name:24} {d.current:>8} {d.drop:>7} of {d.allowed} ({d.share}){word}")
    if page.starter:
        heading("Starter cables")
        for words in page.starter:
            wrapped(words, "  ")
    heading("Loads against the generator")
    for words in (*page.balance, *page.lower):
        wrapped(words, "  ")
    for words in page.assumed:
        wrapped(words, "  ")


def print_loom(page: LoomPage) -> None:
    """Branches, cutting list and terminals in the terminal."""
    heading("Loom")
    click.echo(f"  {page.verdict}")
    for b in page.branches:
        plug = f"; {b.connector}" if b.connector else ""
        click.echo(f"  {b.name:28} {b.length:>8} {b.wires:>3} wires, {b.diameter} thick{plug}")
    heading("To cut and to buy")
    for c in page.cutting:
        click.echo(f"  {c.size:8} {c.colour:6} {c.count:>3} wires, longest {c.longest}, cut "
                   f"{c.total}, buy {c.buy}")  # fmt: skip
    for words in (*page.totals, *page.again, *page.alike):
        wrapped(words, "  ")
    for name, size, count in page.terminals:
        click.echo(f"  {count:>3} x {name}, {size}")


def print_test(page: LoomTestPage) -> None:
    """What was read wire by wire, and the reasons."""
    heading("Wire by wire")
    click.echo(f"  {page.verdict}")
    for line in page.lines:
        if line.state == "out":
            click.echo(f"  {mark('out')} {line.number:>4} {line.start} to {line.end}: end to end "
                       f"{line.end_to_end or 'not read'}, to earth "
                       f"{line.to_earth or 'not read'}")  # fmt: skip
    for title, rows in (
        ("No path, or a bad one", page.opens),
        ("Reaches earth or another wire", page.shorts),
    ):
        if rows:
            click.echo(f"  {title}:")
        for row in rows:
            which = f" ({row.wires})" if row.wires != row.what else ""
            wrapped(f"{row.chance:>8}  {row.what}{which}. {row.remedy}", "    ")
    if page.left_out:
        wrapped(page.left_out, "  ")
