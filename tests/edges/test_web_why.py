"""Will not start: questions, causes, contradictions, refusals."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect
from support_day import LAMPS, engine_text, entries_of

from tickover.book.bodies import Note, StrikeOut
from tickover.plan.faultfinding import answer_entry, begin_entry, knowledge

Client = Any
Watched = Any
Site = Any


@pytest.fixture
def build(site: Site) -> str:
    """A fresh build of it; its id."""
    return str(site.store.create_build("Shed triple", engine_text(), site.clock(), "tester").id)


@pytest.mark.parametrize("script", [True, False])
def test_answers_lead_from_question_to_question_until_the_cause_is_found(
    open_page: Callable[..., Watched], site: Site, build: str, script: bool
) -> None:
    page = open_page(f"/builds/{build}/why", java_script_enabled=script).page
    expect(page.locator("#next")).to_contain_text("minutes", use_inner_text=True)
    asked = page.inner_text("#next .huge")
    page.locator("#next .outcomes button").first.click()
    page.locator("#so-far").wait_for()
    expect(page.locator("#next .huge")).not_to_have_text(asked)
    kinds = [entry.kind for entry in entries_of(site, build)]
    assert kinds[:2] == ["engine file", "work"]
    assert len(kinds) == 3, "begun and answered together"
    cause = page.locator("#causes > ol > li").first
    name = cause.locator("b").first.inner_text()
    cause.locator("summary").click()
    cause.get_by_role("button", name="Looked: it was this").click()
    expect(page.locator("#verdict")).to_have_text(f"Found: {name[:1].lower()}{name[1:]}.")
    expect(page.locator("#next-head")).to_have_text("Found")


def test_the_share_of_a_cause_is_said_in_words_and_drawn(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}/why").page
    lines = page.locator("#causes > ol > li")
    shares = [
        int(re.sub(r"\D", "", text)) for text in lines.locator(".cause span").all_inner_texts()
    ]
    drawn = lines.locator(".share-part").evaluate_all(
        "all => all.map(e => 100 * e.getBoundingClientRect().width"
        " / e.closest('svg').getBoundingClientRect().width)"
    )
    assert len(shares) == len(drawn) == 6
    assert shares == sorted(shares, reverse=True)
    # words are rounded to whole percents, bars to a tenth
    assert all(abs(said - bar) <= 0.6 for said, bar in zip(shares, drawn, strict=True))


def test_contradictions_stand_first_and_go_only_by_striking_out(
    open_page: Callable[..., Watched], site: Site, build: str
) -> None:
    known = knowledge("will not start")
    site.store.append(
        build, [begin_entry(known), answer_entry(known, LAMPS, "yes"),
                answer_entry(known, LAMPS, "no")], at=site.clock(), by="t",
    )  # fmt: skip
    page = open_page(f"/builds/{build}/why").page
    first = page.locator("main > div").first
    expect(first).to_have_attribute("id", "contradictions")
    expect(first).to_contain_text("answered 'yes'")
    expect(page.locator("#so-far li")).to_have_count(2)
    row = page.locator("#so-far > ul > li").last
    row.locator("summary").click()
    row.get_by_role("button").click()
    page.get_by_text("Nothing was written.").wait_for()
    row = page.locator("#so-far > ul > li").last
    row.get_by_label("does not count").fill("looked at the wrong lamp")
    row.get_by_role("button").click()
    expect(page.locator("#contradictions")).to_have_count(0)
    assert isinstance(entries_of(site, build)[-1].body, StrikeOut)
    expect(page.locator("#so-far > ul > li")).to_have_count(1)


def test_an_entry_of_another_page_is_not_struck_from_here(
    client: Client, site: Site, build: str
) -> None:
    note = site.store.append(build, Note("keep me"), at=site.clock(), by="t")[0]
    typed = {"symptom": "will not start", "entry": note.id, "reason": "r"}
    assert client.send(f"/builds/{build}/why/strike", typed).status_code == 404
    assert client.send(f"/builds/{build}/shopping/strike", typed).status_code == 404
    assert not site.store.state(build).is_struck(note.id)


def test_weights_of_the_engine_file_are_named_as_such(
    open_page: Callable[..., Watched], build: str
) -> None:
    page = open_page(f"/builds/{build}/why").page
    page.get_by_text("Weights before anything is known").click()
    row = page.locator("#weights tr").filter(has_text="fuel tap closed")
    assert row.inner_text().split("\t") == ["fuel tap closed", "20", "engine file"]


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("why", {"question": LAMPS, "outcome": "perhaps"}),
        ("why", {"question": "is it Tuesday?", "outcome": "yes"}),
        ("why/looked", {"cause": "bad luck", "found": "no"}),
        ("why/looked", {"cause": "flooded", "found": ""}),
    ],
)
def test_an_answer_nobody_can_give_is_refused(
    client: Client, site: Site, build: str, path: str, typed: dict[str, str]
) -> None:
    answer = client.send(f"/builds/{build}/{path}", {"symptom": "will not start", **typed})
    assert answer.status_code == 422
    assert site.store.last_number(build) == 1
