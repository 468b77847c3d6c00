"""Who is connected: so many and no more, and whoever holds a place without a word gives way."""

from __future__ import annotations

import contextlib
import itertools
import socket
import threading

#: A browser opens six to one place; so this is ten pages, or one page and much that hangs about.
MOST = 64


class Connection:
    """One browser, or whoever else has opened a connection."""

    def __init__(self, channel: socket.socket, turn: int):
        self.channel = channel
        #: When it was heard last, as a number that grows.
        self.turn = turn
        #: Whether it has shown the key.
        self.known = False
        #: Whether a question of it is being answered.
        self.at_work = False


class Connections:
    """All that are open, each with its place.

    Parameters
    ----------
    most : int
        How many places there are.
    """

    def __init__(self, most: int = MOST):
        self.most = most
        self._open: set[Connection] = set()
        self._lock = threading.Lock()
        self._turns = itertools.count()

    def admit(self, channel: socket.socket) -> Connection | None:
        """A place for a newcomer; None where all are at work.

        Whoever has not shown the key gives way first, then whoever has been silent longest. So
        connections that are opened and left half-open never keep a page from its server.
        """
        with self._lock:
            if len(self._open) >= self.most:
                waiting = [one for one in self._open if not one.at_work]
                if not waiting:
                    return None
                longest = min(waiting, key=lambda one: (one.known, one.turn))
                self._open.discard(longest)
                _end(longest.channel)
            newcomer = Connection(channel, next(self._turns))
            self._open.add(newcomer)
            return newcomer

    def begin(self, connection: Connection) -> None:
        """Note that it has shown the key and is being answered."""
        with self._lock:
            connection.known = connection.at_work = True

    def done(self, connection: Connection) -> None:
        """Note that it has been answered, and waits again."""
        with self._lock:
            connection.at_work = False
            connection.turn = next(self._turns)

    def leave(self, connection: Connection) -> None:
        """Give its place free."""
        with self._lock:
            self._open.discard(connection)

    def end_all(self) -> None:
        """End every one of them."""
        with self._lock:
            for connection in self._open:
                _end(connection.channel)

    def __len__(self) -> int:
        return len(self._open)


def _end(channel: socket.socket) -> None:
    """Wake whoever reads from it or writes to it; the one that owns it closes it."""
    with contextlib.suppress(OSError):
        channel.shutdown(socket.SHUT_RDWR)
