"""A new folder that appears whole or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from powersim.errors import OutputError
from powersim.report.file_moves import flush_file, flush_folder, patiently
from powersim.report.staging import HIDDEN, staging
from powersim.report.writing import holds_anything, said_for_the_sailor


def refuse_what_is_there(folder: Path) -> None:
    """Say before long work that a folder cannot be a new one.

    Parameters
    ----------
    folder : Path
        The folder that is to be made.

    Raises
    ------
    OutputError
        If it is a file, or holds anything.
    """
    with said_for_the_sailor(folder):
        if folder.exists() and (not folder.is_dir() or holds_anything(folder)):
            what = "is not empty" if folder.is_dir() else "is a file"
            raise OutputError(f"{folder} {what}; name a folder that does not exist yet")


@contextlib.contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """A folder to fill, which gets its name when all that was put into it has been written.

    Parameters
    ----------
    folder : Path
        May exist if it is empty.

    Yields
    ------
    Path
        A folder beside it, which is gone again if anything goes wrong, or by the next command if
        the process dies.

    Raises
    ------
    OutputError
        If it is there already, or cannot be written.
    """
    refuse_what_is_there(folder)
    place = folder.parent / f"{HIDDEN}-{folder.name}"
    with said_for_the_sailor(folder), staging(place, folder) as stage:
        refuse_what_is_there(folder)  # once more: another process may have been quicker
        yield stage.new
        for path in stage.new.rglob("*"):
            if not path.is_symlink():  # which may lead somewhere only from its place
                (flush_folder if path.is_dir() else flush_file)(path)
        flush_folder(stage.new)
        if os.name == "nt" and folder.is_dir():
            folder.rmdir()  # elsewhere an empty folder is replaced in one go
        patiently(os.rename, stage.new, folder, named=folder)
        flush_folder(folder.parent)
