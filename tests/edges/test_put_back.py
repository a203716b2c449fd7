"""What was loose is put back by the short line, on a page and in the terminal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from playwright.sync_api import expect

from tickover.cli import group

Watched = Any


def test_by_the_line_on_every_page_once_it_was_shown(
    open_page: Callable[..., Watched], site: Any, triple: str
) -> None:
    page = open_page(f"/builds/{triple}", java_script_enabled=False).page
    line = page.get_by_label("a line for the book")
    line.fill("loose coil lead off")
    page.get_by_role("button", name="Read").click()
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("In the book:").wait_for()
    page.goto(site.at(f"/builds/{triple}/drawer"))
    expect(page.locator("a.loose")).to_contain_text("coil lead off", use_inner_text=True)
    line.fill("put back coil")
    page.get_by_role("button", name="Read").click()
    expect(page.locator("main")).to_contain_text("put back: coil lead off", use_inner_text=True)
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("In the book:").wait_for()
    page.goto(site.at(f"/builds/{triple}/drawer"))
    expect(page.locator("body")).not_to_contain_text("coil lead off", use_inner_text=True)


def test_in_the_terminal_and_what_is_not_loose_names_what_is(tmp_path: Path) -> None:
    engine = tmp_path / "E.toml"
    engine.write_text('[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n')
    where = ("--where", str(tmp_path / "b.sqlite"))
    run = CliRunner()
    assert run.invoke(group, ["new", "--engine", str(engine), *where]).exit_code == 0
    assert run.invoke(group, ["read", "loose oil line off", *where]).exit_code == 0
    refused = run.invoke(group, ["read", "put back clutch", *where])
    assert refused.exit_code != 0
    assert "oil line off" in str(refused.exception)
    assert "put back: oil line off" in run.invoke(group, ["read", "put back oil", *where]).output
    assert "No loose end is open" in run.invoke(group, ["loose", *where]).output
