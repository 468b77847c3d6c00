"""A copy of a passage folder, without what powersim wrote there as its results."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Collection
from pathlib import Path

from powersim.errors import OutputError
from powersim.report.staging import HIDDEN
from powersim.report.writing import MARKER, written_by_powersim


def copy_passage(folder: Path, into: Path, *, passage_files: Collection[str]) -> None:
    """Copy all but results; what cannot be read is told by the name it has in the folder.

    What comes of it may be written, whatever it is a copy of: a disc, or what is write-protected.
    A link to a file is copied as that file, so that nothing is written through it, and a link to
    a folder as a link, which may lead back here. What is neither file nor folder is left out.

    Parameters
    ----------
    folder : Path
        Of the passage.
    into : Path
        A folder that is there.
    passage_files : collection of str
        Names of the files that make a passage: they are the sailor's, whoever wrote them first.

    Raises
    ------
    OutputError
        If something in the folder cannot be read.
    """
    _copy(folder, into, frozenset(passage_files))
    _may_be_written(into)


def _copy(folder: Path, into: Path, kept: frozenset[str]) -> None:
    try:
        entries = sorted(folder.iterdir())
        left_out = _results(folder, [path.name for path in entries], kept)
        for path in entries:
            target = into / path.name
            if path.name in left_out:
                continue
            if path.is_dir() and path.is_symlink():
                target.symlink_to(os.readlink(path), target_is_directory=True)
            elif path.is_dir():
                target.mkdir()
                _copy(path, target, kept)
            elif path.is_file():
                shutil.copy2(path, target)
    except OSError as error:
        of_writing = error.filename is None or error.filename2 is not None
        if of_writing or Path(error.filename).is_relative_to(into):
            raise
        raise OutputError(
            f"cannot copy {error.filename}: {error.strerror}; nothing was written"
        ) from error


def _may_be_written(folder: Path) -> None:
    """A copy of what is write-protected, or comes from a disc, is the sailor's to change."""
    for path in (folder, *folder.rglob("*")):
        if path.is_symlink():  # what it leads to is no copy
            continue
        path.chmod(path.stat().st_mode | (stat.S_IRWXU if path.is_dir() else stat.S_IWUSR))


def _results(folder: Path, names: list[str], kept: frozenset[str]) -> set[str]:
    """What powersim itself wrote there belongs to the values as they were.

    The files that make a passage do not: `demo` writes them, and then they are the sailor's.
    """
    hidden = {name for name in names if name.startswith(HIDDEN)}
    own = _own(folder) - kept | hidden
    below = (folder / name for name in names if name not in own)
    folders = {path.name for path in below if _holds_only_results(path)}
    return own & set(names) | folders


def _own(folder: Path) -> set[str]:
    found = written_by_powersim(folder)
    return {MARKER, *found} if found else set()


def _holds_only_results(path: Path) -> bool:
    return path.is_dir() and {one.name for one in path.iterdir()} <= (_own(path) or {""})
