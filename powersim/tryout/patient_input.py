"""What comes from a connection, read with bounds on how long it may take and how much it may be."""

from __future__ import annotations

import io
import socket
import time
from http.client import LineTooLong

#: For the first request of a connection, and for each as a whole once it has begun. [s]
REQUEST_s = 10.0
#: Until the next request of a connection: a page in the background asks once a minute. [s]
BETWEEN_s = 150.0
#: Of the first line and all headers. Browsers send the cookies of every server on this computer
#: along, whatever its port, so there may be many that are none of ours. [byte]
LARGEST_HEAD_BYTES = 64 * 1024


class PatientInput:
    """The bytes of a connection, request by request.

    Parameters
    ----------
    channel : socket.socket
        Where they come from.
    """

    def __init__(self, channel: socket.socket):
        self._raw = _UntilThen(channel)
        self._buffered = io.BufferedReader(self._raw)
        self._left_bytes = 0

    def begin_request(self, *, first_s: float, whole_s: float = REQUEST_s) -> None:
        """Wait so long for a request.

        Parameters
        ----------
        first_s : float
            For its first byte. [s]
        whole_s : float
            For all the rest. [s]
        """
        self._raw.begin(first_s, whole_s)
        self._left_bytes = LARGEST_HEAD_BYTES

    def readline(self, most: int = -1) -> bytes:
        """A line of a head; as the standard library's reader of heads asks for it."""
        room = self._left_bytes + 1
        line = self._buffered.readline(room if most < 0 else min(most, room))
        self._left_bytes -= len(line)
        if self._left_bytes < 0:
            raise LineTooLong("head")
        return line

    def read(self, length_bytes: int) -> bytes:
        """So many bytes, fewer only where no more come."""
        return self._buffered.read(length_bytes)

    def close(self) -> None:
        """Let go of the buffer; the connection stays as it is."""
        self._buffered.close()


class _UntilThen(io.RawIOBase):
    """Bytes from a connection until a moment, which moves once: as the first byte has come."""

    def __init__(self, channel: socket.socket):
        self._channel = channel
        self._until_s = 0.0
        self._whole_s: float | None = None

    def begin(self, first_s: float, whole_s: float) -> None:
        self._until_s, self._whole_s = time.monotonic() + first_s, whole_s

    def readable(self) -> bool:
        return True

    def readinto(self, buffer) -> int:  # type: ignore[no-untyped-def]
        left_s = self._until_s - time.monotonic()
        if left_s <= 0.0:
            raise TimeoutError
        self._channel.settimeout(left_s)
        count = self._channel.recv_into(buffer)
        if self._whole_s is not None:
            self._until_s, self._whole_s = time.monotonic() + self._whole_s, None
        return count
