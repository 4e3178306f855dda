"""Addresses of calendars: which may be asked, how they are shown, within what limits.

Apart from what fetches them, which takes a fifth of a second to load.
"""

import hashlib
import ipaddress
import ssl
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit

from planner.files.ics_text import BYTES_MAX

SECURE = ("https", "webcal", "webcals")  # the last two mean the first


@dataclass(frozen=True, slots=True, kw_only=True)
class Web:
    """How addresses are fetched: the moment, where copies lie, limits.

    `plain_hosts` may be asked without encryption; only the machine itself can be
    named, and only tests do.
    """

    now: datetime
    copies: Path
    whole_s: float = 30.0
    each_s: float = 10.0  # to connect, and for each read
    bytes_max: int = BYTES_MAX
    redirects_max: int = 5
    plain_hosts: frozenset[str] = frozenset()
    trust: ssl.SSLContext | None = None

    def __post_init__(self) -> None:
        """Refuse hosts without encryption that aren't this machine."""
        for host in self.plain_hosts:
            if not ipaddress.ip_address(host).is_loopback:
                raise ValueError(f"plain_hosts: {host} is not this machine")


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """Why an address gave no calendar; `final`: asking later won't help."""

    reason: str
    hint: str = ""
    final: bool = False


def is_address(name: str) -> bool:
    """Tell whether a name in a job file is an address rather than a file."""
    return "://" in name


def _host(address: str) -> str:
    """Return the host of an address, with its port if it names one, "" for none."""
    try:
        parts = urlsplit(address.strip())
        host, port = parts.hostname or "", parts.port
    except ValueError:
        return ""
    if not host.isprintable() or any(c in host for c in " %/\\"):
        return ""
    return f"{host}:{port}" if host and port else host


def shown(address: str) -> str:
    """Return an address as it may be printed: its host, and a mark to tell it by.

    Examples
    --------
    >>> shown("https://ana:pw@calendar.example.org/private-7d1c/basic.ics?key=1")
    'calendar.example.org #8263'
    """
    mark = hashlib.sha256(address.encode()).hexdigest()[:4]
    return f"{_host(address) or 'an address'} #{mark}"


def fault_of(address: str) -> str:
    """Return what is wrong with an address, "" for nothing."""
    scheme = address.partition("://")[0].lower()
    if scheme not in SECURE:
        return f'"{scheme[:20]}://" is not fetched; https:// and webcal:// are'
    return "" if _host(address) else "the address names no host"
