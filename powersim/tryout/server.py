"""A server on this computer alone, for one page: it hands out assets and answers questions.

It is the standard library's (`listening.py`), with the limits set that it lacks: who may ask
(`guard.py`), how much and how long (`patient_input.py`, `ask_body.py`), how many at once
(`connections.py`), how long it lives (`lifetime.py`). It takes plain functions and knows nothing of
boats.
"""

from __future__ import annotations

import contextlib
import errno
import socket
import threading
from collections.abc import Callable, Collection, Mapping
from contextlib import AbstractContextManager
from typing import Any

from powersim.errors import InputError, OutputError, refused
from powersim.tryout.ask_body import BadBodyError, asked_in
from powersim.tryout.assets_table import AssetFile
from powersim.tryout.connections import Connections
from powersim.tryout.key import new_key
from powersim.tryout.lifetime import IDLE_s, Lifetime
from powersim.tryout.listening import LOOPBACK, Listener, as_json
from powersim.tryout.problems import problem_told
from powersim.tryout.superseded import Superseded

Question = Callable[[dict[str, Any]], dict[str, Any]]
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
            self._listener = Listener(port, self)
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
            return 400, as_json({"refused": str(error)})
        if self.ending:
            return 503, as_json({"refused": "powersim is ending."})
        try:
            with self.lifetime.asked():
                return 200, as_json(self.questions[question](asked))
        except InputError as error:
            return 422, as_json({"problems": [problem_told(one) for one in error.problems]})
        except Superseded:
            return 409, as_json({"superseded": True})
        except OutputError as error:
            return 409, as_json({"refused": str(error)})
        except Exception as error:  # noqa: BLE001 - whatever it is, the page is told in a sentence
            self.fault(f"the question {question!r}", error)
            return 500, as_json({"fault": _fault(error)})

    def fault(self, where: str, error: Exception) -> None:
        """Tell of a fault of our own, unless it comes of ending."""
        if not self.ending:
            with contextlib.suppress(OSError, ValueError):  # there may be nobody to tell
                self.on_fault(where, error)


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


def _fault(error: Exception) -> str:
    """What went wrong, in a line; the page says the rest."""
    return " ".join(f"{type(error).__name__}: {error}".split())
