"""Whether a host is out on the internet, or on this machine or its local network.

A server out there must not make this machine ask its own network, where a mere
question may be an order. Special addresses: RFC 6890 and its registries, as the
standard library's `ipaddress` has them.
"""

import asyncio
import ipaddress
import socket
from collections.abc import Mapping

MACHINE, LINK, NETWORK = "this machine", "on the local link", "on a private network"


async def numbers_of(host: str) -> tuple[str, ...]:
    """Return the addresses that a host's name stands for; none if it isn't known."""
    loop = asyncio.get_running_loop()
    try:
        found = await loop.getaddrinfo(host, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):  # whoever fetches it tells of that
        return ()
    return tuple(str(where[0]) for *_, where in found)


def place_of(number: str) -> str:
    """Return where an address lies, "" for out in the world.

    Examples
    --------
    >>> place_of("127.0.0.1"), place_of("fe80::1%eth0"), place_of("::ffff:10.0.0.1")
    ('this machine', 'on the local link', 'on a private network')
    >>> place_of("1.1.1.1")
    ''
    """
    ip = ipaddress.ip_address(number.partition("%")[0])
    ip = getattr(ip, "ipv4_mapped", None) or ip
    if ip.is_loopback or ip.is_unspecified:
        return MACHINE
    if ip.is_link_local:
        return LINK
    return "" if ip.is_global and not ip.is_multicast else NETWORK


async def within(host: str) -> Mapping[str, str]:
    """Return the places within that a host's name stands for, each with an address."""
    return {place_of(n): n for n in await numbers_of(host) if place_of(n)}
