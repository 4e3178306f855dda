"""A web server on this machine that behaves as it is told, well or badly."""

import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import trustme

Answer = Callable[["Asked"], None]


class Asked(BaseHTTPRequestHandler):
    """A request, answered by the function of its path; stray paths by a 404."""

    server: "Loopback"

    def do_GET(self) -> None:
        self.server.asked.append((self.path, dict(self.headers)))
        answer = self.server.answers.get(self.path.partition("?")[0])
        if answer is None:
            self.send_error(404)
            return
        try:
            answer(self)
        except OSError:  # who asked has hung up, or is waited for no longer
            self.close_connection = True

    def give(self, data: bytes, status: int = 200, **headers: str) -> None:
        """Answer with these bytes; headers are named with underscores."""
        self.send_response(status)
        for name, value in {
            "Content_Type": "text/calendar; charset=utf-8",
            "Content_Length": str(len(data)),
            **headers,
        }.items():
            self.send_header(name.replace("_", "-"), value)
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


class Loopback(ThreadingHTTPServer):
    """The server: answers by path, and what it was asked."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Asked)
        self.answers: dict[str, Answer] = {}
        self.asked: list[tuple[str, dict[str, str]]] = []
        self.over = threading.Event()

    def handle_error(self, *_: object) -> None:
        """Say nothing of connections that were broken off on purpose."""

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.server_address[1]}"


@contextmanager
def serving(trust: ssl.SSLContext | None = None) -> Iterator[Loopback]:
    """Yield a running server; with a context, an encrypted one."""
    server = Loopback()
    if trust is not None:
        server.socket = trust.wrap_socket(
            server.socket, server_side=True, do_handshake_on_connect=False
        )
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.over.set()
        server.shutdown()
        server.server_close()
        thread.join(5)


def contexts() -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Return a server's context for this machine, and a client's that trusts it."""
    authority = trustme.CA()
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert("127.0.0.1").configure_cert(server)
    client = ssl.create_default_context()
    authority.configure_trust(client)
    return server, client
