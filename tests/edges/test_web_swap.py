"""Where eyes, finger and keyboard are after a form was sent from somewhere down a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from tickover.book.bodies import LooseEndOpened

Watched = Any
FOCUS_INSIDE = "#main:focus, #main :focus"


def test_a_line_written_at_the_foot_is_shown_from_the_top_before_it_is_kept(
    open_page: Callable[..., Watched], triple: str
) -> None:
    page = open_page(f"/builds/{triple}", width=390).page
    page.get_by_role("link", name="Write a line").click()
    expect(page.get_by_label("a line for the book")).to_be_focused()
    assert page.evaluate("scrollY") > 800, "the line stands far down"
    page.keyboard.type("shim in2 2.65 mark")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Keep this?")).to_be_in_viewport()
    expect(page.get_by_role("button", name="Keep it")).to_be_in_viewport()
    expect(page.locator(FOCUS_INSIDE)).to_have_count(1)
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Keep it")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="strike it out")).to_be_in_viewport()
    expect(page.get_by_label("one line")).to_be_focused()


def test_a_form_that_stays_on_its_page_leaves_the_finger_where_it_was(
    open_page: Callable[..., Watched], triple: str
) -> None:
    page = open_page(f"/builds/{triple}", width=390).page
    page.get_by_label("what is off, open or bypassed").fill("breather off")
    button = page.get_by_role("button", name="Note this loose end")
    button.scroll_into_view_if_needed()
    before = page.evaluate("scrollY")
    assert before > 0
    button.click()
    page.get_by_role("button", name="Back in place: breather off").wait_for()
    assert abs(page.evaluate("scrollY") - before) < 250  # [px] what was added above it
    expect(page.locator(FOCUS_INSIDE)).to_have_count(1)


def test_a_page_that_draws_itself_anew_stays_where_the_eyes_are(
    open_page: Callable[..., Watched], site: Any, triple: str
) -> None:
    page = open_page(f"/builds/{triple}", width=390).page
    page.evaluate("window.scrollTo(0, 900)")
    site.store.append(triple, LooseEndOpened("seat off"), at=site.clock(), by="terminal")
    page.get_by_role("button", name="Back in place: seat off").wait_for()
    assert abs(page.evaluate("scrollY") - 900) < 250  # [px] the loose end on top of the page


def test_the_next_check_comes_with_its_name_in_sight(
    open_page: Callable[..., Watched], triple: str
) -> None:
    page = open_page(f"/builds/{triple}/check?name=earths", width=390).page
    page.get_by_label("what you read").fill("0.05 V")
    page.get_by_role("button", name="Keep reading").click()
    page.get_by_text("In the book: earths").wait_for()
    heading = page.get_by_role("heading", level=1)
    expect(heading).not_to_have_text("Earths", use_inner_text=True)
    expect(heading).to_be_in_viewport()
    expect(page.locator(FOCUS_INSIDE)).to_have_count(1)


def test_a_refused_form_has_the_cursor_in_the_field_at_fault_as_soon_as_it_is_drawn(
    open_page: Callable[..., Watched], triple: str
) -> None:
    page = open_page(f"/builds/{triple}/shopping").page
    # no moment between drawing and placing the cursor: what is typed in it went elsewhere
    page.evaluate(
        """() => new MutationObserver((_, watching) => {
             if (!document.querySelector(".wrong")) return;
             window.cursorAt = document.activeElement.id;
             watching.disconnect();
           }).observe(document.body, {childList: true, subtree: true})"""
    )
    page.get_by_label("what, as the shop calls it").fill("main jet 118")
    page.locator("#add").get_by_label("how many").fill("three")
    page.get_by_role("button", name="Put it on the list").click()
    page.wait_for_function("window.cursorAt !== undefined")
    assert page.evaluate("window.cursorAt") == "count"
    expect(page.locator("[aria-invalid=true]")).to_have_count(1)
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    expect(page.get_by_label("price of one")).to_be_focused()
    page.get_by_role("button", name="Put it on the list").click()
    expect(page.locator("#to-buy")).to_contain_text("2 x main jet 118")


def test_only_the_figure_that_cannot_be_read_is_marked(
    open_page: Callable[..., Watched], triple: str
) -> None:
    page = open_page(f"/builds/{triple}/speed").page
    form = page.locator("form[action*='/timed']")
    form.get_by_label("held on the dial").fill("60")
    form.get_by_label("way", exact=True).fill("1 km")
    form.get_by_label("time").fill("a minute")
    form.get_by_role("button", name="Keep the run").click()
    expect(page.locator("[aria-invalid=true]")).to_have_count(1)
    expect(form.get_by_label("time")).to_be_focused()
