"""One page served to browsers on this machine, which show by themselves when there is a new one.

Nothing else can be had here: the address is that of this machine alone, its path begins with a token that nobody can
guess, and requests that name another host are refused, so that no site on the web can reach in by a name of its own.
"""

from __future__ import annotations

import contextlib
import hmac
import json
import secrets
import threading
from collections.abc import Callable, Sequence
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType

_HERE = "127.0.0.1"

_BEAT = 10.0
"""Seconds after which a browser that waits is told that nobody has gone."""

_HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class PageServer(ThreadingHTTPServer):
    """Serves a page from the moment that the context begins until it ends."""

    daemon_threads = True
    block_on_close = False

    def __init__(self) -> None:
        super().__init__((_HERE, 0), _Handler)
        self.root = f"/{secrets.token_urlsafe(24)}/"
        self.hosts = {f"{name}:{self.server_port}" for name in (_HERE, "localhost")}
        self.page, self.policy = b"", ""
        self.state = 0
        self.faults: tuple[str, ...] = ()
        self.ending = False
        self.news = threading.Condition()

    def __enter__(self) -> PageServer:
        threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None = None,
        error: BaseException | None = None,
        trace: TracebackType | None = None,
    ) -> None:
        with self.news:
            self.ending = True
            self.news.notify_all()
        self.shutdown()
        self.server_close()

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{_HERE}:{self.server_port}{self.root}"

    def show(self, render: Callable[[str], str], *, policy: str) -> None:
        """Have a new page shown.

        Parameters
        ----------
        render
            Returns the page (HTML), given the address that tells of the next one.
        policy
            What it may load.
        """
        page = render(f"events?{self.state + 1}").encode()
        with self.news:
            self.state += 1
            self.page, self.policy, self.faults = page, policy, ()
            self.news.notify_all()

    def tell_faults(self, faults: Sequence[str]) -> None:
        """Have it said on the page that there is no new one, and why."""
        with self.news:
            self.faults = tuple(faults)
            self.news.notify_all()

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing of browsers that have gone."""


class _Handler(BaseHTTPRequestHandler):
    server: PageServer
    server_version, sys_version = "seamtree", ""
    protocol_version = "HTTP/1.1"
    timeout = 60.0

    def do_GET(self) -> None:
        server = self.server
        path, _, query = self.path.partition("?")
        if self.headers.get("Host", "") not in server.hosts:
            self._refuse(HTTPStatus.MISDIRECTED_REQUEST)
        elif hmac.compare_digest(path.encode(), server.root.encode()):
            with server.news:
                page, policy = server.page, server.policy
            self._begin(
                "text/html; charset=utf-8", {"Content-Security-Policy": policy, "Content-Length": str(len(page))}
            )
            if self.command != "HEAD":
                self.wfile.write(page)
        elif hmac.compare_digest(path.encode(), f"{server.root}events".encode()):
            self.close_connection = True
            self._begin("text/event-stream", {"Connection": "close"})
            if self.command != "HEAD":
                with contextlib.suppress(OSError):
                    self._tell_news(query)
        else:
            self._refuse(HTTPStatus.NOT_FOUND)

    do_HEAD = do_GET  # noqa: N815

    def _tell_news(self, seen: str) -> None:
        """Tell a browser that shows one state of every fault, and of the next state."""
        server = self.server
        told: tuple[str, ...] = ()
        while not server.ending:
            with server.news:
                state, faults = str(server.state), server.faults
                if state == seen and faults == told and not server.ending:
                    server.news.wait(_BEAT)
                    state, faults = str(server.state), server.faults
            if state != seen:
                self._send("event: changed\ndata: \n\n")
                return
            if faults and faults != told:
                self._send(f"event: faulty\ndata: {json.dumps(faults)}\n\n")
            else:
                self._send(": still here\n\n")
            told = faults

    def _send(self, text: str) -> None:
        self.wfile.write(text.encode())
        self.wfile.flush()

    def _begin(self, kind: str, more: dict[str, str]) -> None:
        self.send_response(HTTPStatus.OK)
        for name, value in {"Content-Type": kind, **_HEADERS, **more}.items():
            self.send_header(name, value)
        self.end_headers()

    def _refuse(self, status: HTTPStatus) -> None:
        self.close_connection = True
        self.send_response(status)
        for name, value in {"Content-Length": "0", "Connection": "close", **_HEADERS}.items():
            self.send_header(name, value)
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 -- the name in the library
        """Say nothing."""
