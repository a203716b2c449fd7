"""What a served book knows of its phones: where they come in, the code, the list."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from tickover.web.phone.code import OneTimeCode
from tickover.web.phone.gate import COOKIE, PAIR

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.requests import Request

    from tickover.web.phone.paired import PairedPhones, Phone


@dataclass(frozen=True, slots=True)
class Pairing:
    """Phones of one served book.

    Parameters
    ----------
    address : str
        Where a phone reaches it, with the last slash.
    phones : PairedPhones
        Who was let in.
    clock : callable
        Gives now as ISO 8601 in universal time.
    code : OneTimeCode
        What lets the next one in.
    """

    address: str
    phones: PairedPhones
    clock: Callable[[], str]
    code: OneTimeCode = field(default_factory=OneTimeCode)

    def phone_of(self, request: Request) -> Phone | None:
        """The paired phone a request comes from; None for any other device."""
        return self.phones.known(request.cookies.get(COOKIE, ""), self.clock)

    def link(self) -> str:
        """The address with the code in it, as the picture carries it."""
        return f"{self.address.rstrip('/')}{PAIR}?{urlencode({'code': self.code.show()})}"

    def picture(self) -> str:
        """The link as a QR code (ISO/IEC 18004), SVG to stand in a page."""
        import segno

        out = io.BytesIO()
        segno.make(self.link(), error="m", micro=False).save(
            out, kind="svg", scale=6, border=4, dark="#000", light="#fff", xmldecl=False,
            svgns=False, nl=False, omitsize=True, title="Pairing code as a picture",
        )  # fmt: skip
        return out.getvalue().decode()

    def for_terminal(self) -> str:
        """The link as a QR code of half blocks, for a terminal."""
        import segno

        out = io.StringIO()
        segno.make(self.link(), error="m", micro=False).terminal(out, border=2, compact=True)
        return out.getvalue()
