"""Calendars behind addresses: fetched within limits, or the reason why not.

What holds for every address: `https` (or `webcal`, which means the same) all the way
through its redirects, which lead to this machine or its own network only if the
address itself does; limits on time, bytes and redirects; a gzip answer is unpacked
no further than the limit on bytes. The type that the server states isn't relied
upon, for many state a wrong one: what begins with BEGIN:VCALENDAR is a calendar,
whatever it is called, and nothing else is. Many addresses are secrets, so no message
holds any part of one.
"""

import asyncio
import re
import socket
import ssl
import zlib
from collections.abc import AsyncIterator, Iterable
from http import HTTPStatus

import httpx

from planner.files.web import hosts
from planner.files.web.addresses import SECURE, Failure, Web
from planner.files.web.copies import Copy

TOGETHER_MAX = 8
_NAMED = ("http", "file", "ftp", "data")  # others may be part of a secret
_REDIRECTS = (301, 302, 303, 307, 308)
_FRAME = re.compile(rb"^(BEGIN|END):VCALENDAR", re.IGNORECASE | re.MULTILINE)
_VALIDATOR_CHARS_MAX = 1_000
_COPY_LINK = "copy the calendar's own link once more; it gives an .ics file"


class _FailedError(Exception):
    def __init__(self, reason: str, hint: str = "", *, final: bool = False) -> None:
        super().__init__(reason)
        self.failure = Failure(reason=reason, hint=hint, final=final)


def fetch(
    wanted: Iterable[tuple[str, Copy | None]], web: Web
) -> dict[str, Copy | Failure]:
    """Return what each address gives; with its copy, it is asked only for news."""
    return asyncio.run(_fetch_all(dict(wanted), web))


async def _fetch_all(
    wanted: dict[str, Copy | None], web: Web
) -> dict[str, Copy | Failure]:
    turns = asyncio.Semaphore(TOGETHER_MAX)
    client = httpx.AsyncClient(
        timeout=web.each_s,
        verify=web.trust or True,
        follow_redirects=False,
        headers={
            "User-Agent": "covetime",
            "Accept": "text/calendar, */*;q=0.5",
            "Accept-Encoding": "gzip",
        },
    )
    async with client:
        found = await asyncio.gather(
            *(_outcome(client, a, copy, web, turns) for a, copy in wanted.items())
        )
    return dict(zip(wanted, found, strict=True))


async def _outcome(
    client: httpx.AsyncClient,
    address: str,
    copy: Copy | None,
    web: Web,
    turns: asyncio.Semaphore,
) -> Copy | Failure:
    async with turns:
        try:
            async with asyncio.timeout(web.whole_s):
                return await _get(client, address, copy, web)
        except TimeoutError:
            return Failure(reason=f"it took longer than {web.whole_s:g} s")
        except _FailedError as failed:
            return failed.failure
        except (httpx.HTTPError, httpx.InvalidURL, OSError) as error:
            return Failure(reason=_reason(error, web), hint=_hint(error))


def _reason(error: Exception, web: Web) -> str:
    """Return what went wrong on the way, in our words; the address isn't in them."""
    causes = list(_causes(error))
    if isinstance(error, httpx.ConnectTimeout):
        if any(isinstance(c, ssl.SSLWantReadError) for c in causes):
            return f"it takes the connection, but says nothing for {web.each_s:g} s"
        return f"no connection within {web.each_s:g} s"
    if any(isinstance(c, ssl.SSLEOFError | ConnectionResetError) for c in causes):
        return "it hangs up without an answer"
    if any(isinstance(c, ssl.SSLError) for c in causes):
        bad = any(isinstance(c, ssl.SSLCertVerificationError) for c in causes)
        what = "its certificate isn't trusted" if bad else "no encrypted connection"
        return f"{what}, so nothing was fetched"
    if any(isinstance(c, socket.gaierror) for c in causes):
        return "its host can't be found"
    match error:
        case httpx.TimeoutException():
            return f"nothing came for {web.each_s:g} s"
        case httpx.ConnectError():
            return "its host takes no connection"
        case httpx.RemoteProtocolError() | httpx.ReadError():
            return "the answer breaks off, or isn't one"
        case _:
            return "it can't be fetched"


def _hint(error: Exception) -> str:
    if any(isinstance(c, ssl.SSLError | ConnectionResetError) for c in _causes(error)):
        return ""  # the host was there
    off_line = isinstance(error, httpx.ConnectError | httpx.ConnectTimeout)
    return "see whether you are off-line" if off_line else ""


def _causes(error: BaseException | None) -> Iterable[BaseException]:
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


# ---------------------------------------------------------------- one address


async def _get(
    client: httpx.AsyncClient, address: str, copy: Copy | None, web: Web
) -> Copy:
    news = {}
    if copy and copy.etag:
        news["If-None-Match"] = copy.etag
    if copy and copy.modified:
        news["If-Modified-Since"] = copy.modified
    url = _allowed(httpx.URL(address), web)
    seen = [url]
    while True:
        async with client.stream("GET", url, headers=news) as answer:
            if answer.status_code not in _REDIRECTS:
                return await _copy_of(answer, copy, web)
            url = _allowed(_onward(answer, url), web)
        await _mind_inward(url, seen[0])
        if url in seen:
            raise _FailedError("its redirects lead round in a circle", _COPY_LINK)
        if len(seen) > web.redirects_max:
            raise _FailedError(
                f"it redirects more than {web.redirects_max} times", _COPY_LINK
            )
        seen.append(url)


