"""A server on this computer alone, for one page: it hands out assets and answers questions.

It is the standard library's, with the limits set that it lacks: who may ask (`guard.py`), how much
and how long (`patient_input.py`, `ask_body.py`), how many at once (`connections.py`), how long it
lives (`lifetime.py`). It takes plain functions and knows nothing of boats.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import socket
import socketserver
import threading
from collections.abc import Callable, Collection, Mapping
from contextlib import AbstractContextManager
from email.utils import formatdate
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler
from typing import Any

from powersim.errors import InputError, OutputError, refused
from powersim.tryout.ask_body import BadBodyError, asked_in
from powersim.tryout.assets_table import AssetFile
from powersim.tryout.connections import Connections
from powersim.tryout.guard import Ask, Asset, Refusal, let_in
from powersim.tryout.key import new_key
from powersim.tryout.lifetime import IDLE_s, Lifetime
from powersim.tryout.patient_input import BETWEEN_s, PatientInput, REQUEST_s
from powersim.tryout.superseded import Superseded

Question = Callable[[dict[str, Any]], dict[str, Any]]
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
#: For a question that must not be left half done, when the server ends. [s]
_FINISH_s = 10.0


class Server:
    """The server, from the moment that it has its port.

    Parameters
    ----------
    questions : mapping of str to callable
        Each takes what was asked and gives its answer, both as JSON has them. They are called in
        threads of their own, several at a time.
    assets : mapping of str to AssetFile
        By path; served to anybody on this computer.
    port : int
        0 for any that is free.
    idle_s : float
        Without a word from a page, until it ends. [s]
    to_finish : collection of str
        Questions that are not left half done when it ends, such as one that writes.
    on_fault : callable
        Told where it came up and the exception, for each fault of our own.

    Raises
    ------
    InputError
        If the port is taken.
    """

    def __init__(
        self,
        questions: Mapping[str, Question],
        *,
        assets: Mapping[str, AssetFile],
        port: int = 0,
        idle_s: float = IDLE_s,
        to_finish: Collection[str] = (),
        on_fault: Callable[[str, Exception], None] = lambda where, error: None,
    ):
        self.questions, self.assets = questions, assets
        self.key = new_key()
        self.lifetime = Lifetime(idle_s)
        self.connections = Connections()
        self.to_finish, self.on_fault = to_finish, on_fault
        self.ending = False
        self._finishing = threading.Semaphore(1)
        try:
            self._listener = _Listener(port, self)
        except OSError as error:
            raise _no_port(port, error) from error
        self.port = self._listener.server_address[1]
        self._thread = threading.Thread(
            target=self._listener.serve_forever, daemon=True, name="listener"
        )

    @property
    def bare_address(self) -> str:
        """Where the page is, without the key."""
        return f"http://{LOOPBACK}:{self.port}/"

    @property
    def address(self) -> str:
        """Where the page is, with the key behind "#", which browsers send nowhere."""
        return f"{self.bare_address}#{self.key}"

    def start(self) -> None:
        """Begin to answer, in threads of its own."""
        self._thread.start()

    def close(self) -> None:
        """End: no new question, none left half done that must not be, no connection open."""
        self.ending = True
        if self._thread.is_alive():
            self._stop_listening()
        self._listener.server_close()
        if self._finishing.acquire(timeout=_FINISH_s):
            self._finishing.release()
        self.connections.end_all()

    def _stop_listening(self) -> None:
        stopping = threading.Thread(target=self._listener.shutdown, daemon=True)
        stopping.start()
        # The listener looks whether to stop every half second, and when somebody calls.
        with contextlib.suppress(OSError):
            socket.create_connection((LOOPBACK, self.port), timeout=1.0).close()
        stopping.join()

    def __enter__(self) -> Server:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def whole(self, question: str) -> AbstractContextManager[object]:
        """While a question is answered that the end waits for; of any other the end knows nothing.

        Parameters
        ----------
        question : str
            One that there is.
        """
        return self._finishing if question in self.to_finish else contextlib.nullcontext()

    def answer(self, question: str, body: bytes) -> tuple[int, bytes]:
        """Status and content of the answer to a question, whatever it raises.

        Parameters
        ----------
        question : str
            One that there is.
        body : bytes
            As it came.
        """
        try:
            asked = asked_in(body)
        except BadBodyError as error:
            return 400, _written({"refused": str(error)})
        if self.ending:
            return 503, _written({"refused": "powersim is ending."})
        try:
            with self.lifetime.asked():
                return 200, _written(self.questions[question](asked))
        except InputError as error:
            return 422, _written({"problems": [_plain(problem) for problem in error.problems]})
        except Superseded:
            return 409, _written({"superseded": True})
        except OutputError as error:
            return 409, _written({"refused": str(error)})
        except Exception as error:  # noqa: BLE001 - whatever it is, the page is told in a sentence
            self.fault(f"the question {question!r}", error)
            return 500, _written({"fault": _fault(error)})

    def fault(self, where: str, error: Exception) -> None:
        """Tell of a fault of our own, unless it comes of ending."""
        if not self.ending:
            with contextlib.suppress(OSError, ValueError):  # there may be nobody to tell
                self.on_fault(where, error)


def serve(
    questions: Mapping[str, Question],
    *,
    assets: Mapping[str, AssetFile],
    port: int = 0,
    idle_s: float = IDLE_s,
    to_finish: Collection[str] = (),
    on_fault: Callable[[str, Exception], None] = lambda where, error: None,
    on_ready: Callable[[Server], None] = lambda server: None,
) -> None:
    """Serve until nobody is there any more; the arguments are those of `Server`.

    Parameters
    ----------
    on_ready : callable
        Told the server, once it answers.
    """
    with Server(
        questions,
        assets=assets,
        port=port,
        idle_s=idle_s,
        to_finish=to_finish,
        on_fault=on_fault,
    ) as server:
        on_ready(server)
        server.lifetime.wait()


def _no_port(port: int, error: OSError) -> InputError:
    if error.errno == errno.EADDRINUSE:
        return refused(
            "--port",
            f"{port} is taken: another program listens there",
            "another port, or none, and a free one is taken; if it is an earlier "
            "'powersim try', end that with Ctrl-C",
        )
    reason = error.strerror or error
    return refused("--port", f"nothing can be served at {LOOPBACK} ({reason})", "a port from 1024")


def _plain(problem: Any) -> dict[str, Any]:
    return {
        "place": getattr(problem, "place", None),
        "file": problem.file,
        "line": problem.line,
        "text": problem.text,
        "expected": problem.expected,
        "said": str(problem),
    }


def _fault(error: Exception) -> str:
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return f"A fault of powersim's own ({what}). It goes on, and can be asked again."


class _Listener(socketserver.TCPServer):
    """Takes connections, each into a thread of its own. Not `HTTPServer`, which asks the network
    for this computer's name, and may wait for an answer for long where there is none."""

    # On Windows it would let another program take the port from under us.
    allow_reuse_address = os.name == "posix"
    allow_reuse_port = False
    request_queue_size = 128

    def __init__(self, port: int, owner: Server):
        self.owner = owner
        super().__init__((LOOPBACK, port), socketserver.BaseRequestHandler)

    def server_bind(self) -> None:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        super().server_bind()

    def process_request(self, request, client_address) -> None:  # type: ignore[no-untyped-def]
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
        except Exception:  # noqa: BLE001 - a line without end
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
        self._send(refusal.status, _written({"refused": refusal.sentence}), _JSON, more)
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


def _written(answer: dict[str, Any]) -> bytes:
    return json.dumps(answer, ensure_ascii=False, allow_nan=False).encode("utf-8")
