"""What was compiled, kept on disk: read only if whole and our own, written whole or not at all.

A file that is read is run as machine code. So it must lie in a folder that only its owner can
write to, and be the owner's; and it must be as it was written, byte by byte, for the very key that
is asked for. Where anything is amiss it is passed over, and the caller compiles anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import sys
import time
from collections.abc import Iterator
from typing import NamedTuple

_MAGIC = b"powersim machine code 1\n"
_DIGEST = 32
_LENGTH = 8
_HEADER = len(_MAGIC) + 2 * _DIGEST + _LENGTH
#: More than any that we write. [byte]
_LARGEST = 64 * 2**20
#: So many files are kept for a function: those of two or three installations.
KEPT = 3
#: What a writer that was killed has left is not being written any more. [s]
_LEFT_s = 3600.0
#: Where temporary files go, if TMPDIR does not say.
_SHARED = ("/tmp", "/var/tmp")
_ENDING, _PART = ".compiled", ".part"
_FOLDER = "powersim"


class Place(NamedTuple):
    """A folder that compiled functions may be kept in.

    Attributes
    ----------
    folder : str
        Absolute.
    above : str
        A folder above it that must be the user's own, if it is there.
    may_make_above : bool
        Whether that folder too may be made.
    is_shared : bool
        Whether others may make something of our name there first.
    """

    folder: str
    above: str
    may_make_above: bool = False
    is_shared: bool = False


def places() -> Iterator[Place]:
    """Where it may be kept, the best first; none of them need exist.

    Yields
    ------
    Place
        The user's folder for such files, then one of the user's own among the temporary ones.
    """
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA", "")
        if os.path.isabs(local):
            yield Place(os.path.join(local, _FOLDER, "Cache"), local)
        return  # the folder of temporary files lies in the same
    # A relative one is to be ignored: XDG Base Directory Specification 0.8, "Basics".
    chosen, home = os.environ.get("XDG_CACHE_HOME", ""), _home()
    if os.path.isabs(chosen):
        yield Place(os.path.join(chosen, _FOLDER), chosen, may_make_above=True)
    elif home:
        parts = ("Library", "Caches") if sys.platform == "darwin" else (".cache",)
        yield Place(os.path.join(home, *parts, _FOLDER), home)
    for shared in (os.environ.get("TMPDIR", ""), *_SHARED):
        if os.path.isabs(shared):
            yield Place(os.path.join(shared, f"{_FOLDER}-{os.geteuid()}"), shared, is_shared=True)


def _home() -> str | None:
    """The user's home, also where HOME is not set; None if there is none."""
    home = os.environ.get("HOME", "")
    if not home:
        import pwd

        with contextlib.suppress(KeyError):  # a user without an entry, as in some containers
            home = pwd.getpwuid(os.getuid()).pw_dir
    return home if os.path.isabs(home) else None


def read(name: str, key: bytes) -> bytes | None:
    """What was kept for a key.

    Parameters
    ----------
    name : str
        The function's.
    key : bytes
        A SHA-256 digest of all that matters to it.

    Returns
    -------
    bytes or None
        None if there is none that is whole and ours.
    """
    for place in places():
        with contextlib.suppress(OSError):
            if _is_ours(place):
                content = _content(os.path.join(place.folder, _file_name(name, key)))
                payload = _payload(content, key)
                if payload is not None:
                    return payload
    return None


def write(name: str, key: bytes, payload: bytes) -> str | None:
    """Keep something for a key, and remove what has not been written for longest.

    Parameters
    ----------
    name : str
        The function's.
    key : bytes
        A SHA-256 digest of all that matters to it.
    payload : bytes
        Kept as it is.

    Returns
    -------
    str or None
        The file; None if there is nowhere to keep it.
    """
    content = _header(key, payload) + payload
    for place in places():
        with contextlib.suppress(OSError):
            if _made(place):
                path = os.path.join(place.folder, _file_name(name, key))
                _write_whole(path, content)
                _remove_old(place.folder, name)
                return path
    return None


def is_there_a_place() -> bool:
    """Whether something can be kept at all, as far as can be told without writing it."""
    for place in places():
        with contextlib.suppress(OSError):
            if _made(place) and os.access(place.folder, os.W_OK | os.X_OK):
                return True
    return False


def _file_name(name: str, key: bytes) -> str:
    return f"{name}-{key.hex()}{_ENDING}"


def _header(key: bytes, payload: bytes) -> bytes:
    length = len(payload).to_bytes(_LENGTH, "big")
    return _MAGIC + key + hashlib.sha256(key + length + payload).digest() + length


def _payload(content: bytes, key: bytes) -> bytes | None:
    """What is behind the header, if all of it is as it was written."""
    payload = content[_HEADER:]
    return payload if content[:_HEADER] == _header(key, payload) else None


def _content(path: str) -> bytes:
    """A file's bytes, or none if somebody else may have written it."""
    # Not through a link, nor waiting for a pipe.
    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
    descriptor = os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
    with open(descriptor, "rb") as file:
        status = os.fstat(descriptor)
        fit = stat.S_ISREG(status.st_mode) and status.st_size <= _LARGEST
        return file.read() if fit and _belongs_to_us(status) else b""


def _belongs_to_us(status: os.stat_result) -> bool:
    """Whether something is ours, and nobody else can write to it."""
    if os.name != "posix":
        return True  # there a user's folder is the user's by its place
    return status.st_uid == os.geteuid() and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _is_ours(place: Place) -> bool:
    # A link in the user's own folder was put there by the user; in a shared one, by whomever.
    status = os.stat(place.folder, follow_symlinks=not place.is_shared)
    return stat.S_ISDIR(status.st_mode) and _belongs_to_us(status)


def _made(place: Place) -> bool:
    """Whether the folder is there and ours, once it has been made if need be."""
    if os.path.lexists(place.folder):
        return _is_ours(place)
    if os.path.exists(place.above):
        owner = os.stat(place.above).st_uid
        if os.name == "posix" and not place.is_shared and owner != os.geteuid():
            return False  # as with sudo: what root makes there, its owner could not use
    elif not place.may_make_above:
        return False
    os.makedirs(os.path.dirname(place.folder), 0o700, exist_ok=True)
    with contextlib.suppress(FileExistsError):  # made by another process meanwhile
        os.mkdir(place.folder, 0o700)
    return _is_ours(place)


def _write_whole(path: str, content: bytes) -> None:
    folder, name = os.path.split(path)
    part = os.path.join(folder, f".{name}.{os.getpid()}-{os.urandom(4).hex()}{_PART}")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with open(os.open(part, flags, 0o600), "wb") as file:
            file.write(content)
        os.replace(part, path)
    except BaseException:  # Ctrl-C too leaves nothing half written
        with contextlib.suppress(OSError):
            os.unlink(part)
        raise


def _remove_old(folder: str, name: str) -> None:
    """Leave the newest; what another process has removed, or holds open, is passed over."""
    dated = []
    with os.scandir(folder) as entries:
        for entry in entries:
            with contextlib.suppress(OSError):
                written_s = entry.stat(follow_symlinks=False).st_mtime
                is_old = written_s < time.time() - _LEFT_s
                if entry.name.startswith(f"{name}-") and entry.name.endswith(_ENDING):
                    dated.append((written_s, entry.path))
                elif is_old and entry.name.startswith(f".{name}-") and entry.name.endswith(_PART):
                    os.unlink(entry.path)
    for _, path in sorted(dated, reverse=True)[KEPT:]:
        with contextlib.suppress(OSError):
            os.unlink(path)
