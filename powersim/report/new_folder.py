"""A new folder that appears whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from powersim.errors import OutputError
from powersim.report.writing import folder_made, said_for_the_sailor


def refuse_what_is_there(folder: Path) -> None:
    """Say before long work that a folder cannot be a new one.

    Parameters
    ----------
    folder : Path

    Raises
    ------
    OutputError
        If it is a file, or holds anything.
    """
    with said_for_the_sailor(folder):
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
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
        A folder beside it, which is gone again if anything goes wrong.

    Raises
    ------
    OutputError
        If it is there already, or cannot be written.
    """
    refuse_what_is_there(folder)
    part = folder.parent / f".part-{os.getpid()}-{folder.name}"
    with said_for_the_sailor(folder), folder_made(folder.parent):
        try:
            part.mkdir()
            yield part
            for path in part.rglob("*"):
                if path.is_file():
                    with path.open("rb+") as file:
                        os.fsync(file.fileno())
            if os.name == "nt" and folder.is_dir():
                folder.rmdir()  # elsewhere an empty folder is replaced in one go
            os.rename(part, folder)
        finally:
            shutil.rmtree(part, ignore_errors=True)
