"""The first word after `tickover`: listed under a heading, or told what to write instead."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from tickover.cli import COMMANDS, GROUPS, group, main


def test_help_lists_every_command_once_under_its_heading() -> None:
    shown = CliRunner().invoke(group, ["--help"]).output.splitlines()
    for heading, rows in GROUPS.items():
        at = shown.index(f"{heading}:")
        under = [line.split()[0] for line in shown[at + 1 : at + 1 + len(rows)]]
        assert under == list(rows)
    assert sum(len(rows) for rows in GROUPS.values()) == len(COMMANDS)


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        (["mixtur"], "Write tickover mixture."),
        (["in4 .13 / .15"], "Write tickover read 'in4 .13 / .15'"),
        (["cyl1", "148", "psi"], "Write tickover read 'cyl1 148 psi'"),
        (["zzzz"], "Write tickover --help"),
    ],
)
def test_a_word_that_is_no_command_is_told_what_to_write(
    written: list[str], instead: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main(written)
    assert left.value.code == 2
    said = capsys.readouterr().err
    assert f"no such command: '{written[0]}'" in said
    assert instead in said


def test_fit_counts_what_is_left_out_and_names_it_when_asked(tmp_path: Path) -> None:
    engine = tmp_path / "E.toml"
    engine.write_text('[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n')
    book = str(tmp_path / "b.sqlite")
    run = CliRunner()
    assert run.invoke(group, ["new", "--engine", str(engine), "--where", book]).exit_code == 0
    short = run.invoke(group, ["fit", "--where", book]).output
    assert "not checked:" not in short
    assert "`tickover fit --left-out` names" in short
    whole = " ".join(run.invoke(group, ["fit", "--left-out", "--where", book]).output.split())
    assert "not checked: Oil flow while cranking: [oil] is left out" in whole
    assert f"Not checked: {whole.count('not checked:')} things" in short


def test_what_a_build_is_told_in_fits_a_plain_terminal(tmp_path: Path) -> None:
    """80 columns, but for tables; a command to type is never broken."""
    book = str(tmp_path / "b.sqlite")
    run = CliRunner()
    assert run.invoke(group, ["demo", "--no-serve", "--where", book]).exit_code == 0
    for command in ("build", "fit", "shopping", "book", "runin", "start"):
        for build in ("Hill", "Lane"):
            told = run.invoke(group, [command, "--build", build, "--where", book]).output
            assert told
            assert [line for line in told.splitlines() if len(line) > 80] == [], command
            commands = [part for line in told.splitlines() for part in line.split("`")[1::2]]
            assert all(each.startswith("tickover ") for each in commands), commands
