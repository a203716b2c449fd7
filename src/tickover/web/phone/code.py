"""The one-time code: short enough to type, used once, gone after ten minutes or five mistakes."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Callable

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # no signs that look alike at arm's length
LENGTH = 8
LIFE_S = 600.0
MOST_WRONG = 5
"""Wrong tries, together, after which a code is thrown away: 5 in 30^8 is 1 in 130,000 million."""


class OneTimeCode:
    """The code that counts now; a new one is made as soon as it is used up, old or tried too often.

    Parameters
    ----------
    now : callable
        A clock that only goes forward [s].
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._lock = threading.Lock()
        self._renew()

    def _renew(self) -> None:
        self._code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
        self._ends = self._now() + LIFE_S
        self._wrong = 0

    def show(self) -> str:
        """The code to show on this machine."""
        with self._lock:
            if self._now() >= self._ends:
                self._renew()
            return self._code

    def renew(self) -> None:
        """Throw the code away and make another."""
        with self._lock:
            self._renew()

    def use(self, typed: str) -> bool:
        """Whether this is the code; if so it is used up.

        >>> code = OneTimeCode()
        >>> first = code.show()
        >>> code.use(" " + first.lower()[:4] + "-" + first[4:]), code.use(first)
        (True, False)
        """
        given = "".join(sign for sign in typed.upper() if sign.isalnum())
        with self._lock:
            if self._now() >= self._ends:
                self._renew()
                return False
            fits = hmac.compare_digest(self._code.encode(), given.encode())
            self._wrong += not fits
            if fits or self._wrong >= MOST_WRONG:
                self._renew()
            return fits
