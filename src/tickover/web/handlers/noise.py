"""Stationary noise: how to hold the meter, entry of readings, the verdict, baffles compared."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.book.bodies import Work
from tickover.errors import InputError
from tickover.pages.building import noise_page_of
from tickover.tasks.exhaust import KINDS
from tickover.tasks.noise import WORKS, noise_entry
from tickover.web.forms import Form
from tickover.web.opened import Opened, draw, open_build
from tickover.web.render import see


def show(request: Request) -> Response:
    """GET /builds/{build}/noise: the page."""
    return _draw(request, open_build(request))


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    typed: Form | None = None,
    error: InputError | None = None,
) -> Response:
    return draw(
        request,
        opened,
        "noise.html",
        status,
        found=noise_page_of(opened.row, opened.state),
        here=f"{opened.home}/noise",
        silencers=("", *KINDS),
        works=[work for work in WORKS if work != "exhaust changed"],
        outlet=request.query_params.get("outlet", ""),
        typed=typed,
        error=error,
    )


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/noise: keep one reading, with what stood beside it."""
    opened = open_build(request)
    try:
        if not form.get("level"):
            raise InputError("Nothing is filled in", allowed="what the meter shows",
                             instead="'94.5 dB'")  # fmt: skip
        body = noise_entry(
            opened.engine_file, form.get("level"), outlet=form.get("outlet"),
            silencers=form.get("silencers"), background=form.get("background"),
            speed=form.get("speed"), instrument=form.get("instrument"),
        )  # fmt: skip
    except InputError as wrong:
        return _draw(request, opened, 422, typed=form, error=wrong)
    kept = opened.keep(body)[0]
    then = urlencode({"kept": kept.id, "outlet": form.get("outlet")})
    return see(f"{opened.home}/noise?{then}#enter")


def work(request: Request, form: Form) -> Response:
    """POST /builds/{build}/noise/work: the exhaust was worked on; what was read is void."""
    opened = open_build(request)
    what = form.get("what")
    if what not in WORKS:
        wrong = InputError("That is no work on the exhaust", given=what, allowed=", ".join(WORKS))
        return _draw(request, opened, 422, typed=form, error=wrong)
    kept = opened.keep(Work(what))[0]
    return see(f"{opened.home}/noise?{urlencode({'kept': kept.id})}#enter")
