"""Which address of this machine a phone in the same network can reach."""

from __future__ import annotations

import ipaddress
import socket

from tickover.errors import InputError

_FAR = "192.0.2.1"  # TEST-NET-1 of RFC 5737: never answered, and nothing is sent to it


def _candidates() -> list[str]:
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((_FAR, 9))  # only chooses the way out; no packet leaves
            found.append(str(probe.getsockname()[0]))
        except OSError:
            pass  # no way out: a network without internet still has names below
    try:
        for *_, name in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found.append(str(name[0]))
    except OSError:
        pass  # the machine does not know its own name
    return list(dict.fromkeys(found))


def is_local_network(address: str) -> bool:
    """Whether an address is one of a private network, as RFC 1918 and RFC 3927 have them.

    >>> [is_local_network(a) for a in ("192.168.1.7", "10.0.0.2", "127.0.0.1", "8.8.8.8")]
    [True, True, False, False]
    """
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    return found.is_private and not found.is_loopback and not found.is_unspecified


def phone_address(asked: str = "", candidates: list[str] | None = None) -> str:
    """The address to listen on for phones.

    Parameters
    ----------
    asked : str
        An address of this machine; '' to look for one.
    candidates : list of str, optional
        Addresses of this machine; looked up when left out.

    Raises
    ------
    InputError
        The machine is in no local network, or the address is not of one: the open internet is
        no workshop.
    """
    known = _candidates() if candidates is None else candidates
    shown = ", ".join(a for a in known if is_local_network(a)) or "none found"
    if asked:
        if not is_local_network(asked):
            raise InputError(
                "Phones are served in a local network only",
                given=asked,
                allowed=f"an address of this machine there: {shown}",
            )
        return asked
    for address in known:
        if is_local_network(address):
            return address
    raise InputError(
        "This machine is in no local network, so no phone can reach it",
        allowed=f"an address there: {shown}",
        instead="nothing yet: join the phone's Wi-Fi, or name the address with --address",
    )
