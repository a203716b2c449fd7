"""State marks differ in shape, and page and paper share one set of roles."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import tickover
from tickover.errors import InputError
from tickover.pages.drawing import STATES, state_mark
from tickover.pages.drawing.ink import ROLES

PACKAGE = Path(tickover.__file__).parent


def shape(state: str) -> str:
    """The mark without anything that is a colour."""
    svg = state_mark(state, embedded=True)
    return re.sub(r'(fill|stroke)="#[0-9a-f]+"', "", svg)


def test_the_six_states_have_six_shapes_without_their_colours() -> None:
    assert len({shape(state) for state in STATES}) == 6


@pytest.mark.parametrize(
    ("state", "element"),
    [
        ("good", "<circle"),
        ("good", "<polyline"),
        ("out", "<rect"),
        ("undecided", "<polygon"),
        ("open", "stroke-dasharray"),
        ("stale", "<path"),
        ("accepted", "<path"),
    ],
)
def test_a_mark_has_the_shape_agreed(state: str, element: str) -> None:
    assert element in state_mark(state)


def test_a_mark_is_silent_because_its_word_stands_beside_it() -> None:
    assert all('aria-hidden="true"' in state_mark(state) for state in STATES)


def test_a_state_nobody_knows_is_refused() -> None:
    with pytest.raises(InputError, match="good, out, undecided"):
        state_mark("fine")


def test_every_role_has_a_rule_on_the_page_and_every_rule_a_role() -> None:
    css = (PACKAGE / "web" / "static" / "drawing.css").read_text()
    assert set(re.findall(r"\.d-([a-z-]+)", css)) == set(ROLES)
