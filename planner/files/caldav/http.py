"""A collection on a calendar server, by plain PROPFIND, GET, PUT and DELETE.

Each write names the tag of what it replaces (If-Match) or that nothing is there
(If-None-Match), so nobody's change is ever overwritten unseen. No redirect is
followed but within the same server while looking for the collection, so none leads
to a machine that the address doesn't name.

Standards: RFC 9110 (HTTP, §13 conditional requests), RFC 4918 (PROPFIND, multistatus),
RFC 4791 (calendar collections), RFC 7617 (Basic authentication).
"""

import time
from dataclasses import dataclass
from types import TracebackType
from urllib.parse import unquote, urljoin, urlsplit
from xml.etree import ElementTree

import httpx

from planner.errors import OutputError
from planner.files.caldav.items import NAME
from planner.files.caldav.login import HOW, Login, service

BODY_BYTES_MAX = 16_000_000
REDIRECTS_MAX = 5
ANSWER_S = 120.0  # for a whole answer, however slowly it drips
_AGAIN = "publish again: it goes on where it stopped"
_ASK = (
    b'<?xml version="1.0" encoding="utf-8"?><propfind xmlns="DAV:">'
    b"<prop><resourcetype/><getetag/></prop></propfind>"
)
_DAV = "{DAV:}"
_CALENDAR = "{urn:ietf:params:xml:ns:caldav}calendar"


class CalendarServerError(OutputError):
    """A calendar server can't be reached, or doesn't do as it is asked."""

    code = "calendar-server"


class ChangedMeanwhileError(Exception):
    """An entry isn't any more as it was when it was looked at."""


