"""Name and password for a calendar server: from the environment or the keyring.

Never from a job file or an address, and never over a line that others can read.
"""

import importlib
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import SplitResult, urlsplit

from planner.errors import PlannerError

USER, PASSWORD = "COVETIME_USER", "COVETIME_PASSWORD"
HOW = f"set {USER} and {PASSWORD}, or keep them in the keyring as"


@dataclass(frozen=True, slots=True, kw_only=True)
class Login:
    """A name and a password, which shows nowhere."""

    user: str
    password: str = field(repr=False)


def collection_address(text: str) -> str:
    """Return the address of a collection, with the slash at its end.

    Raises
    ------
    PlannerError
        If it isn't a plain web address, or holds a name or a password.
    """
    try:
        parts = urlsplit(text.strip())
        host, port = parts.hostname, parts.port
    except ValueError:
        parts, host, port = SplitResult("", "", "", "", ""), None, None
    if parts.scheme not in ("http", "https") or not host or port == 0:
        raise PlannerError(
            "is not the address of a calendar collection",
            where="--to",
            hint="such as https://cal.example.org/ana/stage/",
        )
    if parts.username is not None or parts.password is not None:
        raise PlannerError(
            "a name or a password doesn't belong in an address, where others read it",
            where="--to",
            hint=f"leave it out; {HOW} {service(text)!r}",
        )
    if parts.query or parts.fragment or not text.strip().isprintable():
        raise PlannerError(
            "is not the plain address of a collection: it holds a ? or a #",
            where="--to",
        )
    path = parts.path if parts.path.endswith("/") else parts.path + "/"
    return parts._replace(netloc=parts.netloc.lower(), path=path).geturl()


def service(address: str) -> str:
    """Return under which word the keyring keeps the login of an address."""
    parts = urlsplit(address.strip())
    port = f":{parts.port}" if parts.port else ""
    return f"covetime {parts.scheme}://{parts.hostname}{port}"


def login_for(address: str, environ: Mapping[str, str]) -> Login | None:
    """Return the login for an address; None if none is set anywhere.

    Raises
    ------
    PlannerError
        If half of it is missing, or others on the way could read it.
    """
    user, password = environ.get(USER, ""), environ.get(PASSWORD, "")
    found = Login(user=user, password=password) if user and password else None
    if password and not user:
        raise PlannerError(f"{PASSWORD} is set, but {USER} isn't")
    if found is None:
        found = _from_keyring(service(address), user)
    if user and found is None:
        raise PlannerError(
            f"{USER} is set, but there is no password",
            hint=f"{HOW} {service(address)!r}",
        )
    if found is None:
        return None
    if ":" in found.user or not (found.user + found.password).isprintable():
        raise PlannerError(
            "name or password holds a character that can't be sent (RFC 7617 §2)"
        )
    if not _private(address):
        raise PlannerError(
            "name and password would go over a line that others can read",
            where="--to",
            hint="use https://",
        )
    return found


def _private(address: str) -> bool:
    """Return whether only the two ends can read what is sent."""
    parts = urlsplit(address)
    if parts.scheme == "https" or parts.hostname == "localhost":
        return True
    try:
        return ipaddress.ip_address(parts.hostname or "").is_loopback
    except ValueError:
        return False


def _from_keyring(word: str, user: str) -> Login | None:
    """Return what the user's keyring holds, if there is one."""
    try:
        keyring = importlib.import_module("keyring")
    except ImportError:
        return None
    try:
        found = keyring.get_credential(word, user or None)
    except Exception as error:  # noqa: BLE001 - each keyring raises errors of its own
        raise PlannerError(
            f"the keyring can't be asked: {type(error).__name__}",
            hint=f"set {USER} and {PASSWORD}",
        ) from None
    if found is None or not found.password:
        return None
    return Login(user=str(found.username), password=str(found.password))
