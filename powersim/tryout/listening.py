"""Connections and what comes over them: each in a thread of its own, request by request.

The standard library's reader of heads, with the limits set that it lacks.
"""

from __future__ import annotations

import contextlib
import json
import os
import socket
import socketserver
import threading
from collections.abc import Mapping
from email.utils import formatdate
from http import HTTPStatus
from http.client import LineTooLong
from http.server import BaseHTTPRequestHandler
from typing import TYPE_CHECKING, Any

from powersim.tryout.guard import Ask, Asset, Refusal, let_in
from powersim.tryout.patient_input import BETWEEN_s, PatientInput, REQUEST_s

if TYPE_CHECKING:
    from powersim.tryout.server import Server

LOOPBACK = "127.0.0.1"
#: What the page may load and where it may be shown: what is ours, and nowhere.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_ALWAYS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
_JSON = "application/json; charset=utf-8"
#: For all of an answer to be taken. [s]
_SEND_s = 30.0
#: For the rest of a request that is refused, so that the refusal is read before the line is cut.
_LINGER_s, _LINGER_BYTES = 0.5, 2**20


class Listener(socketserver.TCPServer):
    """Takes connections, each into a thread of its own. Not `HTTPServer`, which asks the network
    for this computer's name, and may wait for an answer for long where there is none.

    Parameters
    ----------
    port : int
        0 for any that is free.
    owner : Server
        Who answers.

    Raises
    ------
    OSError
        If the port cannot be had.
    """

    # On Windows it would let another program take the port from under us.
    allow_reuse_address = os.name == "posix"
    allow_reuse_port = False
    request_queue_size = 128

    def __init__(self, port: int, owner: Server) -> None:
        self.owner = owner
        super().__init__((LOOPBACK, port), socketserver.BaseRequestHandler)

    def server_bind(self) -> None:
        """Take the port, on Windows for us alone."""
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        super().server_bind()

    def process_request(self, request, client_address) -> None:  # type: ignore[no-untyped-def]
        """Give a newcomer a place and a thread, or end it."""
        connection = None if self.owner.ending else self.owner.connections.admit(request)
        if connection is None:
            self.shutdown_request(request)
            return
        thread = threading.Thread(
            target=self._in_a_thread, args=(connection, client_address), daemon=True, name="browser"
        )
        try:
            thread.start()
        except RuntimeError:  # no more of them can be had
            self.owner.connections.leave(connection)
            self.shutdown_request(request)

    def _in_a_thread(self, connection, client_address) -> None:  # type: ignore[no-untyped-def]
        try:
            _Handler(connection.channel, client_address, self, connection)
        except OSError:  # the other side has gone, or takes too long
            pass
        except Exception as error:  # noqa: BLE001 - the outermost place of its thread
            self.owner.fault("a request", error)
        finally:
            self.owner.connections.leave(connection)
            self.shutdown_request(connection.channel)

    def handle_error(self, request, client_address) -> None:  # type: ignore[no-untyped-def]
        """Say nothing: what goes wrong with a connection is no news to anybody."""


class _Handler(BaseHTTPRequestHandler):
    """One connection, request by request."""

    protocol_version = "HTTP/1.1"

    def __init__(self, channel, client_address, listener, connection):  # type: ignore[no-untyped-def]
        self.owner: Server = listener.owner
        self.place = connection
        super().__init__(channel, client_address, listener)

    def setup(self) -> None:
        self.connection = self.request
        self.connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, True)
        self.input = PatientInput(self.connection)
        self.rfile = self.input  # type: ignore[assignment]  # its readline is all that is asked

    def finish(self) -> None:
        self.input.close()

    def handle(self) -> None:
        self.close_connection = True
        self.handle_one_request(first_s=REQUEST_s)
        while not self.close_connection:
            self.handle_one_request(first_s=BETWEEN_s)

    def handle_one_request(self, *, first_s: float = REQUEST_s) -> None:
        """Read one request and answer it; whatever is wrong with its head ends the connection."""
        self.close_connection = True
        self.command, self.request_version = "", ""
        self.input.begin_request(first_s=first_s)
        try:
            self.raw_requestline = self.input.readline()
        except OSError:
            return
        except LineTooLong:
            self._refuse(Refusal(431, "The request is too long."))
            return
        if not self.raw_requestline or not self.parse_request():
            return
        if self.request_version != "HTTP/1.1":
            self._refuse(Refusal(505, "The page is served by HTTP/1.1."))
            return
        wanted = let_in(
            self.command,
            self.path,
            self.headers,
            port=self.owner.port,
            key=self.owner.key,
            assets=self.owner.assets,
            questions=self.owner.questions,
        )
        if isinstance(wanted, Refusal):
            self._refuse(wanted)
        elif isinstance(wanted, Asset):
            asset = self.owner.assets[wanted.path]
            self._send(200, asset.content, asset.kind)
        else:
            self._answer(wanted)

    def _answer(self, wanted: Ask) -> None:
        body = self.input.read(wanted.length_bytes)
        if len(body) < wanted.length_bytes:
            self.close_connection = True
            return
        self.owner.connections.begin(self.place)
        try:
            with self.owner.whole(wanted.question):
                status, answer = self.owner.answer(wanted.question, body)
                self._send(status, answer, _JSON)
        finally:
            self.owner.connections.done(self.place)

    def _refuse(self, refusal: Refusal) -> None:
        self.close_connection = True
        more = {} if refusal.allow is None else {"Allow": refusal.allow}
        self._send(refusal.status, as_json({"refused": refusal.sentence}), _JSON, more)
        self._linger()

    def _send(
        self, status: int, content: bytes, kind: str, more: Mapping[str, str] | None = None
    ) -> None:
        """Head and content together: apart, the second waits for the first to be acknowledged."""
        head = {
            "Date": formatdate(usegmt=True),
            "Content-Type": kind,
            "Content-Length": str(len(content)),
            **_ALWAYS,
            **(more or {}),
        }
        if self.close_connection:
            head["Connection"] = "close"
        lines = [f"HTTP/1.1 {status} {HTTPStatus(status).phrase}"]
        lines += [f"{name}: {value}" for name, value in head.items()]
        told = "\r\n".join((*lines, "", "")).encode("ascii")
        self.connection.settimeout(_SEND_s)
        self.connection.sendall(told if self.command == "HEAD" else told + content)

    def _linger(self) -> None:
        """Read what still comes: cut off with something unread, the other side loses the answer."""
        with contextlib.suppress(OSError):
            self.connection.shutdown(socket.SHUT_WR)
            self.input.begin_request(first_s=_LINGER_s, whole_s=_LINGER_s)
            self.input.read(_LINGER_BYTES)

    def handle_expect_100(self) -> bool:
        """Browsers never ask whether they may go on."""
        self._refuse(Refusal(417, "A question comes at once and as a whole."))
        return False

    def send_error(self, code, message=None, explain=None) -> None:  # type: ignore[no-untyped-def]
        """What the standard library says of a head that it cannot read, in our form."""
        self._refuse(Refusal(int(code), "The request cannot be read."))

    def log_message(self, *_: object) -> None:
        """No request is logged anywhere."""


def as_json(answer: dict[str, Any]) -> bytes:
    """An answer as it is sent.

    Parameters
    ----------
    answer : dict
        Of what JSON knows; no nan.
    """
    return json.dumps(answer, ensure_ascii=False, allow_nan=False).encode("utf-8")
