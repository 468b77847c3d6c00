"""Files that take the place of others together, or not at all, whenever the power fails.

What is to come is first written into a hidden folder, what is to go is kept there too, and a
journal names both. Only then are the files renamed into their place, one by one; last the journal
is closed by a rename of its own. While it is open everything can be taken back: by the same lines
after a failure, after Ctrl-C, and by the next command after a death (`mending.py`).
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from powersim.errors import NotWrittenError
from powersim.report.file_lock import FileLock
from powersim.report.file_moves import (
    digest_if_any,
    flush_file,
    flush_folder,
    keep,
    patiently,
    remove,
    remove_tree,
)

#: Lies in the folder that is written to; for a new folder beside it, with its name added.
HIDDEN = ".powersim-writing"
#: How long a writer waits for another: pictures take seconds on an old laptop. [s]
WRITER_WAITS_s = 15.0
#: Gets what was to be replaced when a damaged disk has spoilt the journal.
RESCUED = "powersim-rescued"
TAKEN_BACK = "the files are as they were before it"
_JOURNAL, _CLOSED, _MADE = "journal", "closed", "made"

#: What a file is written from: its bytes, its text, or a function that writes to a path whose
#: name is the file's.
Content = bytes | str | Callable[[Path], object]


@contextlib.contextmanager
def staging(place: Path, folder: Path) -> Iterator[Staging]:
    """A hidden folder to write into, by one process at a time.

    Parameters
    ----------
    place : Path
        The hidden folder; it is made, and what it lies in.

    Yields
    ------
    Staging
        When the block ends all that was not put in place is gone, and so are the folders made.

    Raises
    ------
    NotWrittenError
        If another process goes on writing there.
    """
    made = [path for path in place.parents if not path.exists()]
    if place.is_symlink() or place.is_file():  # none of ours; a link would lead elsewhere
        place.unlink()
    try:
        lock = FileLock(place)
        if not lock.take(wait_s=WRITER_WAITS_s, make=True):
            raise NotWrittenError(
                f"cannot write to {folder}: {lock.holder()} is writing there; run this again when "
                "it has ended; nothing was written"
            )
        stage = Staging(place, folder)
        try:
            stage.end()  # what a stopped command has left since this one began
            stage.begin(len(made))
            yield stage
            for path in made:
                flush_folder(path.parent)
        finally:
            try:
                stage.end()
            except NotWrittenError as error:
                raise NotWrittenError(
                    f"{error}; until then some files in {folder} are old and some new"
                ) from error
            finally:
                lock.let_go()
    except BaseException:
        for path in made:
            with contextlib.suppress(OSError):
                path.rmdir()
        raise


class Staging:
    """The hidden folder of one write, to whoever holds its lock.

    Parameters
    ----------
    place : Path
        The hidden folder.
    folder : Path
        What is written to, as the sailor named it.
    """

    def __init__(self, place: Path, folder: Path):
        self.place, self.folder = place, folder
        self.new, self.old = place / "new", place / "old"

    @property
    def is_open(self) -> bool:
        """Whether files are being put in place, so that some may be old and some new."""
        return (self.place / _JOURNAL).is_file()

    @property
    def is_closed(self) -> bool:
        """Whether all is in place."""
        return (self.place / _CLOSED).exists()

    @property
    def made(self) -> int:
        """How many folders, from the hidden one's upward, are there only for this write."""
        path = self.place / _MADE
        try:
            return int(path.read_text(encoding="ascii")) if path.is_file() else 0
        except (OSError, ValueError):
            return 0

    def begin(self, made: int) -> None:
        """Get ready to write; `made` folders have been made for it."""
        (self.place / _MADE).write_text(f"{made}", encoding="ascii")
        for path in (self.new, self.old):
            path.mkdir()

    def write(self, name: str, content: Content) -> Path:
        """Write one file that is to come; where it is for now."""
        path = self.new / name
        if callable(content):
            content(path)
        else:
            path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        flush_file(path)
        return path

    def put_in_place(self, names: Iterable[str], *, removed: Iterable[str] = ()) -> None:
        """Let the files that were written take their place, and others go.

        Parameters
        ----------
        removed : iterable of str
            What is to be gone; a file that is not there is passed over.
        """
        try:
            self._put(names, removed)
        except NotWrittenError as error:
            raise NotWrittenError(f"{error}; nothing was replaced") from error

    def _put(self, names, removed) -> None:
        entries = {}
        for name in (*names, *removed):
            target, kept, new = self.folder / name, self.old / name, self.new / name
            if os.path.lexists(target):
                patiently(keep, target, kept, named=target)
                if new.exists() and target.exists():
                    shutil.copymode(target, new)  # who protected a file meant it
            entries[name] = [digest_if_any(kept), digest_if_any(new)]
        self._open_journal(entries)
        for name in entries:
            target, new = self.folder / name, self.new / name
            if new.exists():
                patiently(os.replace, new, target, named=target)
            else:
                patiently(remove, target, named=target)
        flush_folder(self.folder)
        journal, closed = self.place / _JOURNAL, self.place / _CLOSED
        patiently(os.replace, journal, closed, named=self.folder)
        flush_folder(self.place)

    def take_back(self) -> str:
        """Put every file back as it was, if the journal is open; cut short, it can go on.

        Returns
        -------
        str
            How the files are now, for the end of a sentence; empty if there was nothing to do.

        Raises
        ------
        NotWrittenError
            If another program has one of the files open.
        """
        if not self.is_open:
            return ""
        try:
            entries = self._entries()
        except ValueError:
            return self._rescue()
        changed = []
        for name, (old, new) in entries.items():
            target, kept = self.folder / name, self.old / name
            now = digest_if_any(target)
            if now == old:
                continue
            if now not in (None, new):
                changed.append(name)
            elif os.path.lexists(kept):
                patiently(os.replace, kept, target, named=target)
            else:
                patiently(remove, target, named=target)
        flush_folder(self.folder)
        remove(self.place / _JOURNAL)
        if not changed:
            return TAKEN_BACK
        return f"{TAKEN_BACK}, but for {', '.join(changed)}, changed since and left alone"

    def end(self) -> None:
        """Take back what is not closed, and remove everything but the lock."""
        self.take_back()
        for path in (self.new, self.old):
            remove_tree(path)
        # The note that all is in place goes last: what has happened can be told from what is left.
        for name in (f"{_JOURNAL}.part", _MADE, _CLOSED):
            with contextlib.suppress(OSError):
                remove(self.place / name)

    def _open_journal(self, entries) -> None:
        part = self.place / f"{_JOURNAL}.part"
        part.write_text(json.dumps(entries), encoding="utf-8")
        flush_file(part)
        for path in (self.new, self.old, self.place):
            flush_folder(path)
        patiently(os.replace, part, self.place / _JOURNAL, named=self.folder)
        flush_folder(self.place)

    def _entries(self) -> dict[str, list]:
        """What the journal says; whoever wrote it, nothing outside the folder is touched."""
        entries = json.loads((self.place / _JOURNAL).read_text(encoding="utf-8"))
        ours = isinstance(entries, dict) and all(
            Path(name).name == name and isinstance(pair, list) and len(pair) == 2
            for name, pair in entries.items()
        )
        if not ours or self.old.is_symlink():
            raise ValueError("the journal is none of ours")
        return entries

    def _rescue(self) -> str:
        """Keep in sight what a journal that cannot be read was to bring back."""
        kept, count = self.folder / RESCUED, 1
        while kept.exists():
            count += 1
            kept = self.folder / f"{RESCUED}-{count}"
        there = ""
        if self.old.is_dir() and not self.old.is_symlink():
            os.replace(self.old, kept)
            there = f"; those that it was to replace are in {kept}"
        remove(self.place / _JOURNAL)
        return f"its notes are spoilt, so that some files may be old and some new{there}"
