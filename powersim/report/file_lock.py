"""A lock that one process holds at a time, and that death lets go of."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from io import FileIO
from pathlib import Path

_PACE_s = 0.02
#: Of the locked byte, far behind what the file holds: Windows lets nobody read a locked one.
_FAR = 1 << 30
_HELD_BY_ANOTHER = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
#: Some file systems, of telephones and of old servers, have no locks.
_NO_LOCKS = tuple(
    getattr(errno, name)
    for name in ("ENOTSUP", "EOPNOTSUPP", "ENOLCK", "ENOSYS", "EINVAL")
    if hasattr(errno, name)
)
#: A link that somebody put in its place is not followed: what it leads to would be emptied.
_OPEN = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


class FileLock:
    """A lock file in a folder of its own; both are gone when it is let go.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / "lock"
        self._file: FileIO | None = None

    def take(self, *, wait_s: float, make: bool) -> bool:
        """Try for so long to get it.

        Parameters
        ----------
        make : bool
            Whether to make the folder; if not and it is missing, FileNotFoundError is raised.

        Returns
        -------
        bool
            Whether it is ours now; another process has it if not.
        """
        ends_s = time.monotonic() + wait_s
        while True:
            if make:
                self.path.parent.mkdir(parents=True, exist_ok=True)
            try:
                if self._taken():
                    return True
            except FileNotFoundError:  # who had it has just removed it
                if not make:
                    raise
            except PermissionError:  # Windows: who had it is just removing it
                if os.name != "nt" or time.monotonic() >= ends_s:
                    raise
            if time.monotonic() >= ends_s:
                return False
            time.sleep(_PACE_s)

    def holder(self) -> str:
        """Who has it, for a message."""
        try:
            number = int(self.path.read_text(encoding="ascii"))
        except (OSError, ValueError):  # it has just begun, or just ended
            return "another powersim"
        return f"another powersim (process {number})"

    def let_go(self) -> None:
        """Let others have it, and remove its folder if nothing else is in it."""
        assert self._file is not None, "who has it lets it go"
        # Windows removes no open file; elsewhere it must go before another process locks it.
        if os.name != "nt":
            self._remove()
        self._file.close()
        if os.name == "nt":
            self._remove()

    def _taken(self) -> bool:
        if self.path.is_symlink():
            self.path.unlink()
        file = os.fdopen(os.open(self.path, _OPEN), "r+b", buffering=0)
        try:
            if _locked(file) and self._is_still(file):
                self._file = file
                with contextlib.suppress(OSError):  # on a full disk it says nobody's number
                    file.truncate(0)
                    file.write(b"%d\n" % os.getpid())
                return True
        finally:
            if self._file is not file:
                file.close()
        return False

    def _is_still(self, file: FileIO) -> bool:
        """Whether who had it before has not removed the file since it was opened here."""
        # Windows removes no open file.
        return os.name == "nt" or os.path.samestat(os.fstat(file.fileno()), self.path.stat())

    def _remove(self) -> None:
        with contextlib.suppress(OSError):  # another process is already at it
            self.path.unlink()
            self.path.parent.rmdir()


def _locked(file: FileIO) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(_FAR)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in _HELD_BY_ANOTHER:
            return False
        if error.errno not in _NO_LOCKS:
            raise
    return True
