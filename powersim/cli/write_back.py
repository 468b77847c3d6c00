"""What a log has shown, put into a copy of the passage folder or into the folder itself."""

from __future__ import annotations

import os
import shutil
import stat
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from powersim.errors import InputError, OutputError
from powersim.records import Change, Written

_MARK = b"\xef\xbb\xbf"  # of UTF-8, with which some spreadsheets begin a file


class WriteBack:
    """The files to be written, read before the work begins, and refused as early.

    Parameters
    ----------
    folder : Path
        Of the passage.
    into : Path
        A new folder, or the same one.

    Raises
    ------
    InputError
        If boat.toml or loads.csv cannot be read.
    OutputError
        If the new folder is there already, or lies within the passage folder.
    """

    def __init__(self, folder: Path, into: Path):
        from powersim.inputs.folder import BOAT_FILE, LOADS_FILE
        from powersim.report.new_folder import refuse_what_is_there

        self.folder, self.into = Path(folder), Path(into)
        self.here = self.into.exists() and self.into.resolve() == self.folder.resolve()
        if not self.here:
            refuse_what_is_there(self.into)
            if self.into.resolve().is_relative_to(self.folder.resolve()):
                raise OutputError(f"{self.into} lies within {self.folder}; name a folder beside it")
        self.files = (BOAT_FILE, LOADS_FILE)
        self.before = {name: self._bytes(name) for name in self.files}

    def write(self, posterior, *, now_utc: datetime, depart: str | None = None) -> Written:
        """Write what the log tells at least in part.

        Parameters
        ----------
        depart : str, optional
            The departure of the command line, which the copy needs to be read too.

        Raises
        ------
        InputError
            If a value would leave the range of its key, or what was written cannot be read.
        OutputError
            If it cannot be written, or the files have changed since they were read.
        """
        from powersim.logbook.worth_writing import worth_writing

        factors, left = worth_writing(posterior)
        texts, changes = self._changed(posterior.passage.boat, factors)
        self._refuse_if_changed()
        backups: tuple[str, ...] = ()
        if changes and self.here:
            backups = self._write_here(texts, now_utc)
        elif changes:
            self._write_copy(texts, depart)
        return Written(
            folder=str(self.folder),
            into=str(self.into) if changes else None,
            changes=changes,
            backups=backups,
            left=left,
        )

    def _refuse_if_changed(self) -> None:
        if any(self._bytes(name) != self.before[name] for name in self.files):
            raise OutputError(
                f"files in {self.folder} were changed meanwhile; nothing was written, run it again"
            )

    def _bytes(self, name: str) -> bytes:
        from powersim.inputs.text import read_text

        path = self.folder / name
        read_text(path)  # says what is wrong with it
        return path.read_bytes()

    def _changed(self, boat, factors):
        """The bytes of both files as they are to be, and what differs in them."""
        from powersim.inputs.folder import BOAT_FILE
        from powersim.inputs.write_back import calibrated_boat, calibrated_loads

        changes: tuple[Change, ...] = ()
        contents: dict[str, bytes] = {}
        for name in self.files:
            text = self.before[name].removeprefix(_MARK).decode("utf-8")
            file = str(self.folder / name)
            if name == BOAT_FILE:
                text, more = calibrated_boat(text, boat, factors, file=file)
            else:
                text, more = calibrated_loads(text, factors.get("demand", 1.0), file=file)
            if more:
                mark = _MARK if self.before[name].startswith(_MARK) else b""
                contents[name] = mark + text.encode("utf-8")
                changes += more
        return contents, changes

    def _write_here(self, contents, now_utc) -> tuple[str, ...]:
        """Both files anew, and beside them as they were; all of it or nothing."""
        from powersim.report.writing import write_all

        self._try_out(contents)
        stamp = self._stamp(contents, now_utc)
        backups = {f"{name}.{stamp}": self.before[name] for name in contents}
        write_all(
            self.folder,
            backups | contents,
            force=True,
            replace_own=False,
            check=self._refuse_if_changed,
        )
        return tuple(backups)

    def _stamp(self, contents, now_utc) -> str:
        """A time of which no file has a backup yet."""
        minute, count = f"{now_utc:%Y-%m-%d-%H%M}", 1
        stamp = minute
        while any((self.folder / f"{name}.{stamp}").exists() for name in contents):
            count += 1
            stamp = f"{minute}-{count}"
        return stamp

    def _try_out(self, contents) -> None:
        """Read what is to be written, as if it stood in the folder already."""
        from powersim.inputs.boat import collect_boat
        from powersim.inputs.folder import BOAT_FILE, LOADS_FILE
        from powersim.inputs.loads import collect_loads

        texts = {
            name: contents.get(name, self.before[name]).decode("utf-8-sig") for name in self.files
        }
        boat = collect_boat(self.folder / BOAT_FILE, text=texts[BOAT_FILE])
        _, _, problems = collect_loads(
            self.folder / LOADS_FILE, supplies=boat.supplies, text=texts[LOADS_FILE]
        )
        _refuse([*boat.problems, *problems], self.folder)

    def _write_copy(self, contents, depart) -> None:
        from powersim.inputs.folder import load_folder
        from powersim.report.new_folder import new_folder

        with new_folder(self.into) as part:
            _copy(self.folder, part)
            _may_be_written(part)
            for name, content in contents.items():
                (part / name).write_bytes(content)
            try:
                load_folder(part, depart=depart)
            except InputError as error:
                _refuse(error.problems, part)


def _copy(folder: Path, into: Path) -> None:
    """Copy all but results; what cannot be read is told by the name it has in the folder.

    A link to a file is copied as that file, so that nothing is written through it, and a link to
    a folder as a link, which may lead back here. What is neither file nor folder is left out.
    """
    try:
        entries = sorted(folder.iterdir())
        left_out = _results(folder, [path.name for path in entries])
        for path in entries:
            target = into / path.name
            if path.name in left_out:
                continue
            if path.is_dir() and path.is_symlink():
                target.symlink_to(os.readlink(path), target_is_directory=True)
            elif path.is_dir():
                target.mkdir()
                _copy(path, target)
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


def _results(folder: Path, names: list[str]) -> set[str]:
    """What powersim itself wrote there belongs to the values as they were.

    The files that make a passage do not: `demo` writes them, and then they are the sailor's.
    """
    from powersim.inputs.folder import PASSAGE_FILES
    from powersim.report.staging import HIDDEN

    hidden = {name for name in names if name.startswith(HIDDEN)}
    own = _own(folder) - set(PASSAGE_FILES) | hidden
    below = (folder / name for name in names if name not in own)
    folders = {path.name for path in below if _holds_only_results(path)}
    return own & set(names) | folders


def _own(folder: Path) -> set[str]:
    from powersim.report.writing import MARKER, written_by_powersim

    found = written_by_powersim(folder)
    return {MARKER, *found} if found else set()


def _holds_only_results(path: Path) -> bool:
    return path.is_dir() and {one.name for one in path.iterdir()} <= (_own(path) or {""})


def _refuse(problems, folder: Path) -> None:
    """Say what is wrong with files that will not be written, by the names they would have had."""
    if problems:
        raise InputError(
            replace(
                one,
                file=one.file.removeprefix(f"{folder}{os.sep}"),
                text=f"(as it would be) {one.text}",
            )
            for one in problems
        )