class LiesElsewhereError(Exception):
    """An entry with the same identity lies in the collection under another name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    status: int
    headers: httpx.Headers
    body: bytes


class Collection:
    """A calendar collection; to be used in a `with` statement."""

    def __init__(self, address: str, login: Login | None, *, wait_s: float) -> None:
        self.address = address
        self._login = login
        self._wait_s = wait_s
        self._client = httpx.Client(
            auth=httpx.BasicAuth(login.user, login.password) if login else None,
            follow_redirects=False,
            timeout=httpx.Timeout(wait_s),
            # A proxy may carry what is sealed (https); nothing else goes through one.
            trust_env=urlsplit(address).scheme == "https",
            headers={
                "User-Agent": "covetime",
                "Accept-Encoding": "identity",  # some servers weaken tags of packed answers
            },
        )

    def __enter__(self) -> "Collection":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._client.close()

    # ---------------------------------------------------------- the requests

    def look(self) -> dict[str, str]:
        """Return the tags of entries with names of ours, by name.

        Raises
        ------
        CalendarServerError
            If there is no calendar collection at the address, or no tags are given.
        """
        answer = self._ask()
        for _ in range(REDIRECTS_MAX):
            if answer.status not in (301, 302, 307, 308):
                break
            self._follow(answer)
            answer = self._ask()
        if answer.status != 207:
            raise self._refusal(answer.status, "the collection can't be looked at")
        return self._listed(answer.body)

    def get(self, name: str) -> tuple[str, bytes] | None:
        """Return the tag and the bytes of an entry, or None if there is none."""
        answer = self._send("GET", self.address + name)
        if answer.status in (404, 410):
            return None
        if answer.status != 200:
            raise self._refusal(answer.status, "an entry can't be read")
        return self._tag(answer.headers.get("ETag", "")), answer.body

    def put(self, name: str, data: bytes, *, replaces: str | None) -> str | None:
        """Return the new tag after writing an entry; None if the server tells none.

        Raises
        ------
        ChangedMeanwhileError
            If the entry isn't what it replaces, or is there though nothing should be.
        LiesElsewhereError
            If its identity is taken by an entry of another name (RFC 4791 §5.3.2.1).
        CalendarServerError
            If the server refuses it.
        """
        headers = {"Content-Type": "text/calendar; charset=utf-8"}
        headers |= {"If-Match": replaces} if replaces else {"If-None-Match": "*"}
        answer = self._send("PUT", self.address + name, content=data, headers=headers)
        if answer.status == 412 or (replaces and answer.status == 404):
            raise ChangedMeanwhileError
        if answer.status == 409 or b"no-uid-conflict" in answer.body:
            raise LiesElsewhereError
        if answer.status not in (200, 201, 204):
            raise self._refusal(answer.status, "an entry can't be written")
        tag = str(answer.headers.get("ETag", ""))
        return tag if tag.startswith('"') else None

    def delete(self, name: str, *, tag: str) -> None:
        """Remove an entry; it is well if it has gone already.

        Raises
        ------
        ChangedMeanwhileError
            If the entry isn't any more the one that was looked at.
        CalendarServerError
            If the server refuses it.
        """
        answer = self._send("DELETE", self.address + name, headers={"If-Match": tag})
        if answer.status == 412:
            raise ChangedMeanwhileError
        if answer.status not in (200, 202, 204, 404, 410):
            raise self._refusal(answer.status, "an entry can't be removed")

    # ------------------------------------------------------------- the line

    def _ask(self) -> _Answer:
        return self._send(
            "PROPFIND",
            self.address,
            content=_ASK,
            headers={"Depth": "1", "Content-Type": "application/xml"},
        )

    def _send(
        self,
        method: str,
        address: str,
        *,
        content: bytes = b"",
        headers: dict[str, str] | None = None,
    ) -> _Answer:
        until = time.monotonic() + ANSWER_S
        try:
            with self._client.stream(
                method, address, content=content or None, headers=headers
            ) as got:
                body = b""
                for piece in got.iter_raw():
                    body += piece
                    if len(body) > BODY_BYTES_MAX:
                        raise self._error(
                            f"the answer is larger than {BODY_BYTES_MAX:,} bytes", ""
                        )
                    if time.monotonic() > until:
                        raise self._error("the answer doesn't come to an end", _AGAIN)
                return _Answer(status=got.status_code, headers=got.headers, body=body)
        except httpx.TimeoutException:
            raise self._error(
                f"the server says nothing for {self._wait_s:g} s", _AGAIN
            ) from None
        except httpx.ConnectError as error:
            untrusted = "CERTIFICATE" in str(error).upper()
            what = "its certificate can't be trusted" if untrusted else str(error)
            raise self._error(f"can't be reached: {what}", _AGAIN) from None
        except (httpx.HTTPError, httpx.InvalidURL) as error:
            what = f"the connection broke: {type(error).__name__}"
            raise self._error(what, _AGAIN) from None

    def _follow(self, answer: _Answer) -> None:
        """Go to where the collection has moved, if that is on the same server."""
        there = urljoin(self.address, answer.headers.get("Location", ""))
        old, new = httpx.URL(self.address), httpx.URL(there)
        same = (old.scheme, old.host, old.port) == (new.scheme, new.host, new.port)
        if not same or new.query or new.userinfo:
            raise self._error(
                f"it sends you on to another server: {new.scheme}://{new.host}",
                "if you trust it, give that address with --to",
            )
        self.address = there if there.endswith("/") else there + "/"

    def _error(self, what: str, hint: str) -> CalendarServerError:
        return CalendarServerError(what, where=self.address, hint=hint)

    def _refusal(self, status: int, what: str) -> CalendarServerError:
        """Return the error for a status that isn't what was asked for."""
        if status == 401 and self._login is None:
            hint = f"{HOW} {service(self.address)!r}"
            return self._error("the server asks for a name and a password", hint)
        said, hint = _REFUSALS.get(status, ("", ""))
        if not said and status >= 500:
            said, hint = "the server has trouble of its own", _AGAIN
        if not said and 300 <= status < 400:
            said, hint = "it is somewhere else now", "give the new address with --to"
        return self._error(f"{what}: {said or 'refused'} (HTTP {status})", hint)

    # ------------------------------------------------------------- the listing

    def _listed(self, body: bytes) -> dict[str, str]:
        try:
            text = body.decode("utf-8")
            if "<!DOCTYPE" in text or "<!ENTITY" in text:
                raise ValueError
            tree = ElementTree.fromstring(text)
        except (ValueError, ElementTree.ParseError):
            raise self._error("the answer isn't a listing (RFC 4918)", "") from None
        here = unquote(urlsplit(self.address).path)
        tags: dict[str, str] = {}
        calendar = False
        for response in tree.iter(f"{_DAV}response"):
            href = (response.findtext(f"{_DAV}href") or "").strip()
            path = unquote(urlsplit(urljoin(self.address, href)).path)
            if path.rstrip("/") == here.rstrip("/"):
                calendar = any(True for _ in response.iter(_CALENDAR))
            name = path.removeprefix(here)
            if NAME.fullmatch(name):
                tags[name] = self._tag(_property(response, "getetag"))
        if not calendar:
            raise self._error(
                "there is no calendar at this address",
                "give the address of a calendar, not of the server or of a person",
            )
        return tags

    def _tag(self, tag: str) -> str:
        """Return a tag by which a change can be told (RFC 9110 §8.8.3.2)."""
        if not tag.startswith('"') or not tag.isprintable():
            raise self._error(
                "the server gives no strong ETags (RFC 9110), so changes by hand would go unseen",
                "publish to another server, or let it subscribe to the file",
            )
        return tag


def _property(response: ElementTree.Element, name: str) -> str:
    """Return a property that was found (status 200), as text."""
    for part in response.iter(f"{_DAV}propstat"):
        if " 200" in (part.findtext(f"{_DAV}status") or ""):
            value = part.findtext(f"{_DAV}prop/{_DAV}{name}")
            if value is not None:
                return value.strip()
    return ""


_REFUSALS = {
    401: ("name or password is wrong", "nothing was written"),
    403: ("you may not do that there", "ask its owner for the right to write"),
    404: ("there is no such collection", "make the calendar first, in any program"),
    405: ("that is no calendar collection", "give the address of a calendar"),
    409: ("it doesn't go together with what is there", ""),
    413: ("it is too large for the server", ""),
    423: ("it is locked", _AGAIN),
    429: ("too many requests", f"wait a while, then {_AGAIN}"),
    507: ("the server's disk is full", _AGAIN),
}
