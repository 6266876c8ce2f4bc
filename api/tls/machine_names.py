"""The names and addresses by which browsers on the shop's network reach this machine."""

from __future__ import annotations

import ipaddress
import re
import socket
from contextlib import suppress
from typing import NamedTuple

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

#: A host name of letters, digits and dashes (RFC 1123, section 2.1).
_NAME = re.compile(r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*")
#: No datagram is sent: the system only says from which of its addresses it would be (RFC 5737, RFC 3849: for
#: documentation, nobody's).
_NOBODY = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))


class Names(NamedTuple):
    """What a certificate is for."""

    names: tuple[str, ...]
    addresses: tuple[Address, ...]

    def shown(self) -> list[str]:
        """Return names, then addresses, as they are typed."""
        return [*self.names, *(str(one) for one in self.addresses)]


def names_of_machine(host: str) -> Names:
    """Return by which names and addresses a server is reached.

    Args:
        host: where it listens, as it was given; it counts, too, where it names one.
    """
    own = socket.gethostname().lower()
    names = {"localhost", own, f"{own.partition('.')[0]}.local"}
    addresses: set[Address] = {ipaddress.ip_address("127.0.0.1"), ipaddress.ip_address("::1")}
    addresses.update(_outward(), _by_name(own))
    given = address_of(host)
    if given is None:
        names.add(host.lower().rstrip("."))
    elif not given.is_unspecified:
        addresses.add(given)
    usable = [one for one in addresses if not (one.is_link_local or one.is_multicast)]
    return Names(
        tuple(sorted(name for name in names if _NAME.fullmatch(name))),
        tuple(sorted(usable, key=lambda one: (one.version, int(one)))),
    )


def _outward() -> list[Address]:
    found = []
    for family, nobody in _NOBODY:
        with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((nobody, 9))
            found.append(ipaddress.ip_address(probe.getsockname()[0]))
    return found


def _by_name(own: str) -> list[Address]:
    with suppress(OSError):
        found = [address_of(str(entry[4][0])) for entry in socket.getaddrinfo(own, None)]
        return [one for one in found if one is not None]
    return []


def address_of(text: str) -> Address | None:
    """Return the address that a text is, or None for a name."""
    with suppress(ValueError):
        return ipaddress.ip_address(text.partition("%")[0])
    return None
