"""A set of files written whole or not at all, and never over a file of the sailor's.

Beside its files `write_all` leaves `.powersim-results`, which lists them with their SHA-256
digests. A later run may overwrite what it lists as long as it is unchanged; everything else in
the way needs `force`.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from powersim.errors import NotWrittenError, OutputError

MARKER = ".powersim-results"
_FIRST_LINE = "# Files written by powersim, with their SHA-256 digests. It overwrites only these."

#: What a file is written from: its bytes, its text, or a function that writes to a path whose
#: suffix is the file's.
Content = bytes | str | Callable[[Path], object]


def write_all(
    folder: Path,
    files: Mapping[str, Content],
    *,
    force: bool = False,
    replace_own: bool = True,
    only_into_empty: bool = False,
) -> tuple[Path, ...]:
    """Write every file of a set, or none.

    Parameters
    ----------
    folder : Path
        Where to; made if it does not exist.
    files : mapping of str to bytes, str or callable
        Name without a folder -> what it holds. A callable writes to the path it is given.
    force : bool
        Overwrite files in the way, whoever wrote them.
    replace_own : bool
        Keep the list of digests, and overwrite what it lists. False for files that are the
        sailor's from the start.
    only_into_empty : bool
        Refuse a folder that holds anything at all, unless forced.

    Returns
    -------
    tuple of Path
        The files, in the order given.

    Raises
    ------
    OutputError
        If the folder cannot be written, or a file of the sailor's is in the way. Then, as when
        it is interrupted, everything is as it was before.
    """
    folder = Path(folder)
    for name in files:
        if Path(name).name != name:
            raise ValueError(f"a file name without a folder is needed, got {name!r}")
    with said_for_the_sailor(folder), folder_made(folder):
        if only_into_empty and not force and any(folder.iterdir()):
            raise OutputError(f"{folder} is not empty; name another folder, or use --force")
        own = written_by_powersim(folder) if replace_own else {}
        _refuse_what_is_in_the_way(folder, files, own, force=force)
        staged = _Staged(folder)
        try:
            for name, content in files.items():
                staged.write(name, content)
            if replace_own:
                digests = own | {name: _digest(staged.parts[name]) for name in files}
                staged.write(MARKER, _marker_text(digests))
            staged.put_in_place()
        finally:
            staged.clear()
    return tuple(folder / name for name in files)


def refuse_what_is_in_the_way(folder: Path, names: Iterable[str], *, force: bool = False) -> None:
    """Say before long work what `write_all` would refuse after it.

    Parameters
    ----------
    folder : Path
    names : iterable of str
        Of the files that will be written.
    force : bool
        Overwrite files in the way.

    Raises
    ------
    OutputError
        If a file of the sailor's, or a folder, is in the way.
    """
    folder = Path(folder)
    if folder.is_dir():
        with said_for_the_sailor(folder):
            _refuse_what_is_in_the_way(
                folder, list(names), written_by_powersim(folder), force=force
            )


class _Staged:
    """Files written beside their final names, then renamed to them together."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.parts: dict[str, Path] = {}

    def write(self, name: str, content: Content) -> None:
        # The suffix stays the file's own: what draws figures goes by it.
        part = self.folder / f".part-{os.getpid()}-{name}"
        self.parts[name] = part  # noted first, so that an interrupted write is cleared too
        if callable(content):
            content(part)
        else:
            part.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        with part.open("rb+") as file:
            os.fsync(file.fileno())

    def put_in_place(self) -> None:
        try:
            for name, part in self.parts.items():
                target = self.folder / name
                if target.exists() or target.is_symlink():
                    os.replace(target, self._kept(name))
                os.replace(part, target)
        except BaseException:
            self._undo()
            raise
        for name in self.parts:
            self._kept(name).unlink(missing_ok=True)

    def clear(self) -> None:
        for part in self.parts.values():
            part.unlink(missing_ok=True)

    def _kept(self, name: str) -> Path:
        return self.folder / f".kept-{os.getpid()}-{name}"

    def _undo(self) -> None:
        # What has happened is read from the folder, not from a list that an interrupt may
        # have cut short.
        for name, part in self.parts.items():
            target, kept = self.folder / name, self._kept(name)
            if kept.exists() or kept.is_symlink():
                os.replace(kept, target)
            elif not part.exists():
                target.unlink(missing_ok=True)


@contextlib.contextmanager
def folder_made(folder: Path):
    """Make the folder, and unmake what was made of it if the writing fails.

    Parameters
    ----------
    folder : Path
    """
    made = [path for path in (folder, *folder.parents) if not path.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        for path in made:
            with contextlib.suppress(OSError):
                path.rmdir()
        raise


@contextlib.contextmanager
def said_for_the_sailor(folder: Path):
    """Turn what the system says of a folder that cannot be written into an OutputError.

    Parameters
    ----------
    folder : Path
        As the sailor named it.
    """
    try:
        yield
    except (FileExistsError, NotADirectoryError) as error:
        raise OutputError(
            f"cannot write to {folder}: a file of that name is in the way; name another folder"
        ) from error
    except PermissionError as error:
        raise OutputError(
            f"cannot write to {folder}: no permission; name another folder"
        ) from error
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            raise  # a path like any other that is too long, and told so where the command ends
        raise NotWrittenError(
            f"cannot write to {folder}: {error.strerror or error}; nothing was written"
        ) from error


def _refuse_what_is_in_the_way(folder: Path, files, own: Mapping[str, str], *, force: bool) -> None:
    folders = [name for name in files if (folder / name).is_dir()]
    if folders:
        raise OutputError(
            f"cannot write to {folder}: a folder named {', '.join(folders)} is in the way"
        )
    if force:
        return
    strange = [
        name
        for name in files
        if (folder / name).exists() and own.get(name) != _digest(folder / name)
    ]
    if strange:
        raise OutputError(
            f"{folder} holds {', '.join(strange)}, not written by powersim or changed since; "
            "name another folder, or overwrite with --force"
        )


def _digest(path: Path) -> str:
    # Imported here: --help has no use for it.
    import hashlib

    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _marker_text(digests: Mapping[str, str]) -> str:
    lines = [f"{digest}  {name}" for name, digest in sorted(digests.items())]
    return "\n".join([_FIRST_LINE, *lines, ""])


def written_by_powersim(folder: Path) -> dict[str, str]:
    """What the list in a folder says; one that cannot be read vouches for nothing.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    dict of str to str
        Name -> digest as last written.
    """
    try:
        text = (folder / MARKER).read_text(encoding="utf-8")
    except (FileNotFoundError, UnicodeDecodeError):
        return {}
    pairs = (line.split("  ", 1) for line in text.splitlines() if not line.startswith("#"))
    return {pair[1]: pair[0] for pair in pairs if len(pair) == 2}
