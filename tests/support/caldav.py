"""A real calendar server on this machine, and what stands between it and us."""

import base64
import http.client
import re
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import httpx
import icalendar

USER, PASSWORD = "ana", "tern-street"


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


@dataclass
class Server:
    """Radicale with one user and any number of calendars, looked at past our code."""

    url: str
    log: Path
    client: httpx.Client

    def calendar(self, name: str) -> str:
        """Make a calendar and return its address."""
        url = f"{self.url}/{USER}/{name}/"
        made = self.client.request("MKCALENDAR", url)
        assert made.status_code == 201, made.text
        return url

    def held(self, url: str) -> dict[str, Any]:
        """Return the entries of a calendar by uid, each once."""
        got = self.client.get(url)
        assert got.status_code == 200
        calendar: Any = icalendar.Calendar.from_ical(got.content)
        events = calendar.walk("VEVENT")
        by_uid = {str(e["UID"]): e for e in events}
        assert len(by_uid) == len(events)
        return by_uid

    def titles(self, url: str) -> list[str]:
        return sorted(str(e["SUMMARY"]) for e in self.held(url).values())

    def names(self, url: str) -> dict[str, str]:
        """Return the tags of all that lies in a calendar, by name."""
        asked = self.client.request(
            "PROPFIND",
            url,
            headers={"Depth": "1"},
            content=b'<propfind xmlns="DAV:"><prop><getetag/></prop></propfind>',
        )
        assert asked.status_code == 207

        rows = re.findall(
            r"<href>([^<]*)</href>.*?<getetag>([^<]*)<", asked.text, re.DOTALL
        )
        return {h.rsplit("/", 1)[1]: t for h, t in rows if not h.endswith("/")}

    def asked(self, url: str) -> Counter[str]:
        """Return how often the server's log tells of each method under an address."""
        path = urlsplit(url).path
        said = self.log.read_text("utf-8", errors="replace")
        return Counter(
            method
            for line in said.splitlines()
            for method in ("PUT", "DELETE", "PROPFIND", "GET")
            if f"{method} request for '{path}" in line
        )


@contextmanager
def radicale(folder: Path) -> Iterator[Server]:
    """Yield a server that keeps its files in a folder and ends with the block."""
    port = free_port()
    (folder / "users").write_text(f"{USER}:{PASSWORD}\n")
    (folder / "empty.conf").write_text("")
    log = folder / "log"
    command = [
        *(sys.executable, "-m", "radicale", "--config", str(folder / "empty.conf")),
        *("--server-hosts", f"127.0.0.1:{port}", "--auth-type", "htpasswd"),
        *("--auth-htpasswd-filename", str(folder / "users")),
        *("--auth-htpasswd-encryption", "plain", "--auth-delay", "0"),
        *("--storage-filesystem-folder", str(folder / "store")),
        *("--web-type", "none", "--logging-level", "info"),
    ]
    with (
        log.open("wb") as out,
        subprocess.Popen(command, stdout=out, stderr=out) as run,
    ):
        try:
            until = time.monotonic() + 30
            while True:
                try:
                    socket.create_connection(("127.0.0.1", port), timeout=1).close()
                    break
                except OSError:
                    assert run.poll() is None, log.read_text()
                    assert time.monotonic() < until, "the server doesn't start"
                    time.sleep(0.05)
            url = f"http://127.0.0.1:{port}"
            with httpx.Client(auth=(USER, PASSWORD), timeout=20) as client:
                yield Server(url=url, log=log, client=client)
        finally:
            run.terminate()


# ------------------------------------------------------------- what stands between

Answer = tuple[int, dict[str, str], bytes]


@dataclass
class Asked:
    """A request as it came in."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Stub:
    """A server of our own that answers as a function says; None breaks the line."""

    url: str
    asked: list[Asked] = field(default_factory=list)


@contextmanager
def stub(answer: Callable[[Asked], Answer | None]) -> Iterator[Stub]:
    """Yield a server on this machine that answers as told."""

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def __getattr__(self, name: str) -> Any:
            if name.startswith("do_"):
                return self._any
            raise AttributeError(name)

        def _any(self) -> None:
            length = int(self.headers.get("Content-Length") or 0)
            asked = Asked(
                method=self.command,
                path=self.path,
                headers={k.lower(): v for k, v in self.headers.items()},
                body=self.rfile.read(length),
            )
            made.asked.append(asked)
            got = answer(asked)
            if got is None:
                self.close_connection = True
                self.connection.shutdown(socket.SHUT_RDWR)
                return
            status, headers, body = got
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            if status != 204:
                self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.handle_error = lambda *_: None  # type: ignore[method-assign]
    made = Stub(url=f"http://127.0.0.1:{server.server_address[1]}")
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield made
    finally:
        server.shutdown()
        server.server_close()


def passed_on(server: Server, asked: Asked) -> Answer:
    """Return what the real server answers to a request."""
    there = urlsplit(server.url)
    line = http.client.HTTPConnection(there.hostname or "", there.port, timeout=20)
    try:
        headers = {k: v for k, v in asked.headers.items() if k != "host"}
        line.request(asked.method, asked.path, body=asked.body, headers=headers)
        got = line.getresponse()
        kept = {
            k: v
            for k, v in got.getheaders()
            if k.lower() in ("etag", "location", "content-type", "www-authenticate")
        }
        return got.status, kept, got.read()
    finally:
        line.close()


@contextmanager
def breaking(server: Server, *, after: int, lost: str) -> Iterator[Stub]:
    """Yield a line to a server that breaks for good after some requests.

    `lost` says whether the last request doesn't arrive ("request"), or arrives and is
    done, but nobody hears of it ("answer").
    """
    count = 0

    def answer(asked: Asked) -> Answer | None:
        nonlocal count
        count += 1
        if count <= after:
            return passed_on(server, asked)
        if count == after + 1 and lost == "answer":
            passed_on(server, asked)
        return None

    with stub(answer) as line:
        yield line


def basic(user: str = USER, password: str = PASSWORD) -> str:
    """Return the header that Basic authentication sends (RFC 7617 §2)."""
    return "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()
