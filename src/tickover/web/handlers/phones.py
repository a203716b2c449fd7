"""Phones: the page on this machine that lets them in, and the page on which they ask."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import InputError
from tickover.web.bench import bench_of
from tickover.web.forms import Form
from tickover.web.phone.gate import COOKIE, is_this_machine
from tickover.web.refusals import MissingError
from tickover.web.render import page, see
from tickover.web.session import set_cookie

_YEAR = 365 * 24 * 3600


def show(request: Request) -> Response:
    """GET /phones: the picture to hold a phone to, and who was let in; on this machine only."""
    _only_here(request)
    return _draw(request)


def _draw(request: Request, status: int = 200, error: InputError | None = None) -> Response:
    pairing = bench_of(request).pairing
    phones = pairing.phones.all() if pairing else ()
    return page(
        request,
        "phones.html",
        status,
        pairing=pairing,
        code=pairing.code.show() if pairing else "",
        phones=[(phone, pairing.phones.last_seen(phone)) for phone in phones] if pairing else [],
        error=error,
    )


def _only_here(request: Request) -> None:
    if not is_this_machine(request.scope):
        raise MissingError("Phones are let in on the machine the book lies on")


def renew(request: Request, form: Form) -> Response:
    """POST /phones/code: another code."""
    _only_here(request)
    pairing = bench_of(request).pairing
    if pairing is not None:
        pairing.code.renew()
    return see("/phones")


def revoke(request: Request, form: Form) -> Response:
    """POST /phones/revoke: a phone is not let in any more."""
    _only_here(request)
    pairing = bench_of(request).pairing
    if pairing is not None:
        try:
            pairing.phones.revoke(form.get("phone"))
        except InputError as error:
            return _draw(request, 422, error)
    return see("/phones")


def ask(request: Request) -> Response:
    """GET /pair: name the phone and give the code; a look at this page uses nothing up."""
    return _draw_pair(request, code=request.query_params.get("code", ""))


def _draw_pair(
    request: Request, status: int = 200, *, code: str = "", name: str = "",
    error: InputError | None = None,
) -> Response:  # fmt: skip
    pairing = bench_of(request).pairing
    return page(
        request,
        "pair.html",
        status,
        served=pairing is not None,
        here=is_this_machine(request.scope),
        paired=pairing.phone_of(request) if pairing else None,
        code=code[:20],
        name=name[:60],
        error=error,
    )


def pair(request: Request, form: Form) -> Response:
    """POST /pair: let this phone in, once, for this code."""
    pairing = bench_of(request).pairing
    if pairing is None:
        raise MissingError("Phones are not served now")
    code, name = form.get("code"), form.get("name")
    try:
        wanted = pairing.phones.free_name(name)  # first, as a code that was used is gone
        if not pairing.code.use(code):
            raise InputError(
                "This is not the code that counts now",
                given=code,
                allowed="the eight signs the bench shows; each lets in one phone, for 10 minutes",
                instead="the code as it stands there now",
                where="code",
            )
        _, carried = pairing.phones.add(wanted, pairing.clock())
    except InputError as error:
        return _draw_pair(request, 422, code=code, name=name, error=error)
    response = see("/")
    set_cookie(response, COOKIE, carried, secure=request.url.scheme == "https", life_s=_YEAR)
    return response
