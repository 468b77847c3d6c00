"""Single steps of writing safely: to the disk itself, and past another program's hold."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import time
from collections.abc import Callable
from pathlib import Path

from powersim.errors import NotWrittenError

#: How long a program that looks a file over, as for viruses, may hold it. [s]
HELD_FOR_s = 2.0
_PACE_s = 0.1
#: What Windows says of a file that another program has open: access denied, in use, locked.
_OPEN_ELSEWHERE = (5, 32, 33)
#: File systems that cannot write a folder to the disk by itself say one of these.
_NO_FOLDERS = (errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EACCES, errno.EPERM, errno.EISDIR)


def flush_file(path: Path) -> None:
    """Wait until what a file holds is on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def flush_folder(path: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system can do that."""
    if os.name == "nt":
        return
    try:
        descriptor = os.open(path, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno not in _NO_FOLDERS:
            raise


def patiently(step: Callable[..., object], *arguments: object, named: Path) -> None:
    """Do one step with a file, and again for a while if another program has it open.

    NotWrittenError is raised if it stays open there.
    """
    ends_s = time.monotonic() + HELD_FOR_s
    while True:
        try:
            step(*arguments)
            return
        except PermissionError as error:
            if getattr(error, "winerror", None) not in _OPEN_ELSEWHERE:
                raise
            if time.monotonic() >= ends_s:
                raise NotWrittenError(
                    f"cannot replace {named}: another program has it open, such as a spreadsheet, "
                    "or it is write-protected; close it there and run this again"
                ) from error
        time.sleep(_PACE_s)


def keep(target: Path, kept: Path) -> None:
    """Have a file under a second name too: by a link, or by a copy where there are no links."""
    try:
        os.link(target, kept, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(target, kept, follow_symlinks=False)
        if not kept.is_symlink():
            kept.chmod(kept.stat().st_mode | stat.S_IWUSR)
            flush_file(kept)
            shutil.copymode(target, kept)


def remove(path: Path) -> None:
    """Remove a file, which may be gone already."""
    path.unlink(missing_ok=True)


def remove_tree(path: Path) -> None:
    """Remove a folder of ours and all in it, as far as the system lets us."""
    if path.is_symlink():
        with contextlib.suppress(OSError):
            path.unlink()
        return
    shutil.rmtree(path, ignore_errors=True)
    if path.exists():  # Windows removes no file that is write-protected
        for one in (path, *path.rglob("*")):
            with contextlib.suppress(OSError):
                one.chmod(stat.S_IRWXU)
        shutil.rmtree(path, ignore_errors=True)


def digest(path: Path) -> str:
    """The SHA-256 of what a file holds, in hexadecimal as sha256sum prints it."""
    # Imported here: --help has no use for it.
    import hashlib

    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def digest_if_any(path: Path) -> str | None:
    """The same; None where there is no such file, or what is there is none."""
    return digest(path) if path.is_file() else None
