"""`tickover listen`: one recording, from a file alone or kept with a build."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import heading, wrapped
from tickover.cli.options import build_option, engine_option, json_option, where_option
from tickover.errors import FileError, InputError

if TYPE_CHECKING:
    from tickover.book.state import State
    from tickover.engine import EngineFile
    from tickover.pages.listen import ListenPage
    from tickover.tasks.listen.in_book import KeptRecording

LABEL = "synthetic: computed, not recorded from an engine"
_NOT_HEARD = 1


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@engine_option
@click.option("--about", default="", help="Rough idle speed in rpm, within a third: 1100.")
@click.option("--earlier", type=click.Path(path_type=Path),
              help="An earlier recording of the same engine, to compare with.")  # fmt: skip
@click.option("--keep", is_flag=True, help="Keep recording and findings with the build.")
@click.option("--delete", "delete", default="", metavar="ENTRY",
              help="Delete the sound of a kept recording; what was heard stays.")  # fmt: skip
@click.option("--weak", default="", help="The cylinder found to be the weak slot of --entry: 2.")
@click.option("--way", default="wet rag", help="How it was found: wet rag, thermometer, plug lead.")
@click.option("--entry", "entry", default="", metavar="ENTRY", help="A recording of the book.")
@click.option("--synthesise", is_flag=True,
              help="Write a synthetic recording of this engine to FILE (WAV).")  # fmt: skip
@click.option("--rpm", default="1100", help="With --synthesise: idle speed.")
@click.option("--seconds", default=20.0, type=click.FloatRange(3.0, 120.0),
              help="With --synthesise: length.")  # fmt: skip
@click.option("--weak-strength", default=1.0, type=click.FloatRange(0.0, 1.0),
              help="With --synthesise: strength of the second firing, 1 healthy.")  # fmt: skip
@json_option
@build_option
@where_option
def listen(
    file: Path | None,
    engine_path: Path | None,
    about: str,
    earlier: Path | None,
    keep: bool,
    delete: str,
    weak: str,
    way: str,
    entry: str,
    synthesise: bool,
    rpm: str,
    seconds: float,
    weak_strength: float,
    as_json: bool,
    build_name: str,
    where: str | None,
) -> None:
    """Idle speed, steadiness and a weak cylinder from a recording.

    FILE is WAV, FLAC, OGG or MP3; m4a where this machine has ffmpeg. Without one: the newest
    recording kept with the build. Exit code 0: understood. 1: refused, with the reason. 2: bad
    input.
    """
    if delete or weak:
        _write(build_name, where, delete, entry, weak, way)
        return
    if file is None and (engine_path is not None or synthesise):
        raise InputError("A recording is needed", allowed="a file",
                         instead="tickover listen idle.wav --engine E.toml")  # fmt: skip
    if synthesise:
        _synthesise(_engine(engine_path, build_name, where), file, rpm, seconds, weak_strength)
        return
    if engine_path is not None:
        from tickover.engine import load_engine_file

        if keep or entry:
            raise InputError("A recording is kept with a build, not with a file",
                             instead="the command without --engine")  # fmt: skip
        page = _from_file(load_engine_file(engine_path), file, about, earlier)
    else:
        page = _from_book(file, about, earlier, keep, entry, build_name, where)
    if as_json:
        echo_json(_json(page))
    else:
        print_listening(page)
    raise click.exceptions.Exit(_NOT_HEARD if page.refused else 0)


def _json(page: ListenPage) -> object:
    from tickover.pages.listen import listen_json

    return listen_json(page)


def _rpm(about: str) -> float | None:
    from tickover.quantities import parse

    return 60.0 * parse(about, "speed", "rpm", "The rough idle speed").value_si if about else None


def _from_file(
    engine: EngineFile, file: Path | None, about: str, earlier: Path | None
) -> ListenPage:
    from tickover.pages.hearing import hear, heard_page, read_file

    name, content = read_file(file)
    heard = hear(engine, content, name, _rpm(about), decoder=True)
    before = None
    if earlier is not None:
        other, more = read_file(earlier)
        before = hear(engine, more, other, _rpm(about), decoder=True)
    return heard_page(engine, heard, before)


def _kept(state: State, entry: str) -> KeptRecording:
    """The recording asked for, or the newest; says on the side which others there are."""
    from tickover.tasks.listen.in_book import find_recording, recordings

    if entry:
        return find_recording(state, entry)
    *others, newest = recordings(state) or (None,)
    if newest is None:
        raise InputError("No recording is kept with this build yet",
                         instead="tickover listen idle.wav --keep")  # fmt: skip
    click.echo(f"Entry {newest.entry.number}: {newest.name}, {newest.entry.at[:10]}.", err=True)
    for each in others:
        click.echo(f"  also kept: --entry {each.entry.number}: {each.name}, {each.entry.at[:10]}",
                   err=True)  # fmt: skip
    return newest


def _from_book(
    file: Path | None, about: str, earlier: Path | None, keep: bool, entry: str,
    build_name: str, where: str | None,
) -> ListenPage:  # fmt: skip
    from tickover.cli.opening import chosen_build, now, writer
    from tickover.pages.hearing import hear, heard_page, keep_heard, kept_page, read_file

    with chosen_build(where, build_name) as bench:
        engine, state = bench.engine, bench.state
        if file is None:
            return kept_page(bench.build, state, _kept(state, entry))
        name, content = read_file(file)
        heard = hear(engine, content, name, _rpm(about), decoder=True)
        before = None
        if earlier is not None:
            other, more = read_file(earlier)
            before = hear(engine, more, other, _rpm(about), decoder=True)
        if keep and heard.listening.refused is None:
            kept = keep_heard(bench.store, bench.build.id, heard, at=now(), by=writer())
            click.echo(f"Entry {kept.number}: recording kept.", err=True)
            if before is None:
                state = bench.state
                return kept_page(bench.build, state, _kept(state, kept.id))
        return heard_page(engine, heard, before, state)


def _write(
    build_name: str, where: str | None, delete: str, entry: str, weak: str, way: str
) -> None:
    from tickover.cli.opening import chosen_build, now, writer
    from tickover.tasks.listen.in_book import deleted_entry, find_recording, reference_entry

    with chosen_build(where, build_name) as bench:
        kept = find_recording(bench.state, delete or entry)
        if delete:
            body = deleted_entry(kept, "")
            shared = bench.store.others_naming(bench.build.id, kept.sha256)
            done = bench.store.forget_blob(bench.build.id, kept.sha256, body, at=now(), by=writer())
            click.echo(f"Entry {done.number}: the sound of entry {kept.entry.number} is deleted; "
                       "what was heard stays.")  # fmt: skip
            if shared:
                click.echo(f"It is gone from {', '.join(shared)} as well, which had the same.")
            return
        body = reference_entry(bench.engine, kept, weak, way)
        (done,) = bench.store.append(bench.build.id, body, at=now(), by=writer())
        click.echo(f"Entry {done.number}: the weak slot of entry {kept.entry.number} is "
                   f"cylinder {body.detail['cylinder']}.")  # fmt: skip


def _engine(engine_path: Path | None, build_name: str, where: str | None) -> EngineFile:
    from tickover.cli.opening import chosen_build
    from tickover.engine import load_engine_file

    if engine_path is not None:
        return load_engine_file(engine_path)
    with chosen_build(where, build_name) as bench:
        return bench.engine


def _synthesise(
    engine: EngineFile, file: Path | None, rpm: str, seconds: float, weak_strength: float
) -> None:
    from tickover.physics.sound.synthesise import synthesise
    from tickover.tasks.listen.in_book import firing_pattern
    from tickover.tasks.listen.reading import write_wav

    if file is None or file.suffix.casefold() != ".wav":
        raise InputError("A synthetic recording is written as WAV", given=str(file or ""),
                         instead="synthetic.wav")  # fmt: skip
    angles = firing_pattern(engine)[1]
    strengths = [1.0] * len(angles)
    strengths[min(1, len(angles) - 1)] = weak_strength
    speed = _rpm(rpm) or 1100.0
    made = synthesise(angles, speed_rpm=speed, duration_s=seconds, strengths=strengths)
    try:
        write_wav(file, made.samples, made.rate, LABEL)
    except (OSError, RuntimeError) as problem:
        raise FileError("This file cannot be written", given=str(file), where=str(file),
                        instead="a folder that is there, with room in it") from problem  # fmt: skip
    click.echo(f"{file}: {seconds:g} s at {speed:.0f} rpm. SYNTHETIC: computed, not recorded from "
               "an engine; for trying the commands only.")  # fmt: skip


def print_listening(page: ListenPage) -> None:
    """The listening page in the terminal."""
    if page.synthetic:
        wrapped("SYNTHETIC: computed, not recorded from an engine. It proves nothing.")
    click.secho(page.verdict, bold=True)
    if page.refused:
        wrapped(page.refused)
        wrapped(page.what_to_do)
    for name, value, beside in page.numbers:
        wrapped(f"{name}: {value}. {beside}", "  ")
    if page.slots:
        heading("Firing slots")
        for line in page.slots:
            click.echo(f"  {line.name:12} {line.words}")
        wrapped(page.slot_words)
    if page.no_slots:
        wrapped(f"Firing slots are not told. {page.no_slots}")
    if page.orders:
        heading("Half orders (order, healthy, here)")
        for order, healthy, here in page.orders:
            click.echo(f"  {order:>4} {healthy:>6} {here:>6}")
    if page.order_words:
        wrapped(page.order_words)
    for words in page.blips:
        wrapped(f"Blip: {words}")
    if page.earlier:
        heading(f"Against {page.earlier}")
        if page.since:
            wrapped(f"Done since: {', '.join(page.since)}.")
        for name, before, after, change in page.changes:
            click.echo(f"  {name:16} {before:>10} -> {after:>10}  {change}")
        for words in page.change_notes:
            wrapped(words)
    if page.look:
        heading("Where to look for a weak cylinder, likeliest first")
        for cause in page.look:
            wrapped(f"{cause.share} {cause.words}: {cause.how}", "  ")
    for words in page.remarks:
        wrapped(words)
    click.echo()
    for caution in page.cautions:
        wrapped(f"! {caution}")
