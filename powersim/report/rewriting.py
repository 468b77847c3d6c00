"""Files of a passage written anew, in their own folder with backups or in a new one beside it.

All of it or nothing, and never over what somebody has changed since it was read.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from powersim.errors import InputError, OutputError, Problem
from powersim.report.folder_copy import copy_passage
from powersim.report.new_folder import new_folder, refuse_what_is_there
from powersim.report.text import listed
from powersim.report.writing import write_all

#: What is wrong with a passage folder, some of whose files hold something else, by their names.
Tried = Callable[[Path, Mapping[str, bytes]], Iterable[Problem]]


class Rewriting:
    """Files that are to be written anew, as they were when they were read.

    It is made before long work begins, so that what cannot be written is refused as early.

    Parameters
    ----------
    folder : Path
        Of the passage.
    into : Path
        A new folder, or the same one.
    before : mapping of str to bytes
        What files of the folder held when they were read: all those that count, by their names.
    passage_files : collection of str
        Names of the files that make a passage.

    Attributes
    ----------
    here : bool
        Whether it goes into the folder itself.

    Raises
    ------
    OutputError
        If the new folder is there already, or lies within the passage folder.
    """

    def __init__(
        self,
        folder: Path,
        into: Path,
        before: Mapping[str, bytes],
        *,
        passage_files: Collection[str],
    ):
        self.folder, self.into, self.before = Path(folder), Path(into), dict(before)
        self.passage_files = frozenset(passage_files)
        self.here = self.into.exists() and self.into.resolve() == self.folder.resolve()
        if not self.here:
            refuse_what_is_there(self.into)
            if self.into.resolve().is_relative_to(self.folder.resolve()):
                raise OutputError(f"{self.into} lies within {self.folder}; name a folder beside it")

    def write(
        self, contents: Mapping[str, bytes], *, now_utc: datetime, tried: Tried
    ) -> tuple[str, ...]:
        """Write what differs; where nothing does, nothing.

        Parameters
        ----------
        contents : mapping of str to bytes
            What files are to hold, by their names; among those that were read before.
        now_utc : datetime
            For the names of backups.
        tried : callable
            Reads what is to be written, and says what is wrong with it: of the folder as it lies
            there with some contents in place of its own, or of a copy that has them already.

        Returns
        -------
        tuple of str
            Names of the backups, which hold the files as they were; none beside a copy.

        Raises
        ------
        InputError
            If what would be written cannot be read.
        OutputError
            If it cannot be written, or the files have changed since they were read.
        """
        self.refuse_if_changed()
        if not contents:
            return ()
        if self.here:
            return self._write_here(contents, now_utc, tried)
        self._write_copy(contents, tried)
        return ()

    def refuse_if_changed(self) -> None:
        """Say so where a file is no longer as it was read."""
        if any(_bytes(self.folder / name) != content for name, content in self.before.items()):
            raise OutputError(
                f"files in {self.folder} were changed meanwhile; nothing was written, run it again"
            )

    def _write_here(
        self, contents: Mapping[str, bytes], now_utc: datetime, tried: Tried
    ) -> tuple[str, ...]:
        """The files anew, and beside them as they were; all of it or nothing."""
        links = [name for name in contents if (self.folder / name).is_symlink()]
        if links:  # in the place of a link would be a plain file, and what it leads to as it was
            raise OutputError(
                f"{listed(links)} in {self.folder} leads to a file elsewhere; nothing was written. "
                "Write a new folder, or change the file there"
            )
        _refuse(tried(self.folder, contents), self.folder)
        stamp = self._stamp(contents, now_utc)
        backups = {f"{name}.{stamp}": self.before[name] for name in contents}
        write_all(
            self.folder,
            backups | dict(contents),
            force=True,
            replace_own=False,
            check=self.refuse_if_changed,
        )
        return tuple(backups)

    def _stamp(self, contents: Mapping[str, bytes], now_utc: datetime) -> str:
        """A time of which no file has a backup yet."""
        minute, count = f"{now_utc:%Y-%m-%d-%H%M}", 1
        stamp = minute
        while any((self.folder / f"{name}.{stamp}").exists() for name in contents):
            count += 1
            stamp = f"{minute}-{count}"
        return stamp

    def _write_copy(self, contents: Mapping[str, bytes], tried: Tried) -> None:
        with new_folder(self.into) as part:
            copy_passage(self.folder, part, passage_files=self.passage_files)
            for name, content in contents.items():
                (part / name).write_bytes(content)
            _refuse(tried(part, {}), part)


def _bytes(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:  # it is gone, or may no longer be read
        return None


def _refuse(problems: Iterable[Problem], folder: Path) -> None:
    """Say what is wrong with files that will not be written, by the names they would have had."""
    found = tuple(problems)
    if found:
        raise InputError(
            replace(
                one,
                file=one.file.removeprefix(f"{folder}{os.sep}"),
                text=f"(as it would be) {one.text}",
            )
            for one in found
        )