def _onward(answer: httpx.Response, url: httpx.URL) -> httpx.URL:
    """Return where an answer sends on to; a login never goes along."""
    try:
        there = url.join(answer.headers["Location"])
    except (KeyError, httpx.InvalidURL):
        raise _FailedError("it redirects without saying where to", _COPY_LINK) from None
    return there.copy_with(username=None, password=None)


async def _mind_inward(url: httpx.URL, link: httpx.URL) -> None:
    """Refuse to be sent to this machine or its network by a link from outside."""
    there = await hosts.within(url.raw_host.decode())
    if not there:
        return
    for place in there.keys() - (await hosts.within(link.raw_host.decode())).keys():
        raise _FailedError(
            f"it redirects to {there[place]}, which is {place}; only a link that "
            "itself leads there is followed there",
            _COPY_LINK,
        )


def _allowed(url: httpx.URL, web: Web) -> httpx.URL:
    """Return the address as it is asked, if it may be."""
    if url.scheme in SECURE and url.host:
        return url.copy_with(scheme="https")
    if url.scheme == "http" and url.host in web.plain_hosts:
        return url
    known = f'"{url.scheme}:"' if url.scheme in _NAMED else "an address of another kind"
    raise _FailedError(
        f"it leads to {known}, which is not fetched; only https is", _COPY_LINK
    )


async def _copy_of(answer: httpx.Response, copy: Copy | None, web: Web) -> Copy:
    """Return what an answer gives, or the copy where nothing is new."""
    status = answer.status_code
    if status == HTTPStatus.NOT_MODIFIED and copy is not None:
        return Copy(
            data=copy.data,
            fetched=web.now,
            etag=copy.etag,
            modified=copy.modified,
        )
    if status != HTTPStatus.OK:
        raise _refusal(status)
    data = await _body(answer, web)
    _mind_calendar(data)
    return Copy(
        data=data,
        fetched=web.now,
        etag=_validator(answer, "ETag"),
        modified=_validator(answer, "Last-Modified"),
    )


def _validator(answer: httpx.Response, name: str) -> str:
    value = str(answer.headers.get(name, ""))
    return value if len(value) <= _VALIDATOR_CHARS_MAX else ""


def _refusal(status: int) -> _FailedError:
    words = f"it answers {status}"
    if status in (401, 403):
        return _FailedError(
            f"{words}: it wants a login, or the link was withdrawn",
            _COPY_LINK,
            final=True,
        )
    if status in (404, 410):
        return _FailedError(
            f"{words}: there is no calendar at this link any more",
            _COPY_LINK,
            final=True,
        )
    return _FailedError(f"{words} instead of a calendar", "try again later")


async def _body(answer: httpx.Response, web: Web) -> bytes:
    """Return the answer's bytes, unpacked, within the limit."""
    too_large = _FailedError(
        f"it is larger than {web.bytes_max:,} bytes", "share fewer days"
    )
    stated = answer.headers.get("Content-Length", "")
    if stated.isdigit() and int(stated) > web.bytes_max:
        raise too_large
    encoding = answer.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding in ("gzip", "x-gzip"):
        pieces = _unpacked(answer.aiter_raw(), web)
    elif encoding in ("", "identity"):
        pieces = answer.aiter_raw()
    else:
        raise _FailedError("its answer is compressed in a way that wasn't asked for")
    out = bytearray()
    async for piece in pieces:
        out += piece
        if len(out) > web.bytes_max:
            raise too_large
    return bytes(out)


async def _unpacked(raw: AsyncIterator[bytes], web: Web) -> AsyncIterator[bytes]:
    """Yield a gzip stream unpacked, never more than one byte over the limit.

    It may have several members (RFC 1952 §2.2), which all count.
    """
    left = web.bytes_max + 1
    stream = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
    try:
        async for piece in raw:
            rest = piece
            while rest:
                if stream.eof:
                    stream = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
                out = stream.decompress(rest, left)
                left -= len(out)
                yield out
                if not left:
                    return
                rest = stream.unused_data
    except zlib.error:
        raise _FailedError("its compressed answer is damaged") from None
    if not stream.eof:
        raise _FailedError("its compressed answer is cut off")


def _mind_calendar(data: bytes) -> None:
    """Refuse what is no calendar or not a whole one, before it becomes the copy."""
    start = data[:1000].lstrip(b"\xef\xbb\xbf \t\r\n").upper()
    if start.startswith(b"<"):
        raise _FailedError(
            "it answers with a web page, not a calendar; it may want a login",
            _COPY_LINK,
        )
    if not start.startswith(b"BEGIN:VCALENDAR"):
        raise _FailedError("what it gives is not a calendar", _COPY_LINK)
    marks = _FRAME.findall(data.replace(b"\r", b"\n"))
    if not marks or marks[-1].upper() != b"END":
        raise _FailedError("the calendar is cut off before its end", "try again later")
