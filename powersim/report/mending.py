"""What a command that died while it wrote has left, put right by the next one, whatever it asks."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

from powersim.errors import NotWrittenError
from powersim.report.file_lock import FileLock
from powersim.report.staging import HIDDEN, TAKEN_BACK, Staging

#: How long a reader waits for the moment to pass in which another process renames files. [s]
READER_WAITS_s = 3.0
_PACE_s = 0.02


def mend(folder: Path) -> tuple[str, ...]:
    """Put right what a stopped command left in a folder, in the folders in it, and beside it.

    Parameters
    ----------
    folder : Path
        A passage folder or one of results; it may be missing.

    Returns
    -------
    tuple of str
        What was done, or could not be, a sentence each; mostly none. Nothing is raised where the
        folder cannot be written.
    """
    folder, said = Path(folder), []
    for place, of in _left_behind(folder):
        with contextlib.suppress(FileNotFoundError):  # who wrote there has just ended
            said.append(_mended(Staging(place, of), wait=of == folder))
    return tuple(filter(None, said))


def _left_behind(folder: Path) -> Iterator[tuple[Path, Path]]:
    """Each hidden folder that may matter to a command, and what it was to write to."""
    inside = [folder, *(folder / name for name in _folders_in(folder, or_links=True))]
    for one in inside:
        if HIDDEN in _folders_in(one):
            yield one / HIDDEN, one
    if folder.name in ("", ".."):
        folder = Path(os.path.abspath(folder))
    for name in _folders_in(folder.parent):
        if name.startswith(f"{HIDDEN}-"):
            yield folder.parent / name, folder.parent / name.removeprefix(f"{HIDDEN}-")


def _folders_in(folder: Path, *, or_links: bool = False) -> list[str]:
    """Names of the folders in it.

    Results may be a link to another disk, and are written there. A hidden folder of ours is never
    one: what a link leads to lies elsewhere.
    """

    def is_one(entry) -> bool:
        if or_links and entry.is_symlink():
            return os.path.isdir(entry)  # False for a link that leads nowhere, or to itself
        return entry.is_dir(follow_symlinks=False)

    try:
        with os.scandir(folder) as entries:
            return sorted(one.name for one in entries if is_one(one))
    except (OSError, ValueError):  # what is wrong with it is told by whoever reads or writes it
        return []


def _mended(stage: Staging, *, wait: bool) -> str:
    lock = FileLock(stage.place)
    try:
        if not lock.take(wait_s=0.0, make=False):
            return _until_in_place(stage, lock) if wait else ""
        try:
            said, made = _put_right(stage)
        finally:
            lock.let_go()
        for path in made:
            with contextlib.suppress(OSError):  # something else has been put into it
                path.rmdir()
        return said
    except NotWrittenError as error:
        return f"{_stopped(stage)}, and that cannot be put right yet: {error}"
    except FileNotFoundError:
        raise
    except OSError as error:
        if not stage.is_open:  # all is old, or all is new
            return ""
        return (
            f"{_stopped(stage)}, and that cannot be put right here ({error.strerror or error}); "
            "some files may be old and some new"
        )


def _put_right(stage: Staging) -> tuple[str, tuple[Path, ...]]:
    """What is to be said of it, and the folders that were made for nothing."""
    is_copy = stage.place.parent != stage.folder
    whole = stage.is_closed
    if is_copy and not stage.new.exists():
        whole = stage.folder.is_dir() and any(stage.folder.iterdir())
    begun = whole or stage.is_open or stage.old.exists()
    made = () if whole else tuple(stage.place.parents[: stage.made])
    outcome = stage.take_back()
    stage.end()
    if not begun:
        return "", made
    if whole:
        return f"{_stopped(stage)}; all that it wrote is in place", made
    if is_copy:
        return f"{stage.folder}: a command was stopped before this copy was whole; it is gone", made
    return f"{_stopped(stage)}; {outcome or TAKEN_BACK}", made


def _stopped(stage: Staging) -> str:
    return f"{stage.folder}: a command was stopped while it wrote here"


def _until_in_place(stage: Staging, lock: FileLock) -> str:
    """Wait for the moment to pass in which another process has some files old and some new."""
    ends_s = time.monotonic() + READER_WAITS_s
    while stage.is_open:
        if time.monotonic() >= ends_s:
            return f"{stage.folder}: {lock.holder()} is writing here; it is read as it is now"
        time.sleep(_PACE_s)
    return ""
