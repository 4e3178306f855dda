"""Addresses of calendars: which may be asked, how they are shown, within what limits.

Apart from what fetches them, which takes a fifth of a second to load.
"""

import hashlib
import ipaddress
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    import ssl

BYTES_MAX = 5_000_000  # of one calendar
SECURE = ("https", "webcal", "webcals")  # the last two mean the first
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*")  # RFC 3986 §3.1
_LONGEST_SCHEME = 8  # a longer one may be part of a secret
_LIKE_A_LINK = re.compile(
    r"""\s* (?:
        [a-z][a-z0-9+.-]+:/                      # a scheme, be it with one slash
      | (?:https?|webcals?|caldavs?|ftps?):      # or with none
      | // | www\.                               # a link without its scheme
      | [\w-]+ (?:\.[\w-]+)* \.[a-z]{2,} (?::\d+)? /   # host.example/
    )""",
    re.VERBOSE | re.IGNORECASE,
)


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
    trust: "ssl.SSLContext | None" = None

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


def is_like_link(text: str) -> bool:
    """Tell whether a text may be a link or what is left of one, and so a secret.

    Examples
    --------
    >>> [is_like_link(t) for t in ("https:/ana:pw@h/x", "ana:pw@h", "h.example/p7d1c/")]
    [True, True, True]
    >>> [is_like_link(t) for t in ("calendars/bo.ics", "ana@example.org", "../x/y.csv")]
    [False, False, False]
    """
    login = "@" in text and (":" in text or "/" in text)
    query = "=" in text.partition("?")[2]
    like = ":/" in text[2:] or _LIKE_A_LINK.match(text) is not None  # C:/ is a drive
    return login or query or like


def hidden(text: str) -> str:
    """Return a text as a message may show it: a mark in place of what is like a link."""
    return shown(text) if is_like_link(text) else text


def _host(address: str) -> str:
    """Return the host of an address, with its port if it names one, "" for none.

    Also "" where an @ comes after it: what looks like the host may be the name then,
    and what looks like the port the password before its first slash.
    """
    try:
        parts = urlsplit(address.strip())
        host, port = parts.hostname or "", parts.port
    except ValueError:
        return ""
    if "@" in f"{parts.path}{parts.query}{parts.fragment}":
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
    scheme = address.partition("://")[0].strip().lower()
    if not _SCHEME.fullmatch(scheme) or len(scheme) > _LONGEST_SCHEME:
        return "a link begins with https:// or webcal://, and this one doesn't"
    if scheme not in SECURE:
        return f'"{scheme}://" is not fetched; https:// and webcal:// are'
    return "" if _host(address) else "the address names no host"
